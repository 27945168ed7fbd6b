from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.outline_forms import navette, octagon, oval, own, pear, rectangle
from embellish.geometry.outlines import (
    OutlineError,
    area,
    bounds,
    circle,
    contains,
    length,
    mirrored,
    placed,
    reach,
    sampled,
    tangents,
)
from tests.shapes import OUTLINES, ellipse, polygon_of
from tests.strategies import outline_names, places

sizes = st.tuples(st.floats(0.5, 40.0), st.floats(0.1, 1.0)).map(lambda s: (s[0], s[0] * s[1]))
FORMS = {
    "oval": oval,
    "navette": navette,
    "pear": pear,
    "rectangle": rectangle,
    "octagon": octagon,
}


@pytest.mark.parametrize("form", FORMS)
@given(size=sizes)
@settings(max_examples=40, deadline=None)
def test_forms_have_the_size_asked_and_stand_about_its_centre(form, size):
    outline = FORMS[form](*size)
    assert bounds(outline) == pytest.approx(
        (-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2), abs=1e-9
    )
    assert outline.convex
    assert area(outline) > 0.0


@given(size=sizes)
@settings(max_examples=40, deadline=None)
def test_ovals_have_smooth_joins_and_pears_one_tip(size):
    for outline, tips in ((oval(*size), 0), (pear(*size), 1)):
        arriving, leaving = tangents(outline)
        turned = (arriving * leaving).sum(axis=1) < 1.0 - 1e-9
        # Of the size of a circle, nothing is left of the tip.
        assert (
            turned.sum() == (tips if size[0] > size[1] * 1.001 else 0) or size[0] < size[1] * 1.01
        )


def test_a_pears_tip_points_along_its_angle():
    outline = placed(pear(9.0, 6.0), 0.0, 0.0, 90.0)
    tip = outline.points[np.argmax(np.hypot(*outline.points.T))]
    assert tip == pytest.approx([0.0, 4.5], abs=1e-12)


def test_an_oval_holds_the_ellipse_of_its_size_and_hardly_more():
    for size in ((8.0, 6.0), (14.0, 10.0), (30.0, 5.0), (6.0, 18.0)):
        polygon = polygon_of(oval(*size), tolerance=1e-9)
        inner = shapely.Polygon(ellipse(*size, 400))
        assert polygon.buffer(1e-7).contains(inner)
        assert polygon.area / (math.pi * size[0] * size[1] / 4) < 1.12


@given(outline_names, places)
@settings(max_examples=60, deadline=None)
def test_measures_agree_with_dense_polygons(name, place):
    outline = placed(OUTLINES[name], *place)
    polygon = polygon_of(OUTLINES[name], *place)
    assert bounds(outline) == pytest.approx(polygon.bounds, abs=2e-5)
    assert area(outline) == pytest.approx(polygon.area, abs=1e-3)
    assert length(outline) == pytest.approx(polygon.length, abs=1e-3)
    far = shapely.hausdorff_distance(polygon.exterior, shapely.Point(0, 0))
    assert reach(outline) == pytest.approx(far, abs=2e-5)
    assert np.all(np.hypot(*sampled(outline, 0.01).T) <= reach(outline) + 1e-9)


@given(outline_names, places)
@settings(max_examples=60, deadline=None)
def test_a_point_is_inside_where_the_dense_polygon_holds_it(name, place):
    outline = OUTLINES[name]
    points = np.random.default_rng(5).uniform(-6, 6, (200, 2))
    points[:40] = np.round(points[:40])  # on chords, level with vertices, on the axes
    placed_points = placed(outline, *place)
    polygon = polygon_of(outline, *place)
    inside = contains(placed_points, *points.T)
    sure = np.asarray(shapely.distance(polygon.exterior, shapely.points(points))) > 1e-4
    there = np.asarray(shapely.contains_xy(polygon, *points.T))
    assert np.array_equal(inside[sure], there[sure])


def test_points_on_the_chords_between_arcs_are_inside():
    for outline in (circle(3.0), navette(10.0, 5.0), pear(9.0, 6.0), OUTLINES["half disc"]):
        for index in range(len(outline)):
            p, q = outline.points[index], outline.points[(index + 1) % len(outline)]
            if outline.bulges[index] and outline.bulges[index - 1]:
                on_chord = p + (q - p) * np.array([[0.25], [0.5], [0.75]])
                assert contains(outline, *on_chord.T).all()


@given(outline_names, places)
@settings(max_examples=40, deadline=None)
def test_a_mirrored_outline_is_the_mirror_image_and_still_clockwise(name, place):
    outline = placed(OUTLINES[name], *place)
    image = mirrored(outline)
    assert area(image) == pytest.approx(area(outline))
    x0, y0, x1, y1 = bounds(outline)
    assert bounds(image) == pytest.approx((-x1, y0, -x0, y1), abs=1e-9)
    points = np.random.default_rng(6).uniform(-9, 9, (100, 2))
    there = contains(outline, *points.T)
    assert np.array_equal(there, contains(image, *(points * [-1.0, 1.0]).T))


def test_arcs_lead_from_vertex_to_vertex():
    outline = OUTLINES["heart"]
    centre, radius, start, sweep = outline.arcs
    for turn, vertices in (
        (start, outline.points),
        (start + sweep, np.roll(outline.points, -1, axis=0)),
    ):
        spoke = np.stack([np.cos(np.radians(turn)), np.sin(np.radians(turn))], axis=1)
        assert centre + radius[:, None] * spoke == pytest.approx(vertices, abs=1e-9)


def test_own_outlines_are_turned_clockwise_and_centred():
    rows = [(10, 5, 0), (10, 9, 0), (16, 9, 0), (16, 5, 0), (10, 5, 0)]  # anticlockwise, closed
    outline, centre = own(rows)
    assert centre == (13.0, 7.0)
    assert len(outline) == 4
    assert area(outline) == pytest.approx(24.0)
    turned, _ = own([(0, 0, -1), (6, 0, 0)])
    other, _ = own([(0, 0, 0), (6, 0, 1)])
    assert area(turned) == pytest.approx(area(other)) == pytest.approx(math.pi * 9 / 2)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([(0, 0, 0), (2, 2, 0), (2, 0, 0), (0, 2, 0)], "meets itself"),
        ([(0, 0, 0), (4, 0, 0), (4, 4, 0), (2, 0, 0), (0, 4, 0)], "meets itself"),
        ([(0, 0, 0), (4, 0, -1.5), (4, 4, -1.5), (0, 4, 0)], "meets itself"),
        ([(0, 0, 0), (2, 0, 0), (4, 0, 0), (3, 0, 0)], "turns back"),
        ([(0, 0, 0), (1, 0, 0)], "encloses nothing"),
        ([(0, 0, 0.3), (1, 0, -0.3)], "encloses nothing"),
        ([], "encloses nothing"),
        ([(0, 0, 0), (0, 0, 0), (1, 1, 0), (0, 1, 0)], "same point"),
        ([(0, 0, 40.0), (1, 0, 0)], "full circle"),
        ([(0, 0, 0), (1, math.nan, 0), (0, 1, 0)], "not a number"),
        ([(math.cos(i / 99), math.sin(i / 99), 0) for i in range(500)], "500 vertices"),
    ],
)
def test_an_outline_that_is_none_is_refused(rows, words):
    with pytest.raises(OutlineError, match=words):
        own(rows)


@pytest.mark.parametrize("form", ["navette", "pear"])
def test_a_form_wider_than_long_is_refused(form):
    with pytest.raises(OutlineError, match="wider than long"):
        FORMS[form](4.0, 6.0)


def test_sizes_that_cannot_be_are_refused():
    for form in FORMS.values():
        with pytest.raises(OutlineError, match="not possible"):
            form(0.0, 1.0)
    with pytest.raises(OutlineError, match="does not fit"):
        octagon(4.0, 4.0, 2.0)
