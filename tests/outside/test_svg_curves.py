"""Lengths and areas of curves as drawn in an SVG, against known values."""

import math

import pytest

from embellish.arrays import Floats
from embellish.artwork.svg.reading import read_svg
from embellish.geometry.curves import chain_area, chain_length
from tests.artwork.svg.cases import svg


def drawn(body: str) -> Floats:
    text = svg('width="400mm" height="400mm" viewBox="-200 -200 400 400"', body)
    artwork, _ = read_svg(text.encode(), "curve.svg")
    (path,) = artwork.shapes[0].paths
    return path.segments


@pytest.mark.parametrize(
    ("a", "b", "perimeter"),
    [
        # 4 a E(1 - b²/a²), complete elliptic integral, scipy.special.ellipe
        (2, 1, 9.688448220548),
        (3, 1, 13.364893220555),
        (5, 1, 21.010044539689),
        (10, 1, 40.639741801009),
        (100, 1, 400.109832972265),
        (50, 30, 255.269988633981),
        (40, 25, 206.931380361144),
    ],
)
def test_ellipses(a, b, perimeter):
    segments = drawn(f'<ellipse rx="{a}" ry="{b}"/>')
    # Arcs are cubics within 7e-8 of the radius; their length agrees to a few of that.
    assert chain_length(segments) == pytest.approx(perimeter, rel=2.5e-7)
    assert chain_area(segments) == pytest.approx(math.pi * a * b, rel=2.5e-7)
    turned = drawn(f'<path d="M{-a} 0A{a} {b} 0 0 1 {a} 0A{a} {b} 0 1 1 {-a} 0z"/>')
    assert chain_length(turned) == pytest.approx(perimeter, rel=2.5e-7)


@pytest.mark.parametrize(
    ("data", "length"),
    [
        # adaptive quadrature of the speed, scipy.integrate.quad
        ("M0 0C0 1 1 1 1 0", 2.000000000000),
        ("M0 0C1 2 3 3 4 0", 5.829927224627),
        # the usual quarter circle k = 0.5522847498307935, quad
        ("M1 0C1 .5522847498307935 .5522847498307935 1 0 1", 1.571016698074),
        # parabola y = x² from 0 to 1: √5/2 + asinh(2)/4
        ("M0 0Q.5 0 1 1", 1.478942857545),
    ],
)
def test_beziers(data, length):
    assert chain_length(drawn(f'<path fill="none" stroke="red" d="{data}"/>')) == pytest.approx(
        length, abs=1e-9
    )
