import math

import pytest

from embellish.artwork.artwork import Artwork
from embellish.artwork.sizing import sized
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from tests.artwork.svg.cases import svg

BODY = '<path d="M10 10H30V20" fill="none" stroke="red" stroke-width="2"/>'


def read(attributes: str, body: str = BODY) -> Artwork:
    return read_svg(svg(attributes, body).encode(), "a.svg")[0]


UNSIZED = read('viewBox="0 0 40 20"')
PAGELESS = read("")
SIZED = read('width="80mm" height="40mm" viewBox="0 0 40 20"')


def test_width_is_that_of_the_page():
    artwork = sized(UNSIZED, width_mm=100.0)
    assert artwork.sized
    assert artwork.page == pytest.approx((100, 50))
    assert artwork.bounds() == pytest.approx((25, 25, 75, 50))
    assert artwork.shapes[0].stroke_width_mm == pytest.approx(5)


def test_width_is_that_of_all_shapes_where_there_is_no_page():
    artwork = sized(PAGELESS, width_mm=100.0)
    assert artwork.page is None
    assert artwork.bounds() == pytest.approx((0, 0, 100, 50))


def test_scale_is_millimetres_a_unit_or_a_factor():
    assert sized(UNSIZED, scale=0.5).page == pytest.approx((20, 10))
    assert sized(SIZED, scale=0.5).page == pytest.approx((40, 20))


def test_a_sized_drawing_stays_as_it_is_or_takes_another_width():
    assert sized(SIZED).page == SIZED.page
    assert sized(SIZED).shapes == SIZED.shapes
    assert sized(SIZED, width_mm=40.0).page == pytest.approx((40, 20))


def test_scale_of_one_makes_units_millimetres():
    artwork = sized(UNSIZED, scale=1.0)
    assert artwork.sized
    assert artwork.page == UNSIZED.page


def test_without_a_size_it_asks_for_one():
    with pytest.raises(ArtworkError, match="no size in millimetres") as wrong:
        sized(UNSIZED)
    assert "width_mm" in wrong.value.mend


def test_both_are_too_much():
    with pytest.raises(ArtworkError, match="both"):
        sized(UNSIZED, width_mm=10.0, scale=1.0)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("name", ["width_mm", "scale"])
def test_numbers_must_be_above_zero(name, value):
    with pytest.raises(ArtworkError, match=name):
        sized(UNSIZED, **{name: value})


def test_a_drawing_without_width_needs_a_scale():
    upright = read("", '<line y2="9" stroke="red"/>')
    with pytest.raises(ArtworkError, match="no width"):
        sized(upright, width_mm=10.0)
    assert sized(upright, scale=2.0).bounds() == pytest.approx((0, 0, 0, 18))


def test_a_slip_of_units_is_refused():
    with pytest.raises(ArtworkError, match="m wide"):
        sized(UNSIZED, width_mm=1e9)
