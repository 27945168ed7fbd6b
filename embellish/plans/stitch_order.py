"""In which order marks are sewn, and which neighbours are joined without cutting the thread.

Two neighbours are joined where the straight travel from one to the next shows on the cloth in no
stretch longer than the maker allows: the rest of it lies under pieces. A trim costs as much as
some fifty stitches, so the order is sought that costs least time, not least travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.tours import NEIGHBOURS, open_path
from embellish.plans.stitch_covers import Covers
from embellish.plans.stitch_settings import StitchSettings

_LONG_MM: Final = 10.0
"""A mark whose ends lie farther apart is entered at either end, not at its middle."""
_JUMP_MM: Final = 12.1


class Sewn(NamedTuple):
    """A mark in a chain."""

    mark: int
    back: bool
    """Sewn from its end."""
    around: bool
    """Reached by way of the last mark's middle and its own, which hides more of the travel."""


def sewing_order(
    ends: Floats,
    middles: Floats,
    short: Bools,
    covers: Covers,
    start: Floats,
    settings: StitchSettings,
) -> list[list[Sewn]]:
    """Return chains of marks, each mark once.

    Parameters
    ----------
    ends : array of shape (n, 2, 2)
        First and last point of each mark, mm.
    middles : array of shape (n, 2)
        Middle of each mark, mm.
    short : array of shape (n,)
        Which of them may be joined to a neighbour: marks under a piece, not guides and crosses.
    covers
        What hides the travel.
    start : array of shape (2,)
        Where the machine stands.
    """
    span = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    if len(ends) > 1 and span.max() > _LONG_MM:
        order, back = _by_ends(ends, start)
    else:
        order = _by_middles(middles, short, covers, start, settings)
        back = _turns(ends[order], middles[order], short[order], covers, start, settings)
    turned = np.where(back[:, None, None], ends[order][:, ::-1], ends[order])
    pair = short[order[:-1]] & short[order[1:]]
    direct = _joined(covers, pair, turned[:-1, 1], turned[1:, 0], settings)
    joined = _joined(covers, pair, middles[order[:-1]], middles[order[1:]], settings)
    chains: list[list[Sewn]] = []
    for index, mark in enumerate(order.tolist()):
        if index and (direct[index - 1] or joined[index - 1]):
            around = not direct[index - 1]
            chains[-1].append(Sewn(mark, bool(back[index]), bool(around)))
        else:
            chains.append([Sewn(mark, bool(back[index]), around=False)])
    return chains


def _joined(
    covers: Covers, pair: Bools, start: Floats, end: Floats, settings: StitchSettings
) -> Bools:
    """Return which travels are sewn: of the pairs that may be joined, those that hardly show."""
    joined = pair.copy()
    if pair.any():
        # Rounded, so that no join hangs on the last bits of a sine.
        shown = np.round(covers.shown_mm(start[pair], end[pair]), 4)
        joined[pair] = shown <= settings.join_visible_mm
    return joined


def cut_mm(settings: StitchSettings) -> float:
    """Return how many mm of running stitches take as long as cutting and starting again."""
    cut_s = settings.trim_s + 2 * settings.lock_stitches * 60.0 / settings.speed_per_min
    return cut_s * settings.speed_per_min / 60.0 * settings.stitch_mm


def _by_middles(
    middles: Floats, short: Bools, covers: Covers, start: Floats, settings: StitchSettings
) -> Ints:
    """Return the order of marks taken as points, fewest cuts first."""
    count = len(middles)
    if count < 3:
        return np.arange(count)
    near = min(NEIGHBOURS, count - 1)
    _, to = cKDTree(middles).query(middles, k=near + 1)
    i = np.repeat(np.arange(count), near + 1)
    j = to.ravel().astype(np.int64)
    one, two = np.minimum(i, j), np.maximum(i, j)
    keys = np.unique((one * count + two)[one != two])
    one, two = keys // count, keys % count
    pair = short[one] & short[two]
    joined = keys[_joined(covers, pair, middles[one], middles[two], settings)]
    cut = cut_mm(settings)

    def extra(a: Ints, b: Ints) -> Floats:
        key = np.minimum(a, b) * count + np.maximum(a, b)
        if not len(joined):
            return np.full(key.shape, cut)
        at = np.minimum(np.searchsorted(joined, key), len(joined) - 1)
        return np.where(joined[at] == key, 0.0, cut)

    return open_path(middles, start, extra=extra)


def _turns(
    ends: Floats,
    middles: Floats,
    short: Bools,
    covers: Covers,
    start: Floats,
    settings: StitchSettings,
) -> Bools:
    """Return which marks of an order are sewn from their end, for the cheapest travel."""
    count = len(ends)
    cut = cut_mm(settings)
    pair = short[:-1] & short[1:]
    joined = _joined(covers, pair, middles[:-1], middles[1:], settings)
    between = np.hypot(*np.diff(middles, axis=0).T)
    step = np.zeros((count - 1, 2, 2))
    for leave in (0, 1):
        for enter in (0, 1):
            # Sewn forward (0) a mark is left at its last point and entered at its first.
            a, b = ends[:-1, 1 - leave], ends[1:, enter]
            direct = _joined(covers, pair, a, b, settings)
            way = np.hypot(*(b - a).T)
            around = between + np.hypot(*(a - middles[:-1]).T) + np.hypot(*(b - middles[1:]).T)
            jumped = cut + way * settings.stitch_mm / _JUMP_MM
            step[:, leave, enter] = np.where(direct, way, np.where(joined, around, jumped))
    best = np.hypot(*(ends[0] - start).T)
    came = np.zeros((count, 2), dtype=np.int64)
    for index, costs in enumerate(step):
        total = best[:, None] + costs
        came[index + 1] = np.argmin(np.round(total, 6), axis=0)
        best = total.min(axis=0)
    back = np.zeros(count, dtype=np.bool_)
    state = int(np.argmin(np.round(best, 6)))
    for index in range(count - 1, -1, -1):
        back[index] = bool(state)
        state = int(came[index, state])
    return back


def _by_ends(ends: Floats, start: Floats) -> tuple[Ints, Bools]:
    """Return long marks in the order met by going to the nearest end each time."""
    at = start
    left = np.ones(len(ends), dtype=np.bool_)
    order, back = [], []
    for _ in range(len(ends)):
        away = np.where(left[:, None], np.hypot(*np.moveaxis(ends - at, 2, 0)), np.inf)
        mark, end = divmod(int(np.argmin(np.round(away, 6))), 2)
        order.append(mark)
        back.append(end == 1)
        left[mark] = False
        at = ends[mark, 1 - end]
    return np.array(order, dtype=np.int64), np.array(back)


def table_order(count: int) -> list[list[Sewn]]:
    """Return every mark alone, in table order: what sewing costs without a plan."""
    return [[Sewn(index, back=False, around=False)] for index in range(count)]


def ends_of(paths: Sequence[Floats]) -> Floats:
    """Return the first and last point of each path, shape (n, 2, 2)."""
    return np.array([(path[0], path[-1]) for path in paths], dtype=np.float64).reshape(-1, 2, 2)
