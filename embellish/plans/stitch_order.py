"""In which order marks are sewn, and which neighbours are joined without cutting the thread.

Two neighbours are joined where the straight travel from one to the next shows on the cloth no
further than the maker allows: the rest of it lies under the two pieces. A trim costs as much as
some fifty stitches, so the order is sought that costs least time, not least travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry import Polygon

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.tours import NEIGHBOURS, open_path
from embellish.plans.stitch_settings import StitchSettings

_LONG_MM: Final = 10.0
"""A mark whose ends lie farther apart is entered at either end, not at its middle."""
_JUMP_MM: Final = 12.1


@dataclass(frozen=True, eq=False)
class Cover:
    """What hides a mark: half planes about the seat's centre, in the seat's frame.

    Parameters
    ----------
    normal : array of shape (k, 2)
        Outward normals.
    reach : array of shape (k,)
        Distance of each edge from the centre along its normal.
    """

    normal: Floats
    reach: Floats

    @classmethod
    def of(cls, polygon: Polygon) -> Cover:
        """Return the cover of a polygon; of a hollow one, the part seen from its middle."""
        ring = np.asarray(polygon.exterior.coords, dtype=np.float64)[:-1]
        if not polygon.exterior.is_ccw:
            ring = ring[::-1]
        edge = np.roll(ring, -1, axis=0) - ring
        length = np.hypot(edge[:, 0], edge[:, 1])
        keep = length > 1e-9
        normal = np.stack([edge[:, 1], -edge[:, 0]], axis=1)[keep] / length[keep][:, None]
        return cls(normal, np.sum(normal * ring[keep], axis=1))


@dataclass(frozen=True, eq=False)
class Covers:
    """The covers of many marks.

    Parameters
    ----------
    kinds
        The covers there are.
    kind : array of shape (n,)
        Which of them hides each mark, -1 where nothing does.
    xy : array of shape (n, 2)
        The seats' centres.
    cos, sin : arrays of shape (n,)
        The seats' directions.
    """

    kinds: tuple[Cover, ...]
    kind: Ints
    xy: Floats
    cos: Floats
    sin: Floats

    def taken(self, rows: Ints) -> Covers:
        """Return the covers of these marks alone."""
        return Covers(self.kinds, self.kind[rows], self.xy[rows], self.cos[rows], self.sin[rows])

    def visible_mm(self, i: Ints, start: Floats, j: Ints, end: Floats) -> Floats:
        """Return how much of each straight travel shows between what hides its ends.

        Parameters
        ----------
        i, j : arrays of shape (m,)
            Marks it leaves and reaches.
        start, end : arrays of shape (m, 2)
            Where.
        """
        step = end - start
        length = np.hypot(step[:, 0], step[:, 1])
        unit = step / np.where(length > 0.0, length, 1.0)[:, None]
        hidden = self._exit(i, start, unit) + self._exit(j, end, -unit)
        return np.maximum(0.0, length - hidden)

    def _exit(self, rows: Ints, start: Floats, unit: Floats) -> Floats:
        """Return how far one can go from a point before coming out, shape (m,)."""
        far = np.zeros(len(rows))
        for number, cover in enumerate(self.kinds):
            mine = np.flatnonzero(self.kind[rows] == number)
            if not len(mine):
                continue
            at = rows[mine]
            cos, sin = self.cos[at][:, None], self.sin[at][:, None]
            turned = []
            for given in (start[mine] - self.xy[at], unit[mine]):
                x, y = given[:, :1], given[:, 1:]
                turned.append(np.concatenate([x * cos + y * sin, y * cos - x * sin], axis=1))
            point, way = turned
            toward = way @ cover.normal.T
            left = cover.reach - point @ cover.normal.T
            out = np.where(toward > 1e-9, left / np.where(toward > 1e-9, toward, 1.0), np.inf)
            far[mine] = np.maximum(0.0, out.min(axis=1))
        return far


def sewing_order(
    ends: Floats, covers: Covers, start: Floats, settings: StitchSettings
) -> list[list[tuple[int, bool]]]:
    """Return chains of marks: each mark once, with whether it is sewn from its end.

    Parameters
    ----------
    ends : array of shape (n, 2, 2)
        First and last point of each mark, mm.
    covers
        What hides them.
    start : array of shape (2,)
        Where the machine stands.
    """
    span = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    if len(ends) > 1 and span.max() > _LONG_MM:
        order, back = _by_ends(ends, start)
    else:
        order = _by_middles(ends.mean(axis=1), covers, start, settings)
        back = _turns(ends[order], covers.taken(order), start, settings)
    turned = np.where(back[:, None, None], ends[order][:, ::-1], ends[order])
    joined = _joined(covers, order[:-1], turned[:-1, 1], order[1:], turned[1:, 0], settings)
    chains: list[list[tuple[int, bool]]] = []
    for index, mark in enumerate(order.tolist()):
        if index and joined[index - 1]:
            chains[-1].append((mark, bool(back[index])))
        else:
            chains.append([(mark, bool(back[index]))])
    return chains


def _joined(
    covers: Covers, i: Ints, start: Floats, j: Ints, end: Floats, settings: StitchSettings
) -> Bools:
    both = (covers.kind[i] >= 0) & (covers.kind[j] >= 0)
    # Rounded, so that no join hangs on the last bits of a sine.
    seen = np.round(covers.visible_mm(i, start, j, end), 4)
    return both & (seen <= settings.join_visible_mm)


def cut_mm(settings: StitchSettings) -> float:
    """Return how many mm of running stitches take as long as cutting and starting again."""
    cut_s = settings.trim_s + 2 * settings.lock_stitches * 60.0 / settings.speed_per_min
    return cut_s * settings.speed_per_min / 60.0 * settings.stitch_mm


def _by_middles(middles: Floats, covers: Covers, start: Floats, settings: StitchSettings) -> Ints:
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
    joined = keys[_joined(covers, one, middles[one], two, middles[two], settings)]
    cut = cut_mm(settings)

    def extra(a: Ints, b: Ints) -> Floats:
        key = np.minimum(a, b) * count + np.maximum(a, b)
        if not len(joined):
            return np.full(key.shape, cut)
        at = np.minimum(np.searchsorted(joined, key), len(joined) - 1)
        return np.where(joined[at] == key, 0.0, cut)

    return open_path(middles, start, extra=extra)


def _turns(ends: Floats, covers: Covers, start: Floats, settings: StitchSettings) -> Bools:
    """Return which marks of an order are sewn from their end, for the cheapest travel."""
    count = len(ends)
    cut = cut_mm(settings)
    rows = np.arange(count)
    step = np.zeros((count - 1, 2, 2))
    for leave in (0, 1):
        for enter in (0, 1):
            # Sewn forward (0) a mark is left at its last point and entered at its first.
            a, b = ends[:-1, 1 - leave], ends[1:, enter]
            joined = _joined(covers, rows[:-1], a, rows[1:], b, settings)
            way = np.hypot(*(b - a).T)
            step[:, leave, enter] = np.where(joined, way, cut + way * settings.stitch_mm / _JUMP_MM)
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


def table_order(count: int) -> list[list[tuple[int, bool]]]:
    """Return every mark alone, in table order: what sewing costs without a plan."""
    return [[(index, False)] for index in range(count)]


def ends_of(paths: Sequence[Floats]) -> Floats:
    """Return the first and last point of each path, shape (n, 2, 2)."""
    return np.array([(path[0], path[-1]) for path in paths], dtype=np.float64).reshape(-1, 2, 2)
