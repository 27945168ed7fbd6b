"""Thresholds: any share of the places lies even, and choices are exact to one piece."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from embellish.geometry.poisson import maximal_points
from embellish.geometry.streams import Stream
from embellish.geometry.thresholds import along_line, chosen_by, in_plane

POINTS = maximal_points(shapely.box(0, 0, 40, 40), 1.0, Stream.of(1, "thresholds"))


def nearest(xy: np.ndarray) -> np.ndarray:
    return np.asarray(cKDTree(xy).query(xy, k=[2])[0])[:, 0]


@pytest.mark.parametrize(
    ("share", "late"), [(0.05, False), (0.2, False), (0.4, False), (0.05, True), (0.2, True)]
)
def test_a_share_of_the_plane_lies_more_even_than_at_random(share, late):
    thresholds = in_plane(POINTS, Stream.of(1, "a"))
    taken = thresholds > 1.0 - share if late else thresholds < share
    chance = np.random.default_rng(1).permutation(len(POINTS))[: taken.sum()]
    even, odd = nearest(POINTS[taken]), nearest(POINTS[chance])
    if share < 0.3:
        assert np.quantile(even, 0.05) > 1.15 * np.quantile(odd, 0.05)
    assert even.std() / even.mean() < 0.75 * odd.std() / odd.mean()


def test_each_threshold_comes_once():
    thresholds = np.sort(in_plane(POINTS, Stream.of(1, "a")))
    n = len(POINTS)
    assert np.allclose(thresholds, (np.arange(n) + 0.5) / n)


@settings(deadline=None)
@given(st.integers(1, 400), st.floats(0.05, 0.95))
def test_along_a_line_every_run_has_its_share(n, share):
    """Runs of a golden step differ by at most a few from their share, however long they are."""
    below = along_line(n) < share
    runs = np.concatenate([[0], np.cumsum(below)]) - share * np.arange(n + 1)
    assert np.ptp(runs) < 3.0


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 200), st.integers(2, 5), st.integers(0, 1000))
def test_choices_are_exact_to_one(n, k, seed):
    rng = np.random.default_rng(seed)
    shares = rng.dirichlet(np.ones(k), n)
    choice = chosen_by(shares, rng.permutation(n) / n)
    count = np.bincount(choice, minlength=k)
    assert count.sum() == n
    assert np.all(np.abs(count - shares.sum(axis=0)) < 1.0)


def test_where_a_share_is_all_or_nothing_it_is_kept_to():
    x = np.arange(200) / 200.0
    first = np.where(x < 0.3, 1.0, np.where(x > 0.7, 0.0, 0.5))
    choice = chosen_by(np.stack([first, 1.0 - first], axis=1), along_line(200))
    assert not choice[x < 0.3].any()
    assert choice[x > 0.7].all()
    middle = choice[(x > 0.32) & (x < 0.68)]
    assert np.abs(np.diff(middle)).mean() > 0.7, "they alternate"
