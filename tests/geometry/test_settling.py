"""Settling: gaps hold, pins hold, nobody leaves, and gaps come alike."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from embellish.geometry.insets import centre_region
from embellish.geometry.settling import neighbours, put_back, settle, shortfall
from tests.layout.ways.fill_cases import FILL_REGIONS

BOX = shapely.box(0, 0, 30, 30)


def shaken(count: int, share: float, seed: int):
    """Points on shaken lattice places that cover a share of the box when settled."""
    d = math.sqrt(900 * share / (count * math.pi / 4))
    side = math.ceil(math.sqrt(count))
    x, y = np.meshgrid(np.arange(side) + 0.5, np.arange(side) + 0.5)
    xy = np.stack([x, y], -1).reshape(-1, 2)[:count] * 30 / side
    return xy + np.random.default_rng(seed).uniform(-0.4, 0.4, xy.shape) * d, d


def spread(xy: Any) -> float:
    near = np.asarray(cKDTree(xy).query(xy, k=2)[0])[:, 1]
    return float(near.std() / near.mean())


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 1000))
def test_crowded_points_settle_to_their_gaps_evenly(seed):
    xy, d = shaken(400, 0.72, seed)
    ground = centre_region(BOX, d / 2)
    half = np.full(len(xy), d / 2)
    settled = settle(
        xy, half, [ground], np.zeros(len(xy), dtype=np.int64), rounds=600, patience=600
    )
    assert settled.short_mm == 0.0
    assert shortfall(settled.xy, half) == 0.0
    assert shapely.dwithin(ground, shapely.points(settled.xy), 1e-9).all()
    # 0.012 is usual; a seed that leaves one column crooked may have twice that.
    assert spread(settled.xy) <= 0.03 < spread(xy)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), st.floats(1.0, 4.0))
def test_two_sizes_keep_their_own_distances(seed, ratio):
    xy, d = shaken(150, 0.5, seed)
    size = np.arange(len(xy)) % 2
    halves = np.array([d / 2, d / 2 / ratio])
    grounds = [centre_region(BOX, float(half)) for half in halves]
    settled = settle(xy, halves[size], grounds, size, rounds=600, patience=600)
    assert settled.short_mm == 0.0
    i, j = np.triu_indices(len(xy), 1)
    apart = np.hypot(*(settled.xy[i] - settled.xy[j]).T)
    assert np.all(apart >= halves[size[i]] + halves[size[j]])


def test_pinned_points_do_not_move():
    xy, d = shaken(200, 0.6, 3)
    pinned = np.zeros(len(xy), dtype=bool)
    pinned[::17] = True
    ground = np.zeros(len(xy), dtype=np.int64)
    settled = settle(xy, np.full(len(xy), d / 2), [BOX], ground, pinned=pinned)
    assert np.array_equal(settled.xy[pinned], xy[pinned])
    assert not np.array_equal(settled.xy, xy)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), st.booleans())
def test_what_holds_is_never_broken(seed, easing):
    """Even where the reach is far more than there is room for."""
    xy, d = shaken(200, 0.6, seed)
    half, ground = np.full(len(xy), d / 2), np.zeros(len(xy), dtype=np.int64)
    first = settle(xy, half, [BOX], ground, rounds=600, patience=600)
    assert first.short_mm == 0.0
    more = settle(first.xy, half, [BOX], ground, rounds=80, reach=0.5, easing=easing)
    assert shortfall(more.xy, half) == 0.0


def test_too_many_points_say_by_how_much():
    xy, d = shaken(300, 1.2, 1)
    settled = settle(xy, np.full(len(xy), d / 2), [BOX], np.zeros(len(xy), dtype=np.int64))
    assert 0.0 < settled.short_mm < d
    assert settled.short_mm == shortfall(settled.xy, np.full(len(xy), d / 2))


def test_neighbours_are_all_pairs_and_no_other():
    rng = np.random.default_rng(5)
    xy, half = rng.uniform(0, 20, (300, 2)), rng.choice([0.3, 0.7, 4.0], 300)
    i, j = neighbours(xy, half, 0.1)
    a, b = np.triu_indices(300, 1)
    near = np.hypot(*(xy[a] - xy[b]).T) <= (half[a] + half[b]) * 1.1
    got = {tuple(sorted(pair)) for pair in zip(i.tolist(), j.tolist(), strict=True)}
    assert len(got) == len(i)
    assert got == set(zip(a[near].tolist(), b[near].tolist(), strict=True))


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(sorted(FILL_REGIONS)), st.integers(0, 1000))
def test_strays_are_put_back_at_the_nearest_place(name, seed):
    region = FILL_REGIONS[name]
    xy = np.random.default_rng(seed).uniform(-40, 60, (60, 2))
    back = put_back(xy, [region], np.zeros(60, dtype=np.int64))
    moved = np.hypot(*(back - xy).T)
    assert np.allclose(moved, shapely.distance(region, shapely.points(xy)), atol=1e-9)


def test_one_point_and_none_are_settled():
    one = settle(np.array([[1.0, 1.0]]), np.ones(1), [BOX], np.zeros(1, dtype=np.int64))
    assert np.array_equal(one.xy, [[1.0, 1.0]])
    assert one.short_mm == 0.0
