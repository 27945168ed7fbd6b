import math

import numpy as np
import pytest
import shapely

from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import LINE_TOLERANCE_MM, REGION_TOLERANCE_MM, lines_of, region_of
from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.geometry.curves import line_segments
from tests.artwork.svg.cases import page


def shape(body: str) -> Shape:
    return read_svg(page(body).encode(), "a.svg")[0].shapes[0]


def test_a_closed_line_repeats_its_first_point():
    (line,) = lines_of(shape('<circle cx="20" cy="20" r="10"/>'))
    assert line.closed
    assert np.array_equal(line.points[0], line.points[-1])
    away = np.hypot(*(line.points - 20).T)
    assert np.abs(away - 10).max() < 1e-6


def test_an_open_line_keeps_its_ends():
    (line,) = lines_of(shape('<path d="M1 2C5 9 9 9 13 2" fill="none" stroke="red"/>'))
    assert not line.closed
    assert line.points[[0, -1]].tolist() == [[1, 2], [13, 2]]


def test_lines_are_frozen():
    (line,) = lines_of(shape('<rect width="5" height="5"/>'))
    with pytest.raises(ValueError, match="read-only"):
        line.points[0] = 1.0


@pytest.mark.parametrize("tolerance", [1.0, 0.1, REGION_TOLERANCE_MM, LINE_TOLERANCE_MM])
def test_a_circles_chords_stay_within_the_tolerance(tolerance):
    region = region_of(shape('<circle cx="40" cy="40" r="40"/>'), tolerance)
    assert isinstance(region, shapely.Polygon)
    true = shapely.Point(40, 40).buffer(40, quad_segs=4000)
    assert shapely.hausdorff_distance(region.exterior, true.exterior) <= tolerance + 1e-6


def test_one_path_a_line_in_order():
    lines = lines_of(shape('<path d="M0 0H5V5zM9 9h3v3M20 20h3v3z"/>'))
    assert [line.closed for line in lines] == [True, False, True]


def test_a_region_is_kept_a_tolerance():
    one = shape('<circle r="9" cx="9" cy="9"/>')
    assert region_of(one) is region_of(one)
    assert region_of(one, 0.1) is not region_of(one)


def test_an_open_path_closes_when_filled_only():
    filled = shape('<path d="M0 0H10V10"/>')
    assert region_of(filled).area == pytest.approx(50)
    line = shape('<path d="M0 0H10V10" fill="none" stroke="red"/>')
    with pytest.raises(ArtworkError, match="open line") as wrong:
        region_of(line)
    assert "shape 'path-1'" in str(wrong.value)


def test_a_stroked_loop_may_serve_as_region():
    ring = shape('<circle cx="9" cy="9" r="5" fill="none" stroke="red"/>')
    assert region_of(ring, 1e-5).area == pytest.approx(25 * math.pi, rel=1e-4)


def test_open_parts_of_an_unfilled_shape_do_not_close():
    mixed = shape('<path d="M0 0H10V10H0zM20 20h10v10" fill="none" stroke="red"/>')
    assert region_of(mixed).area == pytest.approx(100)


def test_nothing_enclosed_is_told():
    flat = Path(line_segments(np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 0.0]])), closed=True)
    with pytest.raises(ArtworkError, match="no area"):
        region_of(Shape("s", "", (), None, None, 0.0, "nonzero", (flat,)))


def test_too_fine_a_flattening_is_refused():
    with pytest.raises(ArtworkError, match="points"):
        lines_of(shape('<circle cx="50" cy="50" r="50"/>'), 1e-14)
