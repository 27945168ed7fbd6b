from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats, Ints
from embellish.geometry.footprints import Footprint, Part, Standing
from embellish.geometry.gaps.chains import outline_gaps
from embellish.geometry.gaps.gaps import (
    gaps_between,
    least_gap,
    neighbour_gaps,
    neighbour_gaps_between,
)
from embellish.geometry.outline_forms import own, rectangle
from embellish.geometry.outlines import Outline, circle
from embellish.units import EPS_MM
from tests.shapes import CONVEX_OUTLINES, OUTLINES, polygon_of
from tests.strategies import angles, millimetres, outline_names, places

FOOTPRINTS = (
    *(Footprint.of(outline) for outline in OUTLINES.values()),
    # Seed, bugle, seed; and a bead on a sequin, off its middle.
    Footprint.of(Part(circle(1.5), -4.0), rectangle(6.0, 1.8), Part(circle(1.5), 4.0)),
    Footprint.of(circle(6.0), Part(circle(2.0), 2.5, 1.0)),
)


def one(a: Outline, b: Outline, x: float, y: float, angle: float) -> float:
    return float(outline_gaps(a, b, np.array([x]), np.array([y]), np.array([angle]))[0])


@given(outline_names, outline_names, places)
@settings(max_examples=150, deadline=None)
def test_gaps_agree_with_dense_polygons(first, second, place):
    gap = one(OUTLINES[first], OUTLINES[second], *place)
    a, b = polygon_of(OUTLINES[first]), polygon_of(OUTLINES[second], *place)
    # Chords of the polygons lie up to 1e-5 inside of each outline.
    assert max(gap, 0.0) == pytest.approx(shapely.distance(a, b), abs=2.1e-5)
    if shapely.intersection(a, b).area > 1e-3:
        assert gap < 0.0
    if shapely.distance(a, b) > 1e-4:
        assert gap > 0.0


@given(outline_names, outline_names, places, places)
@settings(max_examples=100, deadline=None)
def test_gaps_stay_under_rigid_motion_and_either_way_round(first, second, place, motion):
    footprints = (Footprint.of(OUTLINES[first]), Footprint.of(OUTLINES[second]))
    xy = np.array([[0.0, 0.0], place[:2]])
    turn = np.array([0.0, place[2]])
    before = gap_of_two(xy, turn, footprints)
    cos, sin = np.cos(np.radians(motion[2])), np.sin(np.radians(motion[2]))
    moved = xy @ np.array([[cos, sin], [-sin, cos]]) + 100.0 * np.array(motion[:2])
    after = gap_of_two(moved, turn + motion[2], footprints)
    swapped = gap_of_two(moved[::-1], (turn + motion[2])[::-1], footprints[::-1])
    # Where outlines just touch, which side of 0 a gap is on hangs on the last digits; so does,
    # where centres are just told apart, whether there is a line between them.
    told_apart = abs(np.hypot(*place[:2]) - EPS_MM) > 1e-9
    if abs(before) > 1e-9 and told_apart:
        # The line of two centres that nearly coincide, along which overlaps are also measured,
        # keeps fewer digits when it is moved far off.
        allowed = 1e-9 if before > 0.0 else 1e-5
        assert after == pytest.approx(before, abs=allowed)
        assert swapped == pytest.approx(before, abs=allowed)


def gap_of_two(xy: Floats, turn: Floats, footprints: tuple[Footprint, ...]) -> float:
    standing = Standing(xy, turn, np.array([0, 1]), footprints)
    return float(gaps_between(standing, standing, np.array([[0, 1]]))[0])


@given(outline_names, outline_names, places)
@settings(max_examples=60, deadline=None)
def test_an_overlap_is_parted_by_as_much_as_its_gap_says(first, second, place):
    """A negative gap is a move that would part the two; no smaller one is claimed to."""
    a, b = OUTLINES[first], OUTLINES[second]
    gap = one(a, b, *place)
    if gap >= 0.0 or "round" in (first, second):
        return
    ways = np.arange(0.0, 360.0, 2.0)
    x = place[0] - (gap - 0.02) * np.cos(np.radians(ways))
    y = place[1] - (gap - 0.02) * np.sin(np.radians(ways))
    moved = outline_gaps(a, b, x, y, np.full(len(ways), place[2]))
    # The way out lies between two of the ways tried, so a hair more is allowed for.
    assert moved.max() > -0.02 - 0.02 * abs(gap)


def test_round_gaps_are_centres_less_radii_also_below_nothing():
    gap = outline_gaps(
        circle(3.0), circle(2.0), np.array([5.0, 1.0, 0.0]), np.zeros(3), np.zeros(3)
    )
    assert gap.tolist() == [2.5, -1.5, -2.5]


def test_what_lies_on_or_in_another_has_a_negative_gap():
    for outline in OUTLINES.values():
        assert one(outline, outline, 0.0, 0.0, 0.0) < -0.5
    assert one(OUTLINES["octagon"], rectangle(1.0, 0.5), 0.0, 0.0, 20.0) < 0.0
    assert one(rectangle(1.0, 0.5), OUTLINES["octagon"], 0.0, 0.0, 20.0) < 0.0
    # Neither holds a vertex of the other, and no vertex lies on the other.
    assert one(rectangle(12.0, 2.0), rectangle(12.0, 2.0), 0.0, 0.0, 90.0) == pytest.approx(-7.0)


@pytest.mark.parametrize("tiny", [1e-300, 1e-160, 5e-324, 1e-12])
def test_places_that_hardly_differ_raise_no_alarm(tiny):
    for first in OUTLINES.values():
        for second in OUTLINES.values():
            assert one(first, second, tiny, -tiny, tiny) < 0.0
            assert one(first, second, tiny, 0.0, 90.0 + tiny) < 0.0


def test_a_piece_in_an_inlet_is_apart():
    # 2 mm wide inlet, 1 mm piece in its middle.
    assert one(OUTLINES["cee"], rectangle(2.0, 1.0), 0.5, 0.0, 0.0) == pytest.approx(0.5)


_SPOKES = np.arange(48) * np.pi / 24.0
_STAR = np.stack([np.cos(_SPOKES), np.sin(_SPOKES)], axis=1) * np.tile([5.0, 3.5], 24)[:, None]
FINE_OUTLINES = {
    # 24 points, and an arc of three quarters of a turn on a long stem: short and long segments.
    "star": own([(x, y, 0.0) for x, y in _STAR.tolist()])[0],
    "keyhole": own([(-0.5, 9.0, 0.0), (-0.5, 0.5, 2.4), (0.5, 0.5, 0.0), (0.5, 9.0, 0.0)])[0],
}


@given(st.sampled_from(sorted(FINE_OUTLINES)), outline_names, places, st.booleans())
@settings(max_examples=100, deadline=None)
def test_outlines_of_many_or_unequal_segments_agree_with_dense_polygons(fine, plain, place, swap):
    first, second = FINE_OUTLINES[fine], OUTLINES[plain]
    first, second = (second, first) if swap else (first, second)
    gap = one(first, second, *place)
    a, b = polygon_of(first), polygon_of(second, *place)
    assert max(gap, 0.0) == pytest.approx(shapely.distance(a, b), abs=2.1e-5)
    if shapely.intersection(a, b).area > 1e-3:
        assert gap < 0.0


def standing(seed: int, count: int, spread: float, kinds: list[int]) -> Standing:
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0.0, spread, (count, 2)) * [1.0, rng.choice([0.02, 1.0])]
    angle = rng.choice([0.0, 90.0, 33.0, 271.0], count)
    return Standing(xy, angle, rng.choice(kinds, count), FOOTPRINTS)


def brute(a: Standing, b: Standing, within: float, *, same: bool) -> tuple[Ints, Floats]:
    i, j = (side.ravel() for side in np.indices((len(a), len(b))))
    if same:
        i, j = i[i < j], j[i < j]
    pairs = np.stack([i, j], axis=1)
    gaps = gaps_between(a, b, pairs)
    return pairs[gaps < within], gaps[gaps < within]


@given(
    st.integers(0, 10**6),
    st.sampled_from([20.0, 60.0]),
    st.sampled_from([[0], list(range(len(FOOTPRINTS))), [0, 6]]),
    st.sampled_from([-0.5, 0.0, 0.8, 6.0]),
)
@settings(max_examples=40, deadline=None)
def test_neighbours_are_all_pairs_below_the_gap(seed, spread, kinds, within):
    a = standing(seed, 30, spread, kinds)
    pairs, gaps = neighbour_gaps(a.xy, a.angle_deg, a.footprint, a.footprints, within)
    expected, expected_gaps = brute(a, a, within, same=True)
    assert np.array_equal(pairs, expected)
    assert gaps == pytest.approx(expected_gaps, abs=1e-12)
    b = standing(seed + 1, 20, spread, kinds)
    pairs, gaps = neighbour_gaps_between(a, b, within)
    expected, expected_gaps = brute(a, b, within, same=False)
    assert np.array_equal(pairs, expected)
    assert gaps == pytest.approx(expected_gaps, abs=1e-12)


@given(
    st.integers(0, 10**6),
    st.sampled_from([30.0, 2000.0]),
    st.sampled_from([[0], list(range(len(FOOTPRINTS))), [4, 6]]),
)
@settings(max_examples=40, deadline=None)
def test_the_least_gap_is_the_least_of_all_pairs(seed, spread, kinds):
    a = standing(seed, 25, spread, kinds)
    least = least_gap(a.xy, a.angle_deg, a.footprint, a.footprints)
    pairs, gaps = brute(a, a, np.inf, same=True)
    assert least is not None
    assert least[0] == pytest.approx(gaps.min(), abs=1e-12)
    which = np.flatnonzero((pairs == least[1:]).all(axis=1))[0]
    assert gaps[which] == pytest.approx(gaps.min(), abs=1e-12)


STRAIGHT = sorted(
    name for name, outline in CONVEX_OUTLINES.items() if not outline.chain.arcs.radius.size
)


@given(
    *[st.sampled_from(STRAIGHT)] * 2, st.tuples(*[st.floats(-6, 6)] * 2, angles), st.floats(0, 2)
)
@settings(max_examples=200, deadline=None)
def test_a_bound_just_above_a_gap_changes_nothing_however_deep_it_is(first, second, place, more):
    a, b = OUTLINES[first], OUTLINES[second]
    x, y, angle = (np.array([value]) for value in place)
    true = float(outline_gaps(a, b, x, y, angle)[0])
    bounded = outline_gaps(a, b, x, y, angle, within_mm=true + more + 1e-9)
    assert float(bounded[0]) == pytest.approx(true, abs=1e-9)


def test_of_equal_least_gaps_the_first_pair_is_given():
    xy = np.array([[9.0, 0.0], [0.0, 0.0], [3.0, 0.0], [6.0, 0.0]])
    for footprints in ((Footprint.of(circle(1.0)),), (Footprint.of(rectangle(1.0, 1.0)),)):
        least = least_gap(xy, np.zeros(4), np.zeros(4, dtype=np.int64), footprints)
        assert least == (2.0, 0, 3)


def test_below_two_seats_there_is_no_gap():
    for count in (0, 1):
        none = np.zeros(count, dtype=np.int64)
        assert least_gap(np.zeros((count, 2)), np.zeros(count), none, FOOTPRINTS) is None
        pairs, gaps = neighbour_gaps(np.zeros((count, 2)), np.zeros(count), none, FOOTPRINTS, 1.0)
        assert pairs.shape == (0, 2)
        assert gaps.shape == (0,)


def test_one_large_piece_among_many_small_ones():
    rng = np.random.default_rng(3)
    small = np.stack(np.meshgrid(np.arange(40.0), np.arange(40.0)), axis=-1).reshape(-1, 2)
    xy = np.concatenate([[[19.7, 20.2]], small + rng.uniform(-0.1, 0.1, small.shape)])
    footprints = (Footprint.of(circle(11.0)), Footprint.of(circle(0.6)))
    kind = np.minimum(np.arange(len(xy)), 1)
    pairs, gaps = neighbour_gaps(xy, np.zeros(len(xy)), kind, footprints, 0.3)
    a = Standing(xy, np.zeros(len(xy)), kind, footprints)
    expected, expected_gaps = brute(a, a, 0.3, same=True)
    assert np.array_equal(pairs, expected)
    assert gaps == pytest.approx(expected_gaps, abs=1e-12)


@given(millimetres, millimetres, angles)
@settings(max_examples=30, deadline=None)
def test_a_unit_is_as_near_as_its_nearest_part(x, y, angle):
    unit, oval = FOOTPRINTS[-2], Footprint.of(OUTLINES["oval"])
    gap = gap_of_two(np.array([[x, y], [0.0, 0.0]]), np.array([angle, 0.0]), (unit, oval))
    parts = shapely.union_all([polygon_of(part.in_place) for part in unit.parts])
    turned = shapely.affinity.rotate(parts, angle, origin=(0, 0))
    there = shapely.affinity.translate(turned, x, y)
    assert max(gap, 0.0) == pytest.approx(
        shapely.distance(there, polygon_of(OUTLINES["oval"])), abs=2.1e-5
    )


def test_a_bead_on_a_sequin_is_round():
    assert Footprint.of(circle(6.0), circle(2.0)).round_radius_mm == 3.0
    assert FOOTPRINTS[-1].round_radius_mm is None
    assert FOOTPRINTS[-1].reach_mm == pytest.approx(np.hypot(2.5, 1.0) + 1.0)
    assert FOOTPRINTS[-2].bounds_mm == pytest.approx((-4.75, -0.9, 4.75, 0.9))


@given(st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_the_least_gap_is_found_where_a_round_pair_is_nearest_among_shaped_ones(seed):
    """The circles' gap and the true gap of a round pair may differ in the last digit."""
    rng = np.random.default_rng(seed)
    footprints = (Footprint.of(circle(2.1)), Footprint.of(OUTLINES["navette"]))
    at = rng.uniform(0, 360, 3)
    xy = np.array([[10.0, 7.0], [10.0, 7.0], [60.0, 0.0]]) + 11.3 * np.stack(
        [np.cos(at), np.sin(at)], axis=1
    )
    xy[1] = xy[0] + rng.uniform(2.1, 2.2) * np.array([np.cos(at[0]), np.sin(at[0])])
    found = least_gap(xy, at * [0, 0, 1], np.array([0, 0, 1]), footprints)
    assert found is not None
    assert found[1:] == (0, 1)
    assert found[0] == pytest.approx(np.hypot(*(xy[1] - xy[0])) - 2.1, abs=1e-9)
