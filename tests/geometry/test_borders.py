"""Lines beside lines: never nearer than asked, hardly farther, on the side asked."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.geometry.borders import beside_line, beside_region
from embellish.geometry.transforms import Affine
from tests.layout.ways.fill_cases import FILL_REGIONS
from tests.paths import AWKWARD_PATHS, SMOOTH_PATHS

OPEN = {
    name: points
    for name, (points, closed) in {**SMOOTH_PATHS, **AWKWARD_PATHS}.items()
    if not closed
}


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.floats(0.1, 12.0),
    st.sampled_from(["inside", "outside"]),
)
@example("five thousand vertices", 5.625, "outside")  # a crumb of the offset, nearer by a tenth
def test_lines_beside_a_region(name, distance, side):
    region = FILL_REGIONS[name]
    found = beside_region(region, distance, side)
    assert found or side == "inside"
    for beside in found:
        assert beside.closed
        assert np.array_equal(beside.points[0], beside.points[-1])
        away = shapely.distance(region.boundary, shapely.points(beside.points))
        line = shapely.LineString(beside.points)
        assert line.distance(region.boundary) >= distance
        assert away.max() <= distance * 1.002 + 1e-6
        within = shapely.contains_xy(region, beside.points)
        assert within.all() if side == "inside" else not within.any()


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(OPEN)), st.floats(0.1, 6.0), st.sampled_from(["left", "right"]))
def test_lines_beside_an_open_line(name, distance, side):
    line = shapely.LineString(OPEN[name])
    for beside in beside_line(OPEN[name], distance, side):
        there = shapely.LineString(beside.points)
        assert there.distance(line) >= distance
        # Where turns of a line lie nearer to each other than this, all keep a little further off.
        assert shapely.distance(line, shapely.points(beside.points)).max() <= distance * 1.1


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.floats(0.1, 12.0),
    st.sampled_from(["inside", "outside"]),
)
def test_mitred_corners_run_on_and_come_no_nearer(name, distance, side):
    region = FILL_REGIONS[name]
    for beside in beside_region(region, distance, side, "mitred"):
        line = shapely.LineString(beside.points)
        assert line.distance(region.boundary) >= distance
        away = shapely.distance(region.boundary, shapely.points(beside.points))
        assert away.max() <= 3.3 * distance  # where a tip is cut off, its two ends


def test_a_mitred_square_has_square_corners():
    square = shapely.box(0, 0, 20, 20)
    (mitred,) = beside_region(square, 3.0, "outside", "mitred")
    ring = shapely.Polygon(mitred.points)
    assert ring.area == pytest.approx(26.0**2, rel=1e-4)
    (rounded,) = beside_region(square, 3.0, "outside")
    lost = 4 * 9 - np.pi * 9
    assert shapely.Polygon(rounded.points).area == pytest.approx(26.0**2 - lost, rel=1e-4)


@pytest.mark.parametrize("turn", [0.0, 90.0, 200.0])
def test_left_and_right_are_as_seen_with_y_down(turn: float) -> None:
    affine = Affine.turn(turn)
    points = affine(np.array([[0.0, 0.0], [50.0, 0.0]]))
    # Going to the right on paper, the left hand is up: y below nought.
    sides: tuple[tuple[Literal["left", "right"], float], ...] = (("left", -3.0), ("right", 3.0))
    for side, y in sides:
        (found,) = beside_line(points, 3.0, side)
        back = affine.inverse()(found.points)
        assert back == pytest.approx(np.array([[0.0, y], [50.0, y]]), abs=3e-4)
        assert not found.closed


def test_a_place_on_a_line_is_told_as_its_share():
    (beside,) = beside_line(np.array([[0.0, 0.0], [40.0, 0.0]]), 1.0, "left")
    assert beside.share_at(np.array([10.0, 0.0])) == pytest.approx(0.25)


def test_a_region_too_narrow_has_no_line_inside():
    assert beside_region(FILL_REGIONS["sliver"], 1.3, "inside") == []
