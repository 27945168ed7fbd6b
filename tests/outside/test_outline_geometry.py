"""Outlines against results that stand outside the project; the source is named beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.gaps.chains import outline_gaps
from embellish.geometry.outline_forms import navette, octagon, oval, pear, rectangle
from embellish.geometry.outline_offsets import offset
from embellish.geometry.outlines import area, circle, length
from tests.shapes import CONVEX_OUTLINES


@pytest.mark.parametrize("name", CONVEX_OUTLINES)
@given(st.floats(1e-3, 20.0))
@settings(max_examples=25, deadline=None)
def test_steiners_formula(name, distance):
    # Steiner 1840, "Über parallele Flächen": a convex figure of area A and perimeter L grown by d
    # has area A + L d + pi d^2, and perimeter L + 2 pi d.
    outline = CONVEX_OUTLINES[name]
    grown = offset(outline, distance)
    expected = area(outline) + length(outline) * distance + math.pi * distance**2
    assert area(grown) == pytest.approx(expected, rel=1e-10)
    assert length(grown) == pytest.approx(length(outline) + 2.0 * math.pi * distance, rel=1e-10)


def test_a_navette_as_wide_as_a_radius_is_a_vesica_piscis():
    # Euclid, Elements I.1: two circles through each other's centres. Of radius r the lens is
    # r wide, sqrt(3) r long and (2 pi / 3 - sqrt(3) / 2) r^2 large.
    r = 5.0
    lens = navette(math.sqrt(3.0) * r, r)
    assert area(lens) == pytest.approx((2.0 * math.pi / 3.0 - math.sqrt(3.0) / 2.0) * r * r)
    assert lens.arcs.radius == pytest.approx([r, r])


def test_a_pear_three_radii_long_has_the_side_radius_of_its_triangle():
    # Pythagoras on the tip, the side's centre and the round end's: R = (a^2 + r^2) / (2 r) with
    # r = 2 and a = 4 from the round end's centre to the tip: R = 5, the 3-4-5 triangle.
    assert sorted(pear(6.0, 4.0).arcs.radius.tolist()) == pytest.approx([2.0, 5.0, 5.0])


def test_the_octagon_of_a_regular_cut_is_regular():
    # A regular octagon of inner diameter s has area 2 (sqrt(2) - 1) s^2 (any table of regular
    # polygons); its corner cut is s (1 - 1 / sqrt(2)).
    s = 8.0
    regular = octagon(s, s, s * (1.0 - math.sqrt(0.5)))
    assert area(regular) == pytest.approx(2.0 * (math.sqrt(2.0) - 1.0) * s * s)


def test_an_ovals_arcs_meet_on_the_line_of_their_centres():
    # Two circles touch from inside where their centres are the difference of the radii apart
    # (Euclid, Elements III.11).
    centre, radius, _, _ = oval(18.0, 13.0).arcs
    apart = np.hypot(*(centre - np.roll(centre, 1, axis=0)).T)
    assert apart == pytest.approx(np.abs(radius - np.roll(radius, 1)))


def test_gaps_of_textbook_figures():
    # A unit square turned by 45 degrees reaches sqrt(2)/2; the diagonal of a 3 x 4 rectangle is 5.
    square, tall = rectangle(1.0, 1.0), rectangle(3.0, 4.0)
    x, y, turn = np.array([3.0]), np.array([0.0]), np.array([45.0])
    assert outline_gaps(square, square, x, y, turn) == pytest.approx([2.5 - math.sqrt(0.5)])
    corner = outline_gaps(tall, circle(2.0), np.array([4.5]), np.array([6.0]), np.zeros(1))
    assert corner == pytest.approx([4.0])  # 3 along and 4 down from the corner, less the radius
