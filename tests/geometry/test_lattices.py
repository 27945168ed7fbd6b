"""Lattices: true lattices, and counts no dull search beats."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from embellish.geometry.insets import centre_region
from embellish.geometry.lattices import Lattice, best_grid, frame_deg
from tests.layout.ways.fill_cases import FILL_REGIONS

KINDS = {"hex": Lattice.hex, "square": Lattice.square, "brick": Lattice.brick}
AROUND = {"hex": 6, "square": 4, "brick": 2}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_neighbours_stand_a_pitch_apart(kind):
    grid = best_grid(shapely.box(0, 0, 30, 30), KINDS[kind](2.0), 20.0)
    near = cKDTree(grid.xy).query_pairs(2.0 + 1e-9, output_type="ndarray")
    apart = np.hypot(*(grid.xy[near[:, 0]] - grid.xy[near[:, 1]]).T)
    assert apart.min() >= 2.0 - 1e-9
    count = np.bincount(near.ravel(), minlength=len(grid))
    assert count.max() == AROUND[kind]
    # Rows run in order, along the turn.
    step = np.diff(grid.xy, axis=0)[np.diff(grid.row) == 0]
    turn = np.radians(20.0)
    assert np.allclose(step @ [np.cos(turn), np.sin(turn)], np.hypot(*step.T))
    assert np.all(np.diff(grid.row) >= 0)


def test_the_skewed_index_tells_neighbours():
    grid = best_grid(shapely.box(0, 0, 30, 30), Lattice.hex(2.0), 0.0)
    place = {(r, i): xy for r, i, xy in zip(grid.row, grid.index, grid.xy, strict=True)}
    for (r, i), xy in place.items():
        for beside in ((r, i + 1), (r + 1, i), (r + 1, i - 1)):
            if beside in place:
                assert np.hypot(*(place[beside] - xy)) == pytest.approx(2.0)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.sampled_from(sorted(KINDS)),
    st.floats(0.0, 180.0),
    st.floats(1.5, 6.0),
    st.integers(0, 100),
)
def test_no_random_shift_holds_more(name, kind, angle, pitch, seed):
    """At the turn asked, the shift along rows is exact: only the shift across is searched."""
    region, lattice = FILL_REGIONS[name], KINDS[kind](pitch)
    grid = best_grid(region, lattice, angle)
    assert np.all(shapely.dwithin(region, shapely.points(grid.xy), 1e-6))
    far = max(np.ptp(shapely.get_coordinates(region), axis=0)) * 1.5
    n = int(far / pitch) + 2
    i, j = np.meshgrid(np.arange(-n, n + 1), np.arange(-2 * n, 2 * n + 1))
    flat = np.stack([(i + lattice.shift * (j % 2)) * pitch, j * lattice.across_mm], -1).reshape(
        -1, 2
    )
    turn = np.radians(angle)
    flat = flat @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    middle = np.array(region.centroid.coords[0])
    shifts = np.random.default_rng(seed).uniform(0, 2 * pitch, (8, 2)) + middle
    counts = [int(shapely.contains_xy(region, *(flat + s).T).sum()) for s in shifts]
    assert len(grid) >= max(counts) - max(2, 0.01 * len(grid))


def test_a_strip_one_point_wide_is_found():
    assert len(best_grid(shapely.box(0, 0, 30, 1e-6), Lattice.hex(2.0))) == 16
    assert len(best_grid(shapely.box(0, 0, 1e-6, 1e-6), Lattice.square(2.0))) == 1
    assert len(best_grid(shapely.Polygon(), Lattice.square(2.0))) == 0


def test_a_row_through_a_corner_has_each_point_once():
    region = shapely.Polygon([(-10, -6), (0, 0), (10, -6), (10, 6), (0, 0), (-10, 6)]).buffer(0)
    grid = best_grid(region, Lattice.square(2.0), 0.0)
    assert len(np.unique(np.round(grid.xy, 6), axis=0)) == len(grid)


@pytest.mark.parametrize("turn", [0.0, 10.0, 33.3, 89.9])
def test_the_frame_turns_with_the_region(turn):
    region = shapely.affinity.rotate(shapely.box(0, 0, 50, 20), turn, origin=(3, 4))
    off = (frame_deg(region) - turn + 45.0) % 90.0 - 45.0
    assert off == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("turn", [0.0, 12.0, 30.0, 77.0])
def test_best_counts_do_not_depend_on_how_the_region_lies(turn):
    region = FILL_REGIONS["notched, with two holes"]
    centres = centre_region(shapely.affinity.rotate(region, turn, origin=(0, 0)), 0.7)
    straight = len(best_grid(centre_region(region, 0.7), Lattice.hex(1.5)))
    assert len(best_grid(centres, Lattice.hex(1.5))) == pytest.approx(straight, rel=0.01)
