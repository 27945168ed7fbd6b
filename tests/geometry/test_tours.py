"""Tours: every point once, from the start, never worse by a reversal, the best of small ones."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.streams import Stream
from embellish.geometry.tours import closed_tour, open_path, tour_length

coordinate = st.integers(-40, 40)
points = st.lists(st.tuples(coordinate, coordinate), min_size=0, max_size=40)


def cast(count: int, name: str = "tour") -> np.ndarray:
    return Stream.of(count, name).uniform(0, 2 * count).reshape(count, 2)


@settings(max_examples=80, deadline=None)
@given(points, st.tuples(coordinate, coordinate), st.booleans())
def test_every_point_is_met_once_also_where_points_fall_together(table, start, begun):
    xy = np.array(table, dtype=np.float64).reshape(-1, 2)
    order = open_path(xy, np.array(start, dtype=np.float64) if begun else None)
    assert sorted(order.tolist()) == list(range(len(xy)))
    assert sorted(closed_tour(xy).tolist()) == list(range(len(xy)))


@pytest.mark.parametrize("count", [50, 300])
def test_no_reversal_within_near_neighbours_shortens_it(count):
    xy = cast(count)
    order = closed_tour(xy)
    path = xy[order]
    after = np.roll(path, -1, axis=0)
    old = np.hypot(*(path - after).T)
    join = np.hypot(*(path[:, None] - path[None]).transpose(2, 0, 1))
    join_after = np.hypot(*(after[:, None] - after[None]).transpose(2, 0, 1))
    gain = old[:, None] + old[None] - join - join_after
    near = join.argsort(axis=1)[:, 1:11]
    assert np.take_along_axis(gain, near, axis=1).max() <= 1e-6


def test_small_open_paths_are_close_to_the_best():
    worst = 1.0
    for seed in range(12):
        xy = cast(7, f"small {seed}")
        start = np.zeros(2)
        whole = np.concatenate([[start], xy])

        def length(order: Sequence[int] | np.ndarray, whole: np.ndarray = whole) -> float:
            return tour_length(whole, np.array([0, *(np.array(order) + 1)]))

        best = min(length(order) for order in permutations(range(7)))
        worst = max(worst, length(open_path(xy, start)) / best)
    assert worst <= 1.12


@pytest.mark.parametrize(("count", "limit"), [(2000, 1.06)])
def test_long_tours_are_within_reach_of_the_expected_length(count, limit):
    # Beardwood, Halton & Hammersley 1959: 0.7124 sqrt(N A) for uniform points.
    xy = cast(count)
    assert tour_length(xy, open_path(xy, np.zeros(2))) <= limit * 0.7124 * count**0.5


def test_same_points_same_tour():
    xy = cast(400)
    assert open_path(xy, np.zeros(2)).tolist() == open_path(xy, np.zeros(2)).tolist()


def test_the_path_begins_near_the_start():
    xy = np.stack([np.arange(30.0), np.zeros(30)], axis=1)[::-1]
    order = open_path(xy, np.array([-1.0, 0.0]))
    assert xy[order][:, 0].tolist() == list(range(30))
    assert order[0] == 29


def test_a_dear_step_is_gone_round():
    # Two rows; changing rows costs 100 except at the far end.
    xy = np.array([(float(x), float(y)) for y in (0, 1) for x in range(12)])

    def extra(i, j):
        cross = xy[i, 1] != xy[j, 1]
        free = (xy[i, 0] == 11) & (xy[j, 0] == 11)
        return np.where(cross & ~free, 100.0, 0.0)

    order = open_path(xy, np.array([0.0, -1.0]), extra=extra)
    assert xy[order].tolist() == [[x, 0.0] for x in range(12)] + [
        [x, 1.0] for x in range(11, -1, -1)
    ]
