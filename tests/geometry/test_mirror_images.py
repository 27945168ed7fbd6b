"""A figure that is its own mirror image is known, however it lies; one that is not is known too."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.mirror_images import MirrorImage, mirror_image
from embellish.geometry.outline_forms import navette, octagon, oval, own, pear, rectangle
from embellish.geometry.outlines import Outline, OutlineError, circle, placed, recentred, sampled
from embellish.geometry.transforms import Affine


def ring(outline: Outline) -> shapely.Polygon:
    return shapely.Polygon(sampled(outline, 1e-4))


def flipped_differs_by(outline: Outline, image: MirrorImage) -> float:
    """By how much the flipped figure differs from the figure turned and moved as it is said."""
    flip = shapely.Polygon(sampled(outline, 1e-4) * np.array([1.0, -1.0]))
    stand = Affine.move(image.dx_mm, image.dy_mm) @ Affine.turn(image.turn_deg)
    said = shapely.Polygon(stand(sampled(outline, 1e-4)))
    return float(shapely.hausdorff_distance(flip.exterior, said.exterior))


def chiral(dent: float = 0.0) -> Outline:
    return own([(0, 0, 0), (3, 0, 0), (3, 1, 0), (1, 1, 0), (1, 5 + dent, 0), (0, 5, 0)])[0]


@st.composite
def mirrored_figures(draw: st.DrawFn) -> Outline:
    """A figure about an axis that no one has told, wavy or straight between its points."""
    rises = draw(st.lists(st.floats(0.4, 2.0), min_size=2, max_size=5))
    halves = draw(st.lists(st.floats(0.5, 4.0), min_size=len(rises), max_size=len(rises)))
    bulge = draw(st.floats(-0.2, 0.3))
    up = np.cumsum(rises)
    right = [(x, y, bulge) for x, y in zip(halves, up, strict=True)]
    left = [(-x, y, bulge) for x, y, _ in reversed(right)]
    rows = [*right[:-1], (*right[-1][:2], 0.0), *left[:-1], (*left[-1][:2], 0.0)]
    try:
        figure = own(rows)[0]
    except OutlineError:  # its arcs meet
        reject()
    return recentred(placed(figure, 0.0, 0.0, draw(st.floats(0, 360))))[0]


@given(mirrored_figures())
@settings(max_examples=60, deadline=None)
def test_a_mirrored_figure_is_its_own_image_however_it_lies(outline: Outline):
    image = mirror_image(Footprint.of(outline))
    assert image.exact, image
    assert flipped_differs_by(outline, image) < 1e-6


@given(st.floats(0, 360), st.floats(0.01, 2.0))
@settings(max_examples=30, deadline=None)
def test_a_figure_with_a_left_and_a_right_is_never_its_own_image(turn: float, dent: float):
    outline = recentred(placed(chiral(dent), 0.0, 0.0, turn))[0]
    assert not mirror_image(Footprint.of(outline)).exact


@given(st.floats(0.001, 0.3), st.floats(0, 360))
@settings(max_examples=30, deadline=None)
def test_what_is_nearly_alike_is_told_with_how_much_it_differs(dent: float, turn: float):
    # A kite: one point moved off its place by `dent`, so the axis is lost by about that.
    kite = own([(0, -3, 0), (2 + dent, 0, 0), (0, 5, 0), (-2, 0, 0)])[0]
    image = mirror_image(Footprint.of(recentred(placed(kite, 0.0, 0.0, turn))[0]))
    assert 0.1 * dent < image.off_mm < 2.0 * dent


@pytest.mark.parametrize(
    "outline", [oval(8, 5), navette(9, 4), pear(8, 5), rectangle(7, 2), octagon(6, 6), circle(3)]
)
def test_named_forms_are_alike_on_both_sides_of_their_length(outline: Outline):
    image = mirror_image(Footprint.of(outline))
    assert (image.turn_deg, image.dx_mm, image.dy_mm) == (0.0, 0.0, 0.0)
    assert image.exact


def test_parts_of_a_unit_are_images_of_their_own_name_only():
    bead = circle(2)
    row = Footprint.of(Part(bead, -3, 0), Part(bead, 0, 0), Part(bead, 3, 0))
    assert mirror_image(row, "abc").exact
    three = Footprint.of(Part(bead, 0, 0), Part(bead, 3, 0), Part(bead, 1.5, 2))
    assert mirror_image(three, "aab").exact
    assert not mirror_image(three, "abc").exact
    on_top = Footprint.of(Part(circle(5), 0, 0), Part(bead, 0, 0))
    assert mirror_image(on_top, "ab").exact
