"""Rows that meet earlier lays are laid anew around them: every gap holds and no hole stays."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.geometry.outline_forms import navette
from embellish.geometry.outlines import circle
from embellish.layout.ways.border import BORDER
from embellish.layout.ways.row import ROW
from embellish.layout.ways.way import Occupied
from tests.layout.ways.fill_cases import FILL_REGIONS, kit_of, lay


def standing(xy, footprint: Footprint, gap: float) -> Occupied:
    n = len(xy)
    return Occupied(
        np.asarray(xy, dtype=float),
        np.full(n, 30.0),
        np.zeros(n, dtype=np.int64),
        (footprint,),
        np.full(n, gap),
    )


def gaps_to(laid, kit, occupied: Occupied) -> np.ndarray:
    mine = Standing(laid.seats.xy, laid.seats.angle_deg, laid.seats.choice, kit.footprints)
    theirs = Standing(occupied.xy, occupied.angle_deg, occupied.footprint, occupied.footprints)
    return neighbour_gaps_between(mine, theirs, 50.0)[1]


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["square", "star", "glyph, an e", "spiral"]),
    st.sampled_from([ROW, BORDER]),
    st.floats(0.05, 0.95),
    st.floats(1.0, 6.0),
    st.floats(0.4, 1.5),
    st.booleans(),
)
def test_gaps_to_what_stands_hold(name, way, share, size, gap, shaped):
    region, kit = FILL_REGIONS[name], kit_of(2.0, gap=0.4)
    footprint = Footprint.of(navette(size, size / 2) if shaped else circle(size))
    place = region.boundary.interpolate(share, normalized=True)
    stood = standing([(place.x, place.y)], footprint, gap)
    laid = lay(way, [region], kit, ground={"occupied": stood})
    assert gaps_to(laid, kit, stood).min(initial=np.inf) >= gap


@pytest.mark.parametrize("at", [40.0, 41.1, 42.2, 43.3])
def test_a_row_is_spaced_anew_beside_what_stands(at):
    """Evenly along the side, and as near to it as the gap asked."""
    region, kit = FILL_REGIONS["square"], kit_of(2.0, gap=0.4)
    stood = standing([(at / 2.0, 0.0)], Footprint.of(circle(5.0)), 0.4)
    free, laid = (lay(ROW, [region], kit, ground=g) for g in (None, {"occupied": stood}))
    told = [finding for finding in laid.findings if finding.code == "laid-around"]
    fewer = len(free.seats) - len(laid.seats)
    assert fewer > 0
    assert told[0].message.startswith(f"{fewer} piece")
    side = laid.seats.xy[np.abs(laid.seats.xy[:, 1]) < 1e-6, 0]
    for run in (np.sort(side[side < at / 2]), np.sort(side[side > at / 2])):
        step = np.diff(run)
        assert np.ptp(step) < 1e-6, "even"
    beside = min(at / 2 - side[side < at / 2].max(), side[side > at / 2].min() - at / 2)
    assert beside == pytest.approx(2.5 + 1.0 + 0.4, abs=0.3)


def test_rows_of_many_lines_that_meet_something_are_told_once():
    region, kit = FILL_REGIONS["square"], kit_of(2.0, gap=0.4)
    far = affinity.translate(region, 100.0, 0.0)
    stood = standing([(20.0, 0.0), (120.0, 0.0)], Footprint.of(circle(5.0)), 0.4)
    free, laid = (lay(ROW, [region, far], kit, ground=g) for g in (None, {"occupied": stood}))
    (told,) = [finding for finding in laid.findings if finding.code == "laid-around"]
    fewer = len(free.seats) - len(laid.seats)
    assert told.message.startswith(f"{fewer} pieces fewer stand on 2 shapes: their rows are")


def test_a_row_that_meets_nothing_is_as_it_was():
    region, kit = FILL_REGIONS["star"], kit_of(2.0)
    stood = standing([(0.0, 0.0), (200.0, 0.0)], Footprint.of(circle(3.0)), 0.5)
    one, two = (lay(ROW, [region], kit, ground=g).seats for g in (None, {"occupied": stood}))
    assert one.xy.tobytes() == two.xy.tobytes()
