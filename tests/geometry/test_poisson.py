"""Maximal random points, their fades, and mixes settled to exact numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import Voronoi, cKDTree

from embellish.arrays import Floats
from embellish.geometry.insets import centre_region
from embellish.geometry.mixes import counts_of, mixed_points, number_for
from embellish.geometry.poisson import Obstacles, maximal_points
from embellish.geometry.poisson_fades import faded_points
from embellish.geometry.streams import Stream
from tests.layout.ways.fill_cases import FILL_REGIONS, bound

names = st.sampled_from(sorted(FILL_REGIONS))


def nearest(xy: Floats, spots: Floats, k: int = 1) -> Floats:
    """Return how far the k-th nearest of some points is from each spot."""
    return np.asarray(cKDTree(xy).query(spots, k=[k])[0])[:, 0]


def least_distance(xy: Floats) -> float:
    return float(nearest(xy, xy, 2).min()) if len(xy) > 1 else math.inf


def widest_hole(xy, region) -> float:
    """Return how far a point of the region can be from all points: exact up to edge sampling.

    The farthest points are Voronoi corners inside the region, or lie on its edge.
    """
    spots = shapely.get_coordinates(shapely.segmentize(region.boundary, 0.02))
    if len(xy) >= 4:
        corners = Voronoi(xy).vertices
        inside = shapely.contains_xy(region, corners[:, 0], corners[:, 1])
        spots = np.concatenate([spots, corners[inside]])
    return float(nearest(xy, spots).max())


@settings(max_examples=40, deadline=None)
@given(names, st.floats(0.7, 12.0), st.integers(0, 2**32))
def test_apart_inside_and_maximal(name, distance, seed):
    region = FILL_REGIONS[name]
    xy = maximal_points(region, distance, Stream.of(seed, "a"))
    assert len(xy) >= 1
    assert np.all(shapely.intersects_xy(region, xy[:, 0], xy[:, 1]))
    assert least_distance(xy) >= distance
    assert widest_hole(xy, region) <= 1.001 * distance
    assert len(xy) <= bound(region, distance) + 1e-6


@settings(max_examples=20, deadline=None)
@given(names, st.floats(1.0, 6.0), st.integers(0, 99))
def test_obstacles_are_kept_off_and_filled_up_to(name, distance, seed):
    region = FILL_REGIONS[name]
    stood = maximal_points(region, 4.0, Stream.of(seed, "stood"))
    reach = np.where(np.arange(len(stood)) % 2 == 0, 0.6 * distance, 0.9 * distance)
    xy = maximal_points(region, distance, Stream.of(seed, "a"), Obstacles(stood, reach))
    for each in np.unique(reach):
        if len(xy):
            assert nearest(stood[reach == each], xy).min() >= each
    assert least_distance(xy) >= distance
    spots = np.random.default_rng(seed).uniform(region.bounds[:2], region.bounds[2:], (4000, 2))
    spots = spots[shapely.contains_xy(region, spots[:, 0], spots[:, 1])]
    covered = np.zeros(len(spots), dtype=bool)
    if len(xy):
        covered |= nearest(xy, spots) <= 1.001 * distance
    for each in np.unique(reach):
        covered |= nearest(stood[reach == each], spots) <= each + 0.001 * distance
    assert covered.all()


def test_same_stream_same_points_and_another_seed_others():
    region = FILL_REGIONS["star"]
    first, again, other = (maximal_points(region, 2.0, Stream.of(seed, "a")) for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first[:10], other[:10])


def test_empty_and_tiny_regions():
    assert len(maximal_points(shapely.Polygon(), 2.0, Stream.of(1, "a"))) == 0
    speck = shapely.box(3.0, 4.0, 3.0 + 1e-5, 4.0 + 1e-5)
    assert len(maximal_points(speck, 2.0, Stream.of(1, "a"))) == 1
    thread = shapely.box(0.0, 0.0, 100.0, 1e-4)
    xy = maximal_points(thread, 2.0, Stream.of(1, "a"))
    assert 25 <= len(xy) <= 51
    assert np.diff(np.sort(xy[:, 0])).max() <= 4.002


def test_progress_grows_to_the_end():
    told: list[float] = []
    maximal_points(FILL_REGIONS["square"], 0.5, Stream.of(1, "a"), progress=told.append)
    assert len(told) > 3
    assert told[-1] > 0.99
    assert all(0.0 <= share <= 1.0 for share in told)


def test_directions_are_all_alike():
    """Neighbours lie in every direction as often: the cells leave no grain."""
    xy = maximal_points(shapely.box(0, 0, 100, 100), 1.0, Stream.of(5, "a"))
    pairs = cKDTree(xy).query_pairs(1.2, output_type="ndarray")
    step = xy[pairs[:, 0]] - xy[pairs[:, 1]]
    turn = np.mod(np.arctan2(step[:, 1], step[:, 0]), np.pi)
    count, _ = np.histogram(turn, bins=12, range=(0.0, np.pi))
    expected = len(turn) / 12
    # Chi squared of 11 degrees of freedom is above 40 less than once in twenty thousand.
    assert ((count - expected) ** 2 / expected).sum() < 40.0


class TestFades:
    @settings(max_examples=10, deadline=None)
    @given(names, st.floats(1.0, 3.0), st.floats(0.05, 0.9), st.integers(0, 99))
    def test_never_nearer_than_the_full_density(self, name, distance, least, seed):
        region = FILL_REGIONS[name]
        x0, _, x1, _ = region.bounds

        def share(xy):
            return 1.0 - (1.0 - least) * (xy[:, 0] - x0) / (x1 - x0)

        xy, half = faded_points(region, distance, share, Stream.of(seed, "a"))
        assert least_distance(xy) >= distance
        assert half.min() >= distance / 2.0
        pairs = cKDTree(xy).query_pairs(2.0 * half.max(), output_type="ndarray")
        step = xy[pairs[:, 0]] - xy[pairs[:, 1]]
        apart = np.hypot(step[:, 0], step[:, 1])
        assert np.all(apart >= half[pairs[:, 0]] + half[pairs[:, 1]] - 1e-12)

    def test_density_follows_the_field(self):
        region = shapely.box(0, 0, 200, 60)
        xy, _ = faded_points(
            region, 1.0, lambda xy: 1.0 - 0.9 * xy[:, 0] / 200.0, Stream.of(1, "a")
        )
        count, _ = np.histogram(xy[:, 0], bins=8, range=(0.0, 200.0))
        middle = 1.0 - 0.9 * (np.arange(8) + 0.5) / 8
        per_share = count / middle
        assert per_share.std() / per_share.mean() < 0.06

    def test_neighbours_stand_evenly_for_their_place(self):
        region = shapely.box(0, 0, 100, 100)
        xy, half = faded_points(
            region, 1.0, lambda xy: 1.0 - 0.9 * xy[:, 0] / 100.0, Stream.of(1, "a")
        )
        near = nearest(xy, xy, 2) / (2.0 * half)
        assert near.std() / near.mean() <= 0.09


class TestMixes:
    @pytest.mark.parametrize(
        ("shares", "n", "count"),
        [
            ((0.7, 0.3), 10, (7, 3)),
            ((1 / 3, 1 / 3, 1 / 3), 10, (4, 3, 3)),
            ((0.5, 0.5), 0, (0, 0)),
            ((0.999, 0.001), 100, (100, 0)),
            ((0.1, 0.2, 0.7), 7, (1, 1, 5)),
        ],
    )
    def test_counts_are_exact_to_one(self, shares, n, count):
        assert counts_of(shares, n).tolist() == list(count)

    @settings(max_examples=10, deadline=None)
    @given(
        st.sampled_from(["square", "star", "notched, with two holes", "disc and square"]),
        st.floats(0.2, 0.8),
        st.floats(1.0, 2.5),
        st.sampled_from([0.4, 0.6, 0.7]),
        st.integers(0, 99),
    )
    def test_gaps_hold_and_the_mix_is_exact(self, name, share, ratio, density, seed):
        region, half = FILL_REGIONS[name], np.array([1.0, ratio])
        grounds = [centre_region(region, float(radius)) for radius in half]
        shares = (share, 1.0 - share)
        wished = number_for(region.area, half, shares, density)
        got = mixed_points(grounds, half, counts_of(shares, wished), Stream.of(seed, "a"))
        assert np.bincount(got.size, minlength=2) == pytest.approx(
            counts_of(shares, len(got)), abs=1
        )
        assert len(got) >= 0.9 * wished - 1
        for each, ground in enumerate(grounds):
            mine = shapely.points(got.xy[got.size == each])
            assert np.all(shapely.distance(ground, mine) < 1e-9)
        i, j = np.triu_indices(len(got), 1)
        apart = np.hypot(*(got.xy[i] - got.xy[j]).T)
        assert np.all(apart >= half[got.size[i]] + half[got.size[j]])


@pytest.mark.parametrize(("side", "density"), [(3.0, 0.74), (6.0, 0.7)])
def test_a_mix_gives_up_only_those_that_are_shut_in(side, density):
    # Pockets beside a room: what is strewn in one cannot leave it, and some get more than they
    # hold. Fewer in the room would not help them.
    pockets = [shapely.box(60.0, 12.0 * k, 60.0 + side, 12.0 * k + side) for k in range(12)]
    ground = shapely.union_all([shapely.box(0.0, 0.0, 50.0, 140.0), *pockets])
    half, shares = np.array([1.45, 1.85]), np.array([0.6, 0.4])
    grounds = [ground, shapely.union_all([part.buffer(-0.4) for part in shapely.get_parts(ground)])]
    wished = number_for(ground.buffer(1.45).area, half, shares, density)
    got = mixed_points(grounds, half, counts_of(shares, wished), Stream.of(1, "pockets"))
    assert len(got) >= 0.97 * wished
    assert np.abs(np.bincount(got.size) - counts_of(shares, len(got))).max() <= 1
