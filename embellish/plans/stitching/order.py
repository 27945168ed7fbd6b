"""In which order marks are sewn, and which neighbours are joined without cutting the thread.

Two neighbours are joined where the travel from one to the next shows on the cloth in no stretch
longer than the maker allows: the rest of it lies under pieces. It goes straight, or by way of the
middles of both, or from piece to piece. A trim costs as much as
some fifty stitches, so the order is sought that costs least time, not least travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.tours import NEIGHBOURS, open_path
from embellish.plans.stitching.covers import Covers
from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.travel import HiddenWays

_LONG_MM: Final = 10.0
"""A mark whose ends lie farther apart is entered at either end, not at its middle."""
_JUMP_MM: Final = 12.1
_FEW: Final = 400
"""Up to so many marks every way under pieces is weighed, else those to near neighbours."""


class Sewn(NamedTuple):
    """A mark in a chain."""

    mark: int
    back: bool
    """Sewn from its end."""
    by: Floats | None = None
    """Places that the thread passes on its way from the last mark; None for straight."""


class Ground:
    """Where thread may go unseen, for the marks of all blocks."""

    def __init__(self, covers: Covers, settings: StitchSettings) -> None:
        self.covers = covers
        self.settings = settings
        self.cut_mm = cut_mm(settings)

    @cached_property
    def ways(self) -> HiddenWays:
        """Ways of several steps under pieces."""
        return HiddenWays(self.covers, self.settings.join_visible_mm)


def sewing_order(
    ends: Floats,
    middles: Floats,
    short: Bools,
    hidden: Bools,
    ground: Ground,
    start: Floats,
) -> list[list[Sewn]]:
    """Return chains of marks, each mark once.

    Parameters
    ----------
    ends : array of shape (n, 2, 2)
        First and last point of each mark, mm.
    middles : array of shape (n, 2)
        Middle of each mark, mm.
    short : array of shape (n,)
        Which of them lie under one piece.
    hidden : array of shape (n,)
        Whose ends lie under pieces, so that they may be joined to a neighbour.
    ground
        What hides the travel.
    start : array of shape (2,)
        Where the machine stands.
    """
    covers, settings = ground.covers, ground.settings
    span = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    if len(ends) > 1 and span.max() > _LONG_MM:
        order, back = _by_ends(ends, hidden, ground, start)
    else:
        order = _by_middles(middles, short, ground, start)
        back = _turns(ends[order], middles[order], short[order], covers, start, settings)
    turned = np.where(back[:, None, None], ends[order][:, ::-1], ends[order])
    pair, brief = (both[order[:-1]] & both[order[1:]] for both in (hidden, short))
    direct = _joined(covers, pair, turned[:-1, 1], turned[1:, 0], settings)
    joined = _joined(covers, brief, middles[order[:-1]], middles[order[1:]], settings)
    chains: list[list[Sewn]] = []
    for index, mark in enumerate(order.tolist()):
        turn = bool(back[index])
        if index and direct[index - 1]:
            chains[-1].append(Sewn(mark, turn))
        elif index and joined[index - 1]:
            # By way of the last mark's middle and its own more of the travel hides.
            chains[-1].append(Sewn(mark, turn, middles[order[index - 1 : index + 1]]))
        else:
            by = None
            if index and pair[index - 1]:
                by = _under_pieces(ground, turned[index - 1, 1], turned[index, 0])
            if by is None:
                chains.append([Sewn(mark, turn)])
            else:
                chains[-1].append(Sewn(mark, turn, by))
    return chains


def _under_pieces(ground: Ground, leaves: Floats, enters: Floats) -> Floats | None:
    """Return the way of a thread under pieces where it takes less time than a cut, or None."""
    if float(np.hypot(*(enters - leaves))) > ground.cut_mm:
        return None
    first, last = ground.ways.seats_at(np.stack([leaves, enters])).tolist()
    return ground.ways.way(first, last, ground.cut_mm)


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


def _by_middles(middles: Floats, short: Bools, ground: Ground, start: Floats) -> Ints:
    """Return the order of marks taken as points, fewest cuts first."""
    covers, settings, cut = ground.covers, ground.settings, ground.cut_mm
    count = len(middles)
    if count < 3:
        return np.arange(count)
    if count <= _FEW:
        seats = np.where(short, ground.ways.seats_at(middles), -1)
        away = np.hypot(*(middles[:, None] - middles).transpose(2, 0, 1))
        longer = np.minimum(ground.ways.lengths(seats, seats, cut) - away, cut)
        table = np.maximum(np.minimum(longer, longer.T), 0.0)
        return open_path(middles, start, extra=lambda a, b: _priced(table, a, b, cut))
    near = min(NEIGHBOURS, count - 1)
    _, to = cKDTree(middles).query(middles, k=near + 1)
    i = np.repeat(np.arange(count), near + 1)
    j = to.ravel().astype(np.int64)
    one, two = np.minimum(i, j), np.maximum(i, j)
    keys = np.unique((one * count + two)[one != two])
    one, two = keys // count, keys % count
    pair = short[one] & short[two]
    joined = keys[_joined(covers, pair, middles[one], middles[two], settings)]

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


def _priced(table: Floats, a: Ints, b: Ints, cut: float) -> Floats:
    """Return what steps cost beside their length; those from the start or to nowhere a cut."""
    count = len(table)
    inside = (a < count) & (b < count)
    return np.where(inside, table[np.minimum(a, count - 1), np.minimum(b, count - 1)], cut)


def _by_ends(ends: Floats, hidden: Bools, ground: Ground, start: Floats) -> tuple[Ints, Bools]:
    """Return marks in the order met by going each time where it costs least, from either end."""
    count, cut = len(ends), ground.cut_mm
    jump = ground.settings.stitch_mm / _JUMP_MM
    ways = None
    if count <= _FEW:
        flat = ends.reshape(-1, 2)
        seats = np.where(np.repeat(hidden, 2), ground.ways.seats_at(flat), -1)
        ways = ground.ways.lengths(seats, seats, cut)
    at, came = start, -1
    left = np.ones(count, dtype=np.bool_)
    order, back = [], []
    for _ in range(count):
        away = np.hypot(*np.moveaxis(ends - at, 2, 0))
        if ways is not None:
            jumped = cut + away * jump
            away = jumped if came < 0 else np.minimum(jumped, ways[came].reshape(-1, 2))
        away = np.where(left[:, None], away, np.inf)
        mark, end = divmod(int(np.argmin(np.round(away, 6))), 2)
        order.append(mark)
        back.append(end == 1)
        left[mark] = False
        at, came = ends[mark, 1 - end], 2 * mark + 1 - end
    return np.array(order, dtype=np.int64), np.array(back)


def table_order(count: int) -> list[list[Sewn]]:
    """Return every mark alone, in table order: what sewing costs without a plan."""
    return [[Sewn(index, back=False)] for index in range(count)]


def ends_of(paths: Sequence[Floats]) -> Floats:
    """Return the first and last point of each path, shape (n, 2, 2)."""
    return np.array([(path[0], path[-1]) for path in paths], dtype=np.float64).reshape(-1, 2, 2)
