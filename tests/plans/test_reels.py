"""Reels: every length cut once, no reel overfilled, no fewer reels than trying everything finds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.plans import reels as module
from embellish.plans.reels import ReelPlan, plan_reels


def check(lengths: Mapping[int, int], reels: Mapping[int, int], plan: ReelPlan) -> None:
    cut: Counter[int] = Counter()
    used: Counter[int] = Counter()
    for reel in plan.reels:
        used[reel.holds] += reel.times
        assert reel.left >= 0
        assert [k for k, _ in reel.lengths] == sorted((k for k, _ in reel.lengths), reverse=True)
        for length, times in reel.lengths:
            cut[length] += times * reel.times
    assert cut == +Counter(lengths)
    assert all(used[size] <= reels[size] for size in used)


def fewest(lengths: tuple[int, ...], reels: tuple[int, ...]) -> int | None:
    """Every length tried on every reel."""
    best: list[int] = []

    def put(index: int, left: tuple[int, ...]) -> None:
        if index == len(lengths):
            best.append(sum(a != b for a, b in zip(left, reels, strict=True)))
            return
        for k in range(len(left)):
            # Of reels alike, one that is begun and one that is not are two.
            alike = (left[k], reels[k]) in zip(left[:k], reels[:k], strict=True)
            if left[k] >= lengths[index] and not alike:
                rest = left[k] - lengths[index]
                put(index + 1, (*left[:k], rest, *left[k + 1 :]))

    put(0, reels)
    return min(best, default=None)


SMALL = st.lists(st.integers(1, 9), max_size=6), st.lists(st.integers(5, 14), max_size=4)


@settings(max_examples=150, deadline=None)
@given(*SMALL)
def test_no_fewer_reels_are_enough(lengths, reels):
    wanted, there = Counter(lengths), Counter(reels)
    plan = plan_reels(wanted, there)
    best = fewest(tuple(sorted(lengths, reverse=True)), tuple(sorted(reels)))
    assert plan.proven
    assert plan.enough == (best is not None)
    if best is not None:
        check(wanted, there, plan)
        assert plan.used == best


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.integers(5, 120), st.integers(1, 30), min_size=1, max_size=14),
    st.dictionaries(st.integers(120, 300), st.integers(1, 400), min_size=1, max_size=3),
)
def test_larger_plans_cut_every_length(lengths, reels):
    plan = plan_reels(lengths, reels)
    if plan.enough:
        check(lengths, reels, plan)


def test_where_the_longest_first_does_not_do_another_cutting_is_found():
    # Longest first: 4 + 4, 3 + 3 + 3, and a 3 too many; 4 + 3 + 3 twice is all of both.
    lengths, reels = {4: 2, 3: 4}, {10: 2}
    plan = plan_reels(lengths, reels)
    check(lengths, reels, plan)
    assert (plan.enough, plan.proven, plan.used) == (True, True, 2)


def test_of_as_many_reels_the_smaller_are_cut():
    plan = plan_reels({8: 1}, {10: 1, 100: 1})
    assert [reel.holds for reel in plan.reels] == [10]


def test_ways_asked_for_prove_as_much_as_all_ways(monkeypatch):
    lengths = {9: 7, 8: 5, 7: 9, 5: 11, 4: 3, 3: 8}
    whole = plan_reels(lengths, {20: 30})
    monkeypatch.setattr(module, "_MOST_WAYS", 3)
    asked = plan_reels(lengths, {20: 30})
    check(lengths, {20: 30}, asked)
    assert (asked.used, asked.proven) == (whole.used, whole.proven) == (whole.used, True)
