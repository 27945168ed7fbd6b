"""Cells: pitches as tight as outlines allow, and where a turned cell may stand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.geometry.cells import cell_centres, cell_lattice, cell_of, cells_hold
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.insets import Room
from embellish.geometry.outline_forms import rectangle
from embellish.geometry.outlines import circle
from tests.layout.ways.fill_cases import FILL_REGIONS
from tests.shapes import CONVEX_OUTLINES


def test_a_round_cell_gives_the_round_lattices():
    cell = cell_of((Footprint.of(circle(2.0)),))
    hexed, square = cell_lattice(cell, 0.5, "hex"), cell_lattice(cell, 0.5, "square")
    assert hexed.along_mm == pytest.approx(2.5, abs=5e-4)
    assert hexed.across_mm == pytest.approx(2.5 * math.sqrt(0.75), abs=5e-4)
    assert square.across_mm == pytest.approx(2.5, abs=5e-4)
    assert (hexed.shift, square.shift) == (0.5, 0.0)


def test_a_straight_cell_has_the_pitches_one_reads_off_it():
    cell = cell_of((Footprint.of(rectangle(6.0, 2.0)),))
    for pattern in ("square", "brick", "hex"):
        lattice = cell_lattice(cell, 0.5, pattern)
        assert (lattice.along_mm, lattice.across_mm) == pytest.approx((6.5, 2.5), abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(sorted(CONVEX_OUTLINES)),
    st.floats(0.0, 360.0),
    st.floats(0.0, 2.0),
    st.sampled_from(["square", "brick", "hex"]),
)
def test_copies_on_the_lattice_keep_the_gap_exactly(name, turn, gap, pattern):
    footprint = Footprint.of(CONVEX_OUTLINES[name])
    lattice = cell_lattice(cell_of((footprint,), turn), gap, pattern)
    i, j = np.meshgrid(np.arange(-6, 7), np.arange(-6, 7))
    x = (i + lattice.shift * (j % 2)) * lattice.along_mm
    xy = np.stack([x, j * lattice.across_mm], -1).reshape(-1, 2)
    n = len(xy)
    _, gaps = neighbour_gaps(
        xy, np.full(n, turn), np.zeros(n, dtype=np.int64), (footprint,), gap + 1.0
    )
    assert gaps.min() >= gap
    assert gaps.min() <= gap + 2e-3, "no tighter lattice of this pattern"


@settings(max_examples=25, deadline=None)
# An edge that bends softly, of which the library's own offset skips points.
@example("five thousand vertices", 1.0, 1.0)
@given(st.sampled_from(sorted(FILL_REGIONS)), st.floats(0.0, 180.0), st.floats(0.0, 1.0))
def test_where_a_cell_may_stand_it_truly_fits(name, turn, edge):
    region = FILL_REGIONS[name]
    if len(shapely.get_coordinates(region)) > 1000:
        region = region.simplify(0.05)
    cell = cell_of((Footprint.of(rectangle(3.0, 1.0)),), turn)
    room = Room(region, edge, None, np.array([[5.0, 5.0]]), np.array([1.5]))
    centres = cell_centres(room, cell)
    if centres.is_empty:
        return
    spots = shapely.get_coordinates(shapely.segmentize(centres, 2.0))[:200]
    assert cells_hold(spots, cell, room).all()
    # And nothing outside of it fits, but for the slack.
    away = (
        shapely.get_coordinates(shapely.segmentize(centres.buffer(0.01).exterior, 2.0))
        if (centres.geom_type == "Polygon")
        else np.zeros((0, 2))
    )
    outside = away[shapely.distance(centres, shapely.points(away)) > 5e-3] if len(away) else away
    assert not cells_hold(outside, cell, room).any()
