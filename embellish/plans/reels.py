"""Lengths cut from as few reels as can be, proven so where it can be.

The one-dimensional cutting stock problem, in whole links. What is cut longest first, each reel
filled before the next is begun (first fit decreasing), is often met by a lower bound at once:
L2 of Martello & Toth, "Knapsack Problems", 1990, chapter 8. Else an integer programme chooses among
ways to cut a reel (Gilmore & Gomory, 1961 and 1963): all ways where they are few, else those that
the relaxation asks for, whose bound is then the proof. All of these from memory.

Solved by SciPy's HiGHS: no time limit, a limit of nodes, and what is not proven is told. First the
number of reels, then, of as many, those that hold less: both at once would be proven for minutes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby, islice
from math import ceil
from typing import Any, Final, TypeAlias

import numpy as np
import scipy

from embellish.arrays import Floats

NODES: Final = 20_000
_MOST_WAYS: Final = 2_000
"""Up to so many ways to cut one reel all are weighed."""
_MOST_ROUNDS: Final = 200
_SURE: Final = 1e-6

Way: TypeAlias = tuple[int, ...]
"""How many of each length one reel is cut into."""


@dataclass(frozen=True, slots=True)
class CutReel:
    """So many reels cut alike.

    Parameters
    ----------
    times
        Reels.
    holds
        Links on each.
    lengths
        Links of a length and how many of it, in the order of cutting: the longest first.
    """

    times: int
    holds: int
    lengths: tuple[tuple[int, int], ...]

    @property
    def left(self) -> int:
        """Links left on each."""
        return self.holds - sum(length * number for length, number in self.lengths)


@dataclass(frozen=True, slots=True)
class ReelPlan:
    """From which reel which lengths are cut.

    Parameters
    ----------
    reels
        The largest first; none where the reels are not enough.
    enough
        Whether all lengths can be cut.
    proven
        Whether fewer reels do not do for sure; where they are not enough, whether that is sure.
    """

    reels: tuple[CutReel, ...]
    enough: bool = True
    proven: bool = True

    @property
    def used(self) -> int:
        """Reels that are cut."""
        return sum(each.times for each in self.reels)


@dataclass(frozen=True)
class _Task:
    """What is wanted and what is there, both with the longest first and none of number 0."""

    lengths: tuple[int, ...]
    numbers: tuple[int, ...]
    sizes: tuple[int, ...]
    stock: tuple[int, ...]

    @classmethod
    def of(cls, lengths: Mapping[int, int], reels: Mapping[int, int]) -> _Task:
        wanted = sorted(((k, n) for k, n in lengths.items() if n), reverse=True)
        there = sorted(((k, n) for k, n in reels.items() if n), reverse=True)
        return cls(
            tuple(k for k, _ in wanted),
            tuple(n for _, n in wanted),
            tuple(k for k, _ in there),
            tuple(n for _, n in there),
        )


def plan_reels(lengths: Mapping[int, int], reels: Mapping[int, int]) -> ReelPlan:
    """Return how to cut lengths from as few reels as can be, the smaller ones of as many.

    Parameters
    ----------
    lengths
        How many of each length are wanted, in links with what is lost at the cut.
    reels
        How many reels there are of so many links.
    """
    task = _Task.of(lengths, reels)
    if not task.lengths:
        return ReelPlan(())
    least = _least_reels(task)
    if least is None:
        return ReelPlan((), enough=False)
    greedy = _longest_first(task)
    if greedy is not None and len(greedy) <= least:
        return _plan(task, _smallest_that_hold(task, greedy), proven=True)
    return _by_programme(task, greedy, least)


def _longest_first(task: _Task) -> list[tuple[int, Way]] | None:
    """Return reels filled one after the other, (index of size, way) each; None if not enough."""
    left = list(task.numbers)
    found: list[tuple[int, Way]] = []
    for index, (size, number) in enumerate(zip(task.sizes, task.stock, strict=True)):
        for _ in range(number):
            if not any(left):
                return found
            way = _filled(task, size, left)
            if not any(way):
                break
            left = [n - k for n, k in zip(left, way, strict=True)]
            found.append((index, way))
    return None if any(left) else found


def _filled(task: _Task, size: int, left: Sequence[int]) -> Way:
    way = []
    for length, number in zip(task.lengths, left, strict=True):
        way.append(min(number, size // length))
        size -= way[-1] * length
    return tuple(way)


def _smallest_that_hold(task: _Task, cut: Sequence[tuple[int, Way]]) -> list[tuple[int, Way]]:
    """Move each way to the smallest reel that holds it, those that take most first."""
    free = list(task.stock)
    moved = []
    for way in sorted((way for _, way in cut), key=lambda way: (-_taken(task, way), way)):
        fits = [k for k, size in enumerate(task.sizes) if free[k] and size >= _taken(task, way)]
        if not fits:
            return list(cut)
        free[fits[-1]] -= 1
        moved.append((fits[-1], way))
    return moved


def _taken(task: _Task, way: Way) -> int:
    return sum(length * number for length, number in zip(task.lengths, way, strict=True))


def _least_reels(task: _Task) -> int | None:
    """Return a number below which no plan can be; None where there can be none at all."""
    every = np.repeat(task.sizes, task.stock)
    if not len(every) or task.lengths[0] > every[0]:
        return None
    whole = sum(length * number for length, number in zip(task.lengths, task.numbers, strict=True))
    enough = [k for k, held in enumerate(accumulate(every.tolist()), 1) if held >= whole]
    if not enough:
        return None
    least = max(enough[0], _l2(task, int(every[0])))
    return least if least <= len(every) else None


def _l2(task: _Task, size: int) -> int:
    """Return L2: lengths above size - k each take a reel, which those of k and more must fit."""
    length, number = np.array(task.lengths), np.array(task.numbers)
    best = 0
    for k in [0, *(each for each in task.lengths if 2 * each <= size)]:
        alone = length > size - k
        large = ~alone & (2 * length > size)
        small = (2 * length <= size) & (length >= k)
        n_large = int(number[large].sum())
        room = n_large * size - int((length * number)[large].sum())
        over = max(0, int((length * number)[small].sum()) - room)
        best = max(best, int(number[alone].sum()) + n_large + -(-over // size))
    return best


def _by_programme(task: _Task, greedy: list[tuple[int, Way]] | None, least: int) -> ReelPlan:
    ways = {k: list(_ways(task, size, _MOST_WAYS + 1)) for k, size in enumerate(task.sizes)}
    whole = all(len(each) <= _MOST_WAYS for each in ways.values())
    if not whole:
        columns, bound = _asked_for(task, greedy or [])
        least = max(least, bound)
        if greedy is not None and len(greedy) <= least:
            return _plan(task, _smallest_that_hold(task, greedy), proven=True)
    else:
        columns = [(k, way) for k, each in ways.items() for way in each]
    result = _cut(task, columns, np.ones(len(columns)), NODES)
    if result.x is None:
        if greedy is None:
            return ReelPlan((), enough=False, proven=whole and result.status == 2)
        return _plan(task, _smallest_that_hold(task, greedy), proven=False)
    cut = _columns_of(result.x, columns)
    proven = (whole and result.status == 0) or len(cut) <= least
    if len(task.sizes) > 1:
        # Of as many reels those that hold less; what a first look finds is enough.
        holds = np.array([task.sizes[k] for k, _ in columns], dtype=np.float64)
        smaller = _cut(task, columns, holds, 1, most=len(cut))
        if smaller.x is not None:
            cut = _columns_of(smaller.x, columns)
    if greedy is not None and len(greedy) < len(cut):
        cut, proven = greedy, len(greedy) <= least
    cut = _smallest_that_hold(task, _without_excess(task, cut))
    return _plan(task, cut, proven=proven)


def _cut(
    task: _Task,
    columns: Sequence[tuple[int, Way]],
    costs: Floats,
    nodes: int,
    most: int | None = None,
) -> Any:
    """Return SciPy's choice of ways that cost the least, of so many reels at most."""
    constraints = [
        scipy.optimize.LinearConstraint(_covers(columns), np.array(task.numbers), np.inf),
        scipy.optimize.LinearConstraint(_uses(task, columns), -np.inf, np.array(task.stock)),
    ]
    if most is not None:
        constraints.append(
            scipy.optimize.LinearConstraint(np.ones((1, len(columns))), -np.inf, most)
        )
    return scipy.optimize.milp(
        costs,
        integrality=np.ones(len(columns), dtype=np.int64),
        bounds=scipy.optimize.Bounds(0.0, np.inf),
        constraints=constraints,
        options={"node_limit": nodes, "mip_rel_gap": 0.0},
    )


def _columns_of(times: Floats, columns: Sequence[tuple[int, Way]]) -> list[tuple[int, Way]]:
    """Return each way as often as it was chosen."""
    often = np.rint(times).astype(int).tolist()
    return [way for way, n in zip(columns, often, strict=True) for _ in range(n)]


def _ways(task: _Task, size: int, most: int) -> Iterator[Way]:
    """Yield the ways to cut a reel to which nothing can be added, at most so many."""
    shortest = task.lengths[-1]

    def deeper(index: int, rest: int, way: Way) -> Iterator[Way]:
        if index == len(task.lengths):
            if rest < shortest or not any(
                number < wanted and length <= rest
                for length, number, wanted in zip(task.lengths, way, task.numbers, strict=True)
            ):
                yield way
            return
        length = task.lengths[index]
        for number in range(min(task.numbers[index], rest // length), -1, -1):
            yield from deeper(index + 1, rest - number * length, (*way, number))

    yield from islice(deeper(0, size, ()), most)


def _asked_for(task: _Task, greedy: Sequence[tuple[int, Way]]) -> tuple[list[tuple[int, Way]], int]:
    """Return the ways that the relaxation asks for, and the number of reels it proves.

    A length that the ways so far leave out costs far more than a reel, so that it is asked for.
    """
    columns = list(dict.fromkeys(greedy))
    for k, size in enumerate(task.sizes):
        for index, length in enumerate(task.lengths):
            alone = [0] * len(task.lengths)
            alone[index] = min(task.numbers[index], size // length)
            if alone[index]:
                columns.append((k, tuple(alone)))
    columns = list(dict.fromkeys(columns))
    dear = 10.0 * sum(task.stock)
    bound = 0
    for _ in range(_MOST_ROUNDS):
        n, m = len(columns), len(task.lengths)
        matrix = np.block(
            [
                [-_covers(columns), -np.eye(m)],
                [_uses(task, columns), np.zeros((len(task.sizes), m))],
            ]
        )
        result = scipy.optimize.linprog(
            np.concatenate([np.ones(n), np.full(m, dear)]),
            A_ub=matrix,
            b_ub=np.concatenate([-np.array(task.numbers), task.stock]).astype(np.float64),
            method="highs",
        )
        assert result.x is not None  # noqa: S101 - the dear unknowns alone are a solution
        assert result.fun is not None  # noqa: S101
        prices: Floats = -np.asarray(result.ineqlin.marginals)
        worth, kept = prices[:m], prices[m:]
        more = []
        for k, size in enumerate(task.sizes):
            way, value = _worthiest(task, size, worth)
            # What a way saves beyond the reel it takes and what that reel is worth elsewhere.
            if value > 1.0 + kept[k] + _SURE and (k, way) not in columns:
                more.append((k, way))
        if not more:
            covered = float(result.x[n:].sum()) <= _SURE
            bound = ceil(float(result.fun) - _SURE) if covered else 0
            break
        columns.extend(more)
    return columns, bound


def _worthiest(task: _Task, size: int, worth: Floats) -> tuple[Way, float]:
    """Return the way to cut a reel that is worth most (a bounded knapsack, in halves)."""
    best = np.zeros(size + 1)
    parts: list[tuple[int, int, Floats]] = []
    for index, (length, wanted) in enumerate(zip(task.lengths, task.numbers, strict=True)):
        left, step = min(wanted, size // length), 1
        while left:
            times = min(step, left)
            parts.append((index, times, best))
            taken = best.copy()
            by = times * length
            taken[by:] = np.maximum(best[by:], best[: size + 1 - by] + times * worth[index])
            best, left, step = taken, left - times, 2 * step
    way, at, value = [0] * len(task.lengths), size, best
    for index, times, before in reversed(parts):
        if value[at] > before[at]:
            way[index] += times
            at -= times * task.lengths[index]
        value = before
    return tuple(way), float(best[size])


def _covers(columns: Sequence[tuple[int, Way]]) -> Floats:
    return np.array([way for _, way in columns], dtype=np.float64).T


def _uses(task: _Task, columns: Sequence[tuple[int, Way]]) -> Floats:
    sizes = np.array([k for k, _ in columns])
    uses: Floats = (sizes == np.arange(len(task.sizes))[:, None]).astype(np.float64)
    return uses


def _without_excess(task: _Task, cut: Sequence[tuple[int, Way]]) -> list[tuple[int, Way]]:
    """Return ways that cut no more of any length than is wanted."""
    left = list(task.numbers)
    exact = []
    for k, way in cut:
        taken = tuple(min(number, n) for number, n in zip(way, left, strict=True))
        left = [n - number for n, number in zip(left, taken, strict=True)]
        exact.append((k, taken))
    return [(k, way) for k, way in exact if any(way)]


def _plan(task: _Task, cut: Sequence[tuple[int, Way]], *, proven: bool) -> ReelPlan:
    def rank(each: tuple[int, Way]) -> tuple[int, Way]:
        return each[0], tuple(-number for number in each[1])

    return ReelPlan(
        tuple(
            CutReel(
                len(list(alike)),
                task.sizes[k],
                tuple((n, times) for n, times in zip(task.lengths, way, strict=True) if times),
            )
            for (k, way), alike in groupby(sorted(cut, key=rank))
        ),
        proven=proven,
    )
