import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.artwork.artwork import Path
from embellish.artwork.svg.path import MAX_SEGMENTS, path_data, point_list
from embellish.errors import ArtworkError


def ends(path: Path) -> tuple[list[float], list[float]]:
    return path.segments[0, 0].tolist(), path.segments[-1, 3].tolist()


@pytest.mark.parametrize(
    ("data", "count"),
    [("", 0), ("   ", 0), ("M1 1", 0), ("M1 1z", 0), ("M0 0h1", 1), ("M0 0h1M5 5h1z", 2)],
)
def test_counts_of_sound_data(data, count):
    paths, _, sound = path_data(data)
    assert sound
    assert len(paths) == count


@pytest.mark.parametrize(
    "data",
    [
        "L0 0",
        "M",
        "M0",
        "M0,,0",
        "M,0 0",
        "M0 0 L",
        "M0 0 L1 1,",
        "M0 0 C 1 1 2 2",
        "M0 0 z 5",
        "M0 0 X",
        "M0 0 l NaN 1",
        "M0 0 l 1e999 1",
        "M0 0 A 1 1 0 2 0 5 5",
        "M0 0 A 12 3 0 0 1 5",
        "M0 0 l #",
        "M0 0 l --1 0",
    ],
)
def test_bad_data_is_told(data):
    assert path_data(data).sound is False


def test_bad_data_keeps_what_came_before():
    paths, _, _ = path_data("M0 0 h5 v5 l 3 x")
    assert ends(paths[0]) == ([0.0, 0.0], [5.0, 5.0])


def test_a_closed_path_ends_where_it_starts():
    (path,), _, _ = path_data("M0 0h5v5z")
    assert path.closed
    assert np.array_equal(path.segments[0, 0], path.segments[-1, 3])
    assert len(path.segments) == 3


def test_rounded_ends_are_joined_without_a_splinter():
    # The last point is 2 µm from the first on a path of 50 mm.
    (path,), _, _ = path_data("M0 0H50V50H0L0.002 0.001z")
    assert path.closed
    assert len(path.segments) == 4
    assert np.array_equal(path.segments[0, 0], path.segments[-1, 3])


def test_ends_that_meet_are_closed_without_a_z():
    (path,), _, _ = path_data("M0 0H5V5H0V0")
    assert path.closed


def test_a_gap_stays_a_gap():
    (path,), _, _ = path_data("M0 0H50V50H0V0.1")
    assert not path.closed


def test_segments_without_length_are_dropped():
    (path,), _, _ = path_data("M0 0l0 0 5 0 0 0c0 0 0 0 0 0l0 5")
    assert len(path.segments) == 2


def test_segments_join_up():
    (path,), _, _ = path_data("M0 0C1 2 3 4 5 5S9 9 10 5Q12 0 15 5T20 5A3 2 30 1 0 25 9h3v4")
    assert np.array_equal(path.segments[1:, 0], path.segments[:-1, 3])


def test_too_many_segments_are_refused():
    with pytest.raises(ArtworkError, match="curve segments"):
        path_data("M0 0" + "l1 1" * (MAX_SEGMENTS + 1))


@pytest.mark.parametrize(
    ("points", "vertices", "sound"),
    [("0 0 1 1", 2, True), ("0,0,1,1,2", 2, False), ("0 0", 0, True), ("0 0 1 x 2 2", 0, False)],
)
def test_point_lists(points, vertices, sound):
    paths, _, told = point_list(points, closed=False)
    assert told is sound
    assert (len(paths[0].segments) + 1 if paths else 0) == vertices


numbers = st.floats(-1000, 1000, allow_nan=False).map(lambda v: round(v, 3))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(numbers, numbers), min_size=2, max_size=20))
def test_a_polyline_keeps_its_points(points):
    distinct = [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]
    paths, _, sound = path_data("M" + "L".join(f"{x} {y}" for x, y in points))
    assert sound
    if len(distinct) < 2:
        assert paths == ()
        return
    vertices = [*paths[0].segments[:, 0].tolist(), paths[0].segments[-1, 3].tolist()]
    assert np.allclose(vertices[:-1], distinct[:-1], atol=0)
    extent = np.ptp(np.array(points), axis=0).max()
    assert np.allclose(vertices[-1], distinct[-1], atol=2e-4 * extent)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+e \n#x", max_size=60))
def test_no_text_breaks_the_parser(text):
    paths, _, _ = path_data(text)
    for path in paths:
        assert path.segments.shape[1:] == (4, 2)
        assert np.isfinite(path.segments).all()
        assert np.array_equal(path.segments[1:, 0], path.segments[:-1, 3])
