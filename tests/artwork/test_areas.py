"""Areas of many shapes at once are those of their regions, cut or not."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.artwork.areas import filled_areas
from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from tests.artwork.svg.cases import CASES, page
from tests.real_artwork import icons


def read(body: str) -> Artwork:
    return read_svg(page(body).encode(), "a.svg")[0]


def cut_areas(artwork: Artwork, tolerance: float = 1e-5) -> list[float | None]:
    """Return the areas of the regions, found the long way."""
    areas: list[float | None] = []
    for shape in artwork.shapes:
        try:
            areas.append(region_of(shape, tolerance).area)
        except ArtworkError:
            areas.append(None)
    return areas


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_whole_cast(case):
    artwork, _ = read_svg(case.svg.encode(), "case.svg")
    for ours, long in zip(filled_areas(artwork.shapes), cut_areas(artwork), strict=True):
        assert ours == (None if long is None else pytest.approx(long, rel=2e-4))


RULES = ("nonzero", "evenodd")


@pytest.mark.parametrize(
    ("data", "nonzero", "evenodd"),
    [
        # Squares of 90, 70, 50 and 30, each within the last, in the turns written.
        ("+90 +70", 8100, 8100 - 4900),
        ("+90 -70", 8100 - 4900, 8100 - 4900),
        ("+90 -70 +50", 8100 - 4900 + 2500, 8100 - 4900 + 2500),
        ("+90 +70 -50 -30", 8100 - 900, 8100 - 4900 + 2500 - 900),
        ("-90 -70 -50 -30", 8100, 8100 - 4900 + 2500 - 900),
        ("+30 -90", 8100 - 900, 8100 - 900),
    ],
)
def test_squares_in_squares(data, nonzero, evenodd):
    path = ""
    for word in data.split():
        side = abs(int(word))
        low, high = 50 - side / 2, 50 + side / 2
        way = f"H{high}V{high}H{low}" if word[0] == "+" else f"V{high}H{high}V{low}"
        path += f"M{low} {low}{way}z"
    body = "".join(f'<path fill-rule="{rule}" d="{path}"/>' for rule in RULES)
    assert filled_areas(read(body).shapes) == pytest.approx([nonzero, evenodd])


def test_curves_have_their_exact_area():
    # A circle of four arcs in cubics is a circle within 2.7e-4 of its radius at most.
    (area,) = filled_areas(read('<circle cx="50" cy="50" r="40"/>').shapes)
    assert area == pytest.approx(math.pi * 1600, rel=1e-4)
    # Under a parabola: two thirds of its box. Far away no digit is lost.
    far = '<path d="M1000000 10Q1000010 0 1000020 10z"/>'
    assert filled_areas(read(far).shapes) == pytest.approx([2 / 3 * 20 * 5], rel=1e-9)


def test_what_crosses_is_cut_and_what_encloses_nothing_is_none():
    body = (
        '<path d="M0 0L10 10V0L0 10z"/>'  # an eight
        '<path d="M0 0H10V10H0zM5 5H15V15H5z"/>'  # two that lap
        '<path d="M0 0H10V10H0zM10 0H20V10H10z"/>'  # two side by side
        '<path d="M0 0h9" stroke="red"/>'
        '<path d="M0 0h9h-9z"/>'
        '<path d="M0 0h9v9" fill="none" stroke="red"/>'
    )
    areas = filled_areas(read(body).shapes)
    assert areas[:3] == pytest.approx([50.0, 175.0, 200.0])
    assert areas[3:] == [None, None, None]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(5, 95), st.integers(5, 95), st.integers(1, 40), st.booleans()),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from(RULES),
)
# Two large rings on each other leave two small ones.
@example([(5, 5, 6, False), (5, 5, 36, False), (5, 5, 36, False), (5, 14, 3, False)], "evenodd")
def test_any_rings_however_they_lie(rings, rule):
    """Property: the short way and the long way agree, for both turns and both rules."""
    data = "".join(
        f"M{x - r} {y}A{r} {r} 0 1 {int(way)} {x + r} {y}A{r} {r} 0 1 {int(way)} {x - r} {y}z"
        for x, y, r, way in rings
    )
    artwork = read(f'<path fill-rule="{rule}" d="{data}"/>')
    ours, long = filled_areas(artwork.shapes), cut_areas(artwork)
    for one, other in zip(ours, long, strict=True):
        # Loops that lie upon each other leave nothing, or slivers of nothing.
        assert (one or 0.0) == pytest.approx(other or 0.0, rel=2e-4, abs=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("package", ["bootstrap-icons", "lucide-static"])
def test_icons(package):
    shapes = [
        shape for _, data in icons(package)[::23] for shape in read_svg(data, "a.svg")[0].shapes
    ]
    ours, long = filled_areas(shapes), cut_areas(Artwork(tuple(shapes), None, sized=False))
    assert [area is None for area in ours] == [area is None for area in long]
    both = np.array([pair for pair in zip(ours, long, strict=True) if None not in pair], float)
    assert both[:, 0] == pytest.approx(both[:, 1], rel=2e-3, abs=1e-4)
