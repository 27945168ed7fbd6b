"""Settling: push crowded points apart until every gap holds and the gaps are alike.

Position-based repulsion: every pair nearer than its target is pushed apart by what it lacks, all
at once (Jacobi), with momentum that is dropped where it opposes the push, steps kept short, and
points that leave their ground put back on its edge. The targets stand a little above the gaps
asked, so that crowded and loose places share; the most even state that broke no gap is kept.

Lubachevsky & Stillinger 1990, "Geometric properties of random disk packings"; Müller et al. 2007,
"Position based dynamics"; Torquato & Jiao 2010, "Robust algorithm to generate a diverse class of
dense disordered and ordered sphere packings".
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints

_MOMENTUM: Final = 0.8
_LIST_LASTS: Final = 4
_LONGEST_STEP: Final = 0.15
_LOOK_FURTHER: Final = 0.15
_BETTER: Final = 1.0 - 1e-3
"""A state counts as better only where it is so by this much: else settling would never end."""


@dataclass(frozen=True, eq=False)
class Settled:
    """Where points came to rest.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The points.
    short_mm
        How far the worst pair stays below its distance; 0 where every pair holds.
    rounds
        Rounds taken.
    """

    xy: Floats
    short_mm: float
    rounds: int


def neighbours(xy: Floats, half_mm: Floats, extra: float) -> tuple[Ints, Ints]:
    """Return the pairs nearer than (1 + extra) times the sum of their halves.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points.
    half_mm : array of shape (n,)
        Half distance each asks for.
    extra
        How much further to look, as a share.
    """
    # By size class, so that one large piece among small ones does not pair everything.
    first: list[Ints] = []
    second: list[Ints] = []
    sizes = np.unique(half_mm)
    where = [np.flatnonzero(half_mm == size) for size in sizes]
    trees = [cKDTree(xy[at]) for at in where]
    for a in range(len(sizes)):
        for b in range(a, len(sizes)):
            reach = (sizes[a] + sizes[b]) * (1.0 + extra)
            if a == b:
                pairs = trees[a].query_pairs(reach, output_type="ndarray")
                first.append(where[a][pairs[:, 0]])
                second.append(where[a][pairs[:, 1]])
            else:
                near = trees[a].sparse_distance_matrix(trees[b], reach, output_type="coo_matrix")
                first.append(where[a][near.row])
                second.append(where[b][near.col])
    if not first:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    return np.concatenate(first), np.concatenate(second)


def shortfall(xy: Floats, half_mm: Floats) -> float:
    """Return how far the worst pair stays below the sum of its halves, 0 where none does."""
    i, j = neighbours(xy, half_mm, 0.0)
    if not len(i):
        return 0.0
    step = xy[i] - xy[j]
    lack = half_mm[i] + half_mm[j] - np.hypot(step[:, 0], step[:, 1])
    return max(0.0, float(lack.max()))


def settle(
    xy: Floats,
    half_mm: Floats,
    grounds: Sequence[BaseGeometry],
    ground: Ints,
    *,
    pinned: Bools | None = None,
    rounds: int = 400,
    patience: int = 60,
    evening: int = 40,
    reach: float = 0.01,
    easing: bool = False,
    progress: Callable[[float], None] | None = None,
) -> Settled:
    """Push points apart until each pair is at least the sum of its halves apart, and evenly so.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points.
    half_mm : array of shape (n,)
        Half of the distance each asks for between equals: its radius + gap / 2.
    grounds
        Regions of centres, one a size of piece (see ``insets``).
    ground : array of shape (n,)
        Index into ``grounds``: where each point may stand.
    pinned : bool array of shape (n,)
        Points that must not move.
    rounds
        Most rounds to take.
    patience
        Rounds without betterment after which to stop.
    evening
        Rounds to go on evening out once every pair holds.
    reach
        How far the targets stand above what is asked, as a share: 0.01 settles to the gaps and no
        further, more evens looser layouts out.
    easing
        Whether the targets come down to what is asked over the rounds: so a layout that holds is
        evened out by a long reach and still holds in the end.
    progress
        Told now and then which share of the most rounds is done.

    Returns
    -------
    Settled
        The most even state that broke no gap; where none held, the one nearest to it.
    """
    xy = np.array(xy, dtype=np.float64)
    free = np.ones(len(xy), dtype=np.bool_) if pinned is None else ~pinned
    if len(xy) < 2 or not free.any():
        return Settled(xy, shortfall(xy, half_mm), 0)
    for region in grounds:
        shapely.prepare(region)
    cores = _Cores.of(grounds, 2.0 * float(half_mm.max()))
    best, best_broken, best_lack = Settled(xy, np.inf, 0), np.inf, np.inf
    held = rounds
    speed = np.zeros_like(xy)
    limit = _LONGEST_STEP * 2.0 * half_mm
    for turn in range(rounds):
        fresh = turn % _LIST_LASTS == 0
        if fresh:
            if progress is not None:
                progress(turn / rounds)
            pairs = _Pairs.near(xy, half_mm, free, reach + _LOOK_FURTHER)
            outer = np.flatnonzero(free & cores.may_leave(xy, ground))
        step = xy[pairs.i] - xy[pairs.j]
        apart = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-12)
        short = np.maximum(pairs.need - apart, 0.0)
        lack = np.maximum(pairs.need * (1.0 + reach) - apart, 0.0)
        broken, total = float(short @ short), float(lack @ lack)
        better = (broken, total) < (best_broken * _BETTER, best_lack * _BETTER)
        # Only a list just made is sure to know every pair.
        if fresh and (better or broken == 0.0 < best_broken):
            worst = float(short.max(initial=0.0))
            best, best_broken, best_lack = Settled(xy, worst, turn), broken, total
            held = min(held, turn) if broken == 0.0 else rounds
        if (fresh and total == 0.0) or turn - best.rounds >= patience or turn - held >= evening:
            break
        if easing:
            eased = reach * (1.0 - turn / rounds) ** 2
            lack = np.maximum(pairs.need * (1.0 + eased) - apart, 0.0)
        pull = step * (lack / apart)[:, None]
        push = _gathered(pairs.i, pull * pairs.part_i, len(xy))
        push -= _gathered(pairs.j, pull * pairs.part_j, len(xy))
        speed[(speed * push).sum(axis=1) < 0.0] = 0.0
        speed = _MOMENTUM * speed + push
        length = np.hypot(speed[:, 0], speed[:, 1])
        speed *= np.minimum(1.0, limit / np.maximum(length, 1e-300))[:, None]
        moved = xy + speed
        moved[outer] = put_back(moved[outer], grounds, ground[outer])
        speed = moved - xy
        xy = moved
    return best


@dataclass(frozen=True, eq=False)
class _Cores:
    """The inner parts of the grounds, from which no point gets out before the next look."""

    cores: tuple[BaseGeometry, ...]

    @classmethod
    def of(cls, grounds: Sequence[BaseGeometry], widest_mm: float) -> _Cores:
        # Steps are at most _LONGEST_STEP of a distance; a little more for the buffer's chords.
        depth = 1.05 * _LONGEST_STEP * _LIST_LASTS * widest_mm
        cores = tuple(region.buffer(-depth) for region in grounds)
        for core in cores:
            shapely.prepare(core)
        return cls(cores)

    def may_leave(self, xy: Floats, ground: Ints) -> Bools:
        out = np.ones(len(xy), dtype=np.bool_)
        for number, core in enumerate(self.cores):
            mine = np.flatnonzero(ground == number)
            out[mine] = ~shapely.contains_xy(core, xy[mine, 0], xy[mine, 1])
        return out


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Neighbours, what distance each pair needs, and what part of a push each of the two takes."""

    i: Ints
    j: Ints
    need: Floats
    part_i: Floats
    part_j: Floats

    @classmethod
    def near(cls, xy: Floats, half_mm: Floats, free: Bools, extra: float) -> _Pairs:
        i, j = neighbours(xy, half_mm, extra)
        able = free[i] | free[j]
        i, j = i[able], j[able]
        # A pinned partner leaves the whole push to the other.
        part_i = np.where(free[i], np.where(free[j], 0.5, 1.0), 0.0)[:, None]
        return cls(i, j, half_mm[i] + half_mm[j], part_i, 1.0 - part_i)


def _gathered(index: Ints, push: Floats, n: int) -> Floats:
    """Return the sum of the pushes on each point."""
    return np.stack([np.bincount(index, push[:, axis], n) for axis in (0, 1)], axis=1)


def put_back(xy: Floats, grounds: Sequence[BaseGeometry], ground: Ints) -> Floats:
    """Return the points, those outside their ground moved to its nearest point.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points.
    grounds
        Regions, one a size.
    ground : array of shape (n,)
        Index into ``grounds``.
    """
    out = xy.copy()
    for number, region in enumerate(grounds):
        mine = np.flatnonzero(ground == number)
        strays = mine[~shapely.contains_xy(region, xy[mine, 0], xy[mine, 1])]
        if len(strays):
            lines = shapely.shortest_line(region, shapely.points(xy[strays]))
            out[strays] = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
    return out
