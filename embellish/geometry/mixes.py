"""Mixes: so many points of each size, evenly strewn, then settled until every gap holds.

Each size is strewn as far apart as its number allows, the largest first, so that large ones are
spread evenly among the small; all keep a part of their distance only, and settling does the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.poisson import Obstacles, maximal_points
from embellish.geometry.settling import neighbours, settle
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import first_come

SATURATION: Final = 0.547
"""Share of the plane that random disks cover when no more fit (Feder 1980: 0.5473)."""
_STREWN: Final = 0.5
"""Share of the room that strewn points take; settling goes from there to what is asked."""
_TRIES: Final = 8
_FEWER: Final = 0.01
_EVENING: Final = 100


@dataclass(frozen=True, eq=False)
class Mixed:
    """Points of several sizes.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The points.
    size : array of shape (n,)
        Index of each point's size.
    """

    xy: Floats
    size: Ints

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, keep: Bools | Ints) -> Mixed:
        """Return some of the points."""
        return Mixed(self.xy[keep], self.size[keep])


def counts_of(shares: Sequence[float] | Floats, n: int) -> Ints:
    """Return how many of each share there are among n, exact to one, n in all.

    What is left over goes to the largest remainders, of equal ones to the first.
    """
    exact = np.asarray(shares, dtype=np.float64) * n
    count = np.floor(exact + 1e-9).astype(np.int64)
    order = np.argsort(-np.round(exact - count, 9), kind="stable")
    count[order[: n - int(count.sum())]] += 1
    return count


def number_for(
    room_mm2: float, half_mm: Floats, shares: Sequence[float] | Floats, density: float
) -> int:
    """Return how many points in given shares cover a share of a room, gaps shared out.

    Parameters
    ----------
    room_mm2
        Area that pieces with half their gap may cover.
    half_mm : array of shape (k,)
        Radius + half the gap of each size.
    shares
        Share of each size by number.
    density
        Share of the room to cover.
    """
    each = np.pi * float(np.dot(shares, np.asarray(half_mm) ** 2))
    return int(density * room_mm2 / each)


def mixed_points(
    grounds: Sequence[BaseGeometry],
    half_mm: Floats,
    counts: Ints,
    stream: Stream,
    evenness: float = 0.01,
    progress: Callable[[float], None] | None = None,
) -> Mixed:
    """Return exact numbers of points of several sizes with every gap whole.

    Parameters
    ----------
    grounds
        Region of centres of each size.
    half_mm : array of shape (k,)
        Half the distance each size keeps.
    counts : array of shape (k,)
        How many of each are wished. Where so many cannot be settled there are fewer, in the same
        proportion, exact to one piece.
    stream
        All randomness comes from here.
    evenness
        How far above their gaps points are settled, as a share (see ``settle``).
    progress
        Told how far the work has come.

    Returns
    -------
    Mixed
    """
    stand = _in_proportion(_strewn(grounds, half_mm, counts, stream), half_mm, counts)
    return settled_mix(stand, grounds, half_mm, counts, evenness, progress)


def settled_mix(
    stand: Mixed,
    grounds: Sequence[BaseGeometry],
    half_mm: Floats,
    counts: Ints,
    evenness: float = 0.01,
    progress: Callable[[float], None] | None = None,
) -> Mixed:
    """Return points of several sizes settled until every gap is whole, as many as can be.

    Parameters
    ----------
    stand
        Where the points begin.
    grounds, half_mm, counts, evenness, progress
        As for ``mixed_points``.
    """
    for turn in range(_TRIES):
        settled = settle(
            stand.xy,
            half_mm[stand.size],
            grounds,
            stand.size,
            reach=evenness,
            evening=_EVENING,
            progress=progress,
        )
        stand = Mixed(settled.xy, stand.size)
        if settled.short_mm == 0.0:
            return stand
        # A hundredth fewer, then two, then three: most often the first is enough. They go where
        # gaps stay short: fewer elsewhere would not help what is shut in.
        fewer = counts_of(counts / counts.sum(), int(len(stand) * (1.0 - _FEWER * (turn + 1))))
        stand = _in_proportion(_thinned(stand, half_mm, fewer, _shortage), half_mm, counts)
    whole = first_come(stand.xy, half_mm[stand.size], np.zeros(len(stand)))
    return _in_proportion(stand.taken(whole), half_mm, counts)


def _in_proportion(stand: Mixed, half_mm: Floats, counts: Ints) -> Mixed:
    """Take points out until their numbers are in proportion again, exact to one."""
    have = np.bincount(stand.size, minlength=len(counts))
    if np.array_equal(have, counts):
        return stand
    some = counts > 0
    most = int((have[some] * counts.sum() / counts[some]).min())
    wanted = counts_of(counts / counts.sum(), most)
    while np.any(wanted > have):
        most -= 1
        wanted = counts_of(counts / counts.sum(), most)
    return _thinned(stand, half_mm, wanted)


def _strewn(
    grounds: Sequence[BaseGeometry], half_mm: Floats, counts: Ints, stream: Stream
) -> Mixed:
    """Return so many points of each size, each size as far apart as may be, the largest first."""
    area = max(float(ground.area) for ground in grounds)
    covered = np.pi * float(np.dot(counts, half_mm**2))
    shrunk = min(1.0, (_STREWN * area / max(covered, 1e-300)) ** 0.5)
    stand = Mixed(np.zeros((0, 2)), np.zeros(0, dtype=np.int64))
    for size in np.argsort(-half_mm, kind="stable").tolist():
        if counts[size] == 0:
            continue
        keep = shrunk * (half_mm[stand.size] + half_mm[size])
        own = stream.child(f"size {size}")
        xy = _so_many(grounds[size], Obstacles(stand.xy, keep), int(counts[size]), own)
        more = np.full(len(xy), size, dtype=np.int64)
        stand = Mixed(np.concatenate([stand.xy, xy]), np.concatenate([stand.size, more]))
    return stand


def _so_many(ground: BaseGeometry, obstacles: Obstacles, n: int, stream: Stream) -> Floats:
    """Return n points as far apart as random ones can be."""
    taken = SATURATION * np.pi * float(np.dot(obstacles.reach_mm, obstacles.reach_mm)) / 4.0
    free = max(float(ground.area) - taken, 0.1 * float(ground.area))
    apart = 2.0 * (SATURATION * free / (np.pi * n)) ** 0.5
    for turn in range(_TRIES):
        xy = maximal_points(ground, apart, stream.child(f"try {turn}"), obstacles)
        if n <= len(xy) <= 1.03 * n + 1:
            break
        apart *= min(max((max(len(xy), 1) / n) ** 0.5 * 0.994, 0.6), 1.5)
    keep = Mixed(xy, np.zeros(len(xy), dtype=np.int64))
    return _thinned(keep, np.array([apart]), np.array([min(n, len(xy))])).xy


def _shortage(xy: Floats, half_mm: Floats) -> Floats:
    """Return how much each point lacks of its distances; between equals, how crowded it is."""
    i, j = neighbours(xy, half_mm, 0.0)
    step = xy[i] - xy[j]
    lack = np.maximum(1.0 - np.hypot(step[:, 0], step[:, 1]) / (half_mm[i] + half_mm[j]), 0.0)
    worst = np.zeros(len(xy))
    np.maximum.at(worst, i, lack)
    np.maximum.at(worst, j, lack)
    return np.round(worst, 3) + 1e-6 * _crowding(xy, half_mm)


def _crowding(xy: Floats, half_mm: Floats) -> Floats:
    """Return how much each point's neighbours press on it, in shares of their distances."""
    i, j = neighbours(xy, half_mm, 0.5)
    step = xy[i] - xy[j]
    press = np.maximum(1.5 - np.hypot(step[:, 0], step[:, 1]) / (half_mm[i] + half_mm[j]), 0.0) ** 2
    return np.round(np.bincount(i, press, len(xy)) + np.bincount(j, press, len(xy)), 9)


def _thinned(
    stand: Mixed,
    half_mm: Floats,
    wanted: Ints,
    load_of: Callable[[Floats, Floats], Floats] = _crowding,
) -> Mixed:
    """Take the most crowded points of each size out until so many are left of each."""
    while True:
        count = np.bincount(stand.size, minlength=len(wanted))
        over = count - np.minimum(wanted, count)
        if not over.any():
            return stand
        load = load_of(stand.xy, half_mm[stand.size])
        out = [
            _apart_worst(stand.xy, load, np.flatnonzero(stand.size == size), int(over[size]))
            for size in np.flatnonzero(over).tolist()
        ]
        stand = stand.taken(np.setdiff1d(np.arange(len(stand)), np.concatenate(out)))


def _apart_worst(xy: Floats, load: Floats, mine: Ints, most: int) -> Ints:
    """Return up to ``most`` of the most crowded of some points, never two that are neighbours."""
    order = mine[np.argsort(-load[mine], kind="stable")][: 3 * most + 10]
    near = np.sqrt(np.ptp(xy[:, 0]) * np.ptp(xy[:, 1]) / len(xy)) * 2.0
    out: list[int] = []
    for at in order.tolist():
        if len(out) == most:
            break
        others = xy[out]
        away = np.hypot(others[:, 0] - xy[at, 0], others[:, 1] - xy[at, 1]) if out else [np.inf]
        if min(away) >= near:
            out.append(at)
    return np.array(out, dtype=np.int64)
