from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from embellish.geometry.gaps.chains import outline_gaps, signed_distance
from embellish.geometry.outline_offsets import offset
from embellish.geometry.outlines import OutlineError, area, circle, length, sampled
from tests.shapes import CONVEX_OUTLINES, OUTLINES, polygon_of
from tests.strategies import convex_names, outline_names


@given(outline_names, st.floats(-3.0, 3.0))
@settings(max_examples=80, deadline=None)
def test_every_point_of_an_offset_keeps_the_distance(name, distance):
    assume(abs(distance) > 1e-3)
    outline = OUTLINES[name]
    try:
        grown = offset(outline, distance)
    except OutlineError:
        inner = polygon_of(outline).buffer(distance, quad_segs=64)
        assert distance < 0.0
        assert inner.area < 1e-3 or len(shapely.get_parts(inner)) > 1
        return
    points = sampled(grown, 1e-3)
    # The vertices and the middles of chords' ends lie on the arcs themselves.
    away = signed_distance(outline, points[:, 0], points[:, 1])
    assert away == pytest.approx(distance, abs=2e-8)


@given(convex_names, st.floats(1e-3, 5.0))
@settings(max_examples=60, deadline=None)
def test_offsets_hold_what_shapely_buffers(name, distance):
    for outline in (OUTLINES[name], OUTLINES["cee"], OUTLINES["heart"]):
        buffered = polygon_of(outline).buffer(distance, quad_segs=200)
        filled = shapely.Polygon(buffered.exterior)
        grown = shapely.Polygon(sampled(offset(outline, distance), 1e-5))
        assert grown.symmetric_difference(filled).area < 5e-3


@pytest.mark.parametrize("name", CONVEX_OUTLINES)
def test_in_and_out_again_is_the_outline_with_its_corners_rounded(name):
    outline = CONVEX_OUTLINES[name]
    back = offset(offset(outline, -0.4), 0.4)
    assert area(back) <= area(outline) + 1e-9
    opened = polygon_of(outline).buffer(-0.4, quad_segs=200).buffer(0.4, quad_segs=200)
    assert area(back) == pytest.approx(opened.area, abs=1e-3)
    out_and_in = offset(offset(outline, 0.4), -0.4)
    assert area(out_and_in) == pytest.approx(area(outline), abs=1e-6)
    assert length(out_and_in) == pytest.approx(length(outline), abs=1e-5)


def test_a_circle_stays_one():
    assert offset(circle(3.0), 0.25).round_radius_mm == 1.75
    assert offset(circle(3.0), -0.25).round_radius_mm == 1.25
    assert offset(circle(3.0), 0.0).round_radius_mm == 1.5


def test_an_inlet_that_closes_is_filled():
    # The inlet of the cee is 2 mm wide: just closed, and well closed.
    for distance in (1.0, 1.5):
        grown = offset(OUTLINES["cee"], distance)
        polygon = shapely.Polygon(sampled(grown, 1e-6))
        assert polygon.is_valid
        buffered = shapely.Polygon(polygon_of(OUTLINES["cee"]).buffer(distance, 200).exterior)
        assert polygon.area == pytest.approx(buffered.area, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "distance", "words"),
    [
        ("round", -1.5, "nothing is left 1.5 mm inside"),
        ("bugle", -1.0, "nothing is left"),
        ("navette", -4.0, "nothing is left"),
    ],
)
def test_what_has_nothing_left_is_refused(name, distance, words):
    with pytest.raises(OutlineError, match=words):
        offset(OUTLINES[name], distance)


def test_what_falls_apart_is_refused():
    from embellish.geometry.outline_forms import own

    bone = own(
        [(0, 0, 0), (4, 0, 0), (4, 1.5, 0), (8, 1.5, 0), (8, 0, 0), (12, 0, 0), (12, 4, 0),
         (8, 4, 0), (8, 2.5, 0), (4, 2.5, 0), (4, 4, 0), (0, 4, 0)]
    )[0]  # fmt: skip
    assert area(offset(bone, -0.3)) > 0.0
    with pytest.raises(OutlineError, match="falls into 2"):
        offset(bone, -0.6)


@pytest.mark.parametrize("name", OUTLINES)
def test_the_gap_between_grown_outlines_is_the_gap_less_both(name):
    outline = OUTLINES[name]
    turn = np.array([0.0, 33.0, 90.0, 247.0])
    x, y = 14.0 * np.cos(turn), 14.0 * np.sin(turn)
    plain = outline_gaps(outline, CONVEX_OUTLINES["pear"], x, y, turn)
    grown = outline_gaps(offset(outline, 0.3), offset(CONVEX_OUTLINES["pear"], 0.2), x, y, turn)
    assert grown == pytest.approx(plain - 0.5, abs=1e-8)
    assert math.isfinite(grown.sum())
