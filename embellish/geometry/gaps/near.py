"""Which of many circles come near each other: a sorted grid, by size class.

Circles whose reach differs by more than a factor of two are looked up in grids of their own, so
that one large piece among many small ones does not coarsen the grid for all.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from embellish.arrays import Floats, Ints

_DENSE_CELLS = 8
"""A table of cell starts is kept while there are no more cells than this many times the points."""


class Near(NamedTuple):
    """Pairs of circles and their free distance: i, j and gap, each of shape (m,)."""

    i: Ints
    j: Ints
    gap_mm: Floats


class _Class(NamedTuple):
    """Circles of about one size: their indices, centres and radii."""

    members: Ints
    xy: Floats
    radius: Floats


class _Grid(NamedTuple):
    order: Ints
    xy: Floats
    key: Ints
    column: int
    starts: Ints | None

    def start(self, key: Ints) -> Ints:
        """Return the index of the first point whose cell is not before these."""
        if self.starts is None:
            return np.searchsorted(self.key, key).astype(np.int64)
        return self.starts[np.clip(key, 0, len(self.starts) - 1)]

    def runs(self, t: Ints, start: Ints, before: Ints) -> Iterator[tuple[Ints, Ints]]:
        """Yield each t with each index from its start on whose cell is before a cell."""
        if self.starts is None:
            # Few points have any in reach: only their runs' ends are looked up.
            some = np.flatnonzero(self.key.take(start, mode="clip") < before)
            t, start, before = t[some], start[some], before[some]
        return _runs(t, start, self.start(before))


def near_pairs(xy: Floats, radius: Floats, within_mm: float) -> Near:
    """Return all pairs i < j of circles whose free distance is below ``within_mm``, in order.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres.
    radius : array of shape (n,)
        Radii; the free distance is that of the centres less both.
    within_mm
        May be negative: then only circles that overlap by more are found.
    """
    blocks = [block for block in _near_blocks(xy, radius, within_mm) if len(block.i)]
    if not blocks:
        none = np.zeros(0, dtype=np.int64)
        return Near(none, none, np.zeros(0))
    i, j, gap = (np.concatenate(values) for values in zip(*blocks, strict=True))
    low, high = np.minimum(i, j), np.maximum(i, j)
    order = _order(low * len(xy) + high)
    return Near(low[order], high[order], gap[order])


def near_between(
    xy: Floats, radius: Floats, others_xy: Floats, others_radius: Floats, within_mm: float
) -> Near:
    """Return all pairs (i of the first set, j of the others) below ``within_mm``, in order."""
    every = np.concatenate([xy, others_xy]).reshape(-1, 2)
    side = np.repeat([0, 1], [len(xy), len(others_xy)])
    radii = np.concatenate([radius, others_radius])
    blocks = []
    for block in _near_blocks(every, radii, within_mm, side):
        i, j = np.minimum(block.i, block.j), np.maximum(block.i, block.j)
        blocks.append((i, j - len(xy), block.gap_mm))
    if not blocks:
        none = np.zeros(0, dtype=np.int64)
        return Near(none, none, np.zeros(0))
    i, j, gap = (np.concatenate(values) for values in zip(*blocks, strict=True))
    order = _order(i * len(others_xy) + j)
    return Near(i[order], j[order], gap[order])


def some_gap(xy: Floats, radius: Floats) -> float:
    """Return the least free distance over some pairs of near circles: a bound of the least."""
    low, high = _bounds(xy)
    spacing = math.sqrt(max(float(np.prod(high - low)), 0.0) / len(xy))
    grid = _grid(xy, max(spacing, float((high - low).max()) / len(xy)), low)
    step = np.diff(grid.xy, axis=0)
    radii = radius[grid.order]
    gap = np.sqrt(step[:, 0] ** 2 + step[:, 1] ** 2) - (radii[1:] + radii[:-1])
    return float(gap.min())


def _near_blocks(
    xy: Floats, radius: Floats, within_mm: float, side: Ints | None = None
) -> Iterator[Near]:
    """Yield near pairs in blocks of at most n, each pair once, either way round.

    Where sides are given, only pairs of two sides are.
    """
    if len(xy) < 2:
        return
    low, high = _bounds(xy)
    extent = float((high - low).max())
    classes = _classes(xy, radius, within_mm / 2.0)
    for index, some in enumerate(classes):
        for other in classes[index:]:
            least = float(some.radius.max() + other.radius.max()) + within_mm
            if least <= 0.0:
                continue
            cell = _cell(extent, least)
            grid = _grid(some.xy, cell, low)
            runs = _within_grid(grid) if other is some else _across(other.xy, grid, cell, low)
            for t, u in runs:
                other_xy = grid.xy if other is some else other.xy
                dx, dy = other_xy[t, 0] - grid.xy[u, 0], other_xy[t, 1] - grid.xy[u, 1]
                squared = dx * dx + dy * dy
                hit = np.flatnonzero(squared <= least * least * (1.0 + 1e-12))
                i, j = grid.order[u[hit]], t[hit]
                if other is some:
                    j = grid.order[j]
                gap = np.sqrt(squared[hit]) - (some.radius[i] + other.radius[j])
                i, j = some.members[i], other.members[j]
                kept = gap < within_mm
                if side is not None:
                    kept &= side[i] != side[j]
                yield Near(i[kept], j[kept], gap[kept])


def _bounds(xy: Floats) -> tuple[Floats, Floats]:
    # Column by column is several times quicker than over rows of two.
    x, y = xy.T
    return np.array([x.min(), y.min()]), np.array([x.max(), y.max()])


def _classes(xy: Floats, radius: Floats, more: float) -> list[_Class]:
    """Return circles by size, each class at most twice its least, least first."""
    reach = radius + more
    if reach.min() == reach.max():
        return [_Class(np.arange(len(xy)), xy, radius)]
    sizes = np.unique(reach)
    starts = [float(sizes[0])]
    for size in sizes.tolist():
        if size > 2.0 * max(starts[-1], 0.0) and size > 0.0:
            starts.append(size)
    number = np.searchsorted(np.array(starts), reach, side="right") - 1
    every = [np.flatnonzero(number == index) for index in range(len(starts))]
    return [_Class(members, xy[members], radius[members]) for members in every if len(members)]


def _cell(extent: float, distance: float) -> float:
    """Return a cell size that holds a distance and numbers cells within 62 bits."""
    # A hair larger, so that rounding never puts two points that near two cells apart.
    return max(distance * (1.0 + 1e-9), extent / 1e9, 1e-9)


def _cells(xy: Floats, cell: float, low: Floats) -> Ints:
    away = xy - low
    away /= cell
    # None lies below 0, where cutting off digits would round up.
    cells: Ints = away.astype(np.int64)
    cells += 1
    return cells


def _grid(xy: Floats, cell: float, low: Floats) -> _Grid:
    """Return points sorted by column, then row; each column has an empty cell at either end."""
    cells = _cells(xy, max(cell, 1e-9), low)
    column = int(cells[:, 1].max()) + 2
    key = cells[:, 0] * column + cells[:, 1]
    count = len(xy)
    order = _order(key)
    key = key[order]
    cells_in_all = int(key[-1]) + column + 3
    starts = None
    if cells_in_all <= _DENSE_CELLS * count:
        starts = np.zeros(cells_in_all + 1, dtype=np.int64)
        np.cumsum(np.bincount(key, minlength=cells_in_all), out=starts[1:])
    return _Grid(order, xy[order], key, column, starts)


def _order(key: Ints) -> Ints:
    """Return the indices that sort whole numbers, equal ones in their order."""
    bits = len(key).bit_length()
    if int(key.max(initial=0)) >> (62 - bits):
        return np.argsort(key, kind="stable")
    # Sorting numbers is several times faster than sorting indices by them.
    order: Ints = np.sort((key << bits) | np.arange(len(key))) & ((1 << bits) - 1)
    return order


def _within_grid(grid: _Grid) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs t, u of points in the same or touching cells, each pair once."""
    t = np.arange(len(grid.order))
    yield from grid.runs(t, t + 1, grid.key + 2)
    following = grid.key + grid.column
    yield from grid.runs(t, grid.start(following - 1), following + 2)


def _across(xy: Floats, grid: _Grid, cell: float, low: Floats) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of a point t and a point u of the grid in the same or touching cells."""
    cells = _cells(xy, cell, low)
    t = np.flatnonzero(cells[:, 1] <= grid.column)
    for column in (-1, 0, 1):
        first = (cells[t, 0] + column) * grid.column
        row = cells[t, 1]
        # Rows beyond the grid's own would run into the next column.
        yield from _runs(
            t,
            grid.start(first + row - 1),
            grid.start(first + np.minimum(row + 2, grid.column)),
        )


def _runs(t: Ints, start: Ints, end: Ints) -> Iterator[tuple[Ints, Ints]]:
    """Yield each t with each index from its start to before its end."""
    while True:
        left = start < end
        if not left.any():
            return
        if not left.all():
            t, start, end = t[left], start[left], end[left]
        yield t, start
        start = start + 1
