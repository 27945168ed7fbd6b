"""Vacancies: holes are all found and truly free; of a crowd the right ones stay."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.vacancies import filled_holes, first_come, worst_crowded

BOX = shapely.box(0, 0, 20, 20)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 1000), st.integers(0, 60), st.floats(0.4, 1.5))
def test_holes_are_filled_until_none_is_left(seed, count, half):
    xy = np.random.default_rng(seed).uniform(0, 20, (count, 2))
    more = filled_holes(xy, np.full(count, half), BOX, half)
    assert shapely.intersects_xy(BOX, *more.T).all()
    every = np.concatenate([xy, more])
    for k, spot in enumerate(more):
        others = np.delete(every, count + k, axis=0)
        assert np.hypot(*(others - spot).T).min(initial=np.inf) >= 2 * half - 1e-9
    discs = shapely.buffer(shapely.points(every), 2 * half * 1.025, quad_segs=64)
    assert BOX.difference(shapely.union_all(discs)).is_empty


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 1000), st.integers(1, 120))
def test_first_come_is_the_plain_sequential_rule(seed, count):
    rng = np.random.default_rng(seed)
    xy, half = rng.uniform(0, 10, (count, 2)), rng.choice([0.4, 0.9], count)
    rank = rng.integers(0, 4, count).astype(float)
    want = np.zeros(count, dtype=bool)
    for k in np.argsort(rank, kind="stable"):
        near = np.hypot(*(xy - xy[k]).T) < half + half[k]
        want[k] = not np.any(near & want)
    assert np.array_equal(first_come(xy, half, rank), want)


def test_a_smaller_share_of_the_distance_may_do():
    xy, half = np.array([[0.0, 0.0], [0.9, 0.0]]), np.full(2, 0.5)
    assert first_come(xy, half, np.zeros(2)).tolist() == [True, False]
    assert first_come(xy, half, np.array([1.0, 0.0])).tolist() == [False, True]
    assert first_come(xy, half, np.zeros(2), 0.85).all()
    # Of a pair the larger share counts.
    assert not first_come(xy, half, np.zeros(2), np.array([0.85, 1.0])).all()


def test_the_most_crowded_go_and_never_the_fixed():
    xy = np.array([[0, 0], [1, 0], [0.5, 0.1], [10, 0], [10.95, 0]], dtype=float)
    half, fixed = np.full(5, 0.5), np.array([True, True, False, False, False])
    assert worst_crowded(xy, half, fixed).tolist() == [2]
    assert len(worst_crowded(xy[:2], half[:2], fixed[:2])) == 0
    assert len(worst_crowded(xy[[0, 3]], half[:2], ~fixed[:2])) == 0
