"""The grid under maximal Poisson-disk sampling: cells that hold at most one point each.

A cell's side is d/√2, so that two points of one cell always conflict, and a point conflicts with
others only in the 21 cells about its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import scipy
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints

Ranks: TypeAlias = NDArray[np.uint64]

_BLOCK: Final = 16384
_CLOSE_UP: Final = 0.75
"""Closing up arrays costs as much as a look: only where fewer than this share are left."""
NOWHERE: Final = 1e150
"""Coordinate of points that are not there: its square is still a number."""
_AROUND: Final = sorted(
    ((x, y) for x in range(-2, 3) for y in range(-2, 3) if abs(x) + abs(y) < 4),
    key=lambda cell: (cell[0] ** 2 + cell[1] ** 2, cell),
)
"""The cells a point may conflict into, nearest first: two squares on the diagonal is too far."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The grid: which cells lie in, out or on the edge, and the point that stands in each."""

    origin: Floats
    side_mm: float
    distance_mm: float
    width: int
    edge: Bools
    within: Bools
    x: Floats
    y: Floats

    @classmethod
    def of(cls, region: BaseGeometry, distance_mm: float) -> Cells:
        """Return the empty cells over a region."""
        # A little less, so that two points of one cell are never exactly at their distance.
        side = distance_mm / 2.0**0.5 * (1.0 - 1e-12)
        x0, y0, x1, y1 = region.bounds
        width, height = int((x1 - x0) / side) + 7, int((y1 - y0) / side) + 7
        origin = np.array([x0 - 3 * side, y0 - 3 * side])
        edge = _edge_cells(region, origin, side, (height, width))
        within = _inner_cells(region, origin, side, edge)
        nowhere = np.full(height * width, NOWHERE)
        return cls(
            origin, side, distance_mm, width, edge.ravel(), within.ravel(), nowhere, nowhere.copy()
        )

    def corner(self, cell: Ints) -> tuple[Floats, Floats]:
        """Return x and y of the lower corner of each cell."""
        row = cell // self.width
        column = cell - row * self.width
        return self.origin[0] + column * self.side_mm, self.origin[1] + row * self.side_mm

    def steps(self) -> list[int]:
        """Return what to add to a cell's index for each of the cells around it."""
        return [x + y * self.width for x, y in _AROUND]

    def apart(self, xy: Floats, cell: Ints) -> Ints:
        """Return which points keep their distance to all that stand."""
        return self._passing(xy[:, 0], xy[:, 1], cell, self.steps(), 0.0)

    def uncovered(self, x: Floats, y: Floats, cell: Ints, half_mm: float) -> Ints:
        """Return which squares about middles do not lie wholly within the distance of one point."""
        # A point two cells off cannot cover half a cell.
        steps = self.steps()[1 : 9 if half_mm > 0.2 * self.side_mm else None]
        return self._passing(x, y, cell, steps, half_mm)

    def _passing(self, x: Floats, y: Floats, cell: Ints, steps: list[int], half_mm: float) -> Ints:
        """Return which squares have their farthest corner at least the distance from all points."""

        def passing(some: slice) -> Ints:
            return self._block_passing(x[some], y[some], cell[some], steps, half_mm)

        return _in_blocks(passing, len(cell))

    def _block_passing(
        self, x: Floats, y: Floats, cell: Ints, steps: list[int], half_mm: float
    ) -> Ints:
        left = np.arange(len(cell))
        limit = self.distance_mm**2
        good = np.ones(len(cell), dtype=np.bool_)
        for step in steps:
            near = cell + step
            across, down = self.x.take(near), self.y.take(near)
            across -= x
            down -= y
            if half_mm:
                np.abs(across, out=across)
                np.abs(down, out=down)
                across += half_mm
                down += half_mm
            across *= across
            down *= down
            across += down
            good &= across >= limit
            if np.count_nonzero(good) < _CLOSE_UP * len(good):
                keep = np.flatnonzero(good)
                left, x, y, cell, good = left[keep], x[keep], y[keep], cell[keep], good[keep]
        return left[good]

    def settled(self, xy: Floats, cell: Ints, rank: Ranks) -> Floats:
        """Let points stand in order of rank unless they conflict; return those that now stand.

        Points come in order of their cells. What stands is what one look at each in turn would
        let stand, but for cells with several points, of which only the first takes part.
        """
        if not len(cell):
            return xy
        starts = np.flatnonzero(np.append(True, cell[1:] != cell[:-1]))
        sizes = np.diff(np.append(starts, len(cell)))
        first = np.flatnonzero(rank == np.repeat(np.minimum.reduceat(rank, starts), sizes))
        x, y, cell, rank = xy[first, 0], xy[first, 1], cell[first], rank[first]
        darts = Darts.none(len(self.x))
        stand = []
        while len(cell):
            darts.put(cell, x, y, rank)
            win = darts.winners(x, y, cell, rank, self.steps()[1:], self.distance_mm**2)
            darts.clear(cell)
            self.x[cell[win]], self.y[cell[win]] = x[win], y[win]
            stand.append(np.stack([x[win], y[win]], axis=1))
            # What lost to a loser may stand after all.
            left = np.flatnonzero(self.x.take(cell) == NOWHERE)
            left = left[self._passing(x[left], y[left], cell[left], self.steps(), 0.0)]
            x, y, cell, rank = x[left], y[left], cell[left], rank[left]
        return np.concatenate(stand)


@dataclass(frozen=True, eq=False)
class Darts:
    """Darts in the air, by the cell they head for."""

    x: Floats
    y: Floats
    rank: Ranks

    @classmethod
    def none(cls, cells: int) -> Darts:
        """Return no darts, over so many cells."""
        nowhere = np.full(cells, NOWHERE)
        return cls(nowhere, nowhere.copy(), np.zeros(cells, dtype=np.uint64))

    def put(self, cell: Ints, x: Floats, y: Floats, rank: Ranks) -> None:
        """Let darts fly, one a cell."""
        self.x[cell], self.y[cell], self.rank[cell] = x, y, rank

    def clear(self, cell: Ints) -> None:
        """Take the darts of some cells out of the air."""
        self.x[cell] = self.y[cell] = NOWHERE

    def winners(
        self, x: Floats, y: Floats, cell: Ints, rank: Ranks, steps: list[int], limit: float
    ) -> Ints:
        """Return which darts come before all that they conflict with."""

        def winning(some: slice) -> Ints:
            return self._block_winners(x[some], y[some], cell[some], rank[some], steps, limit)

        return _in_blocks(winning, len(cell))

    def _block_winners(
        self, x: Floats, y: Floats, cell: Ints, rank: Ranks, steps: list[int], limit: float
    ) -> Ints:
        left = np.arange(len(cell))
        good = np.ones(len(cell), dtype=np.bool_)
        for step in steps:
            near = cell + step
            across, down = self.x.take(near), self.y.take(near)
            across -= x
            down -= y
            across *= across
            down *= down
            across += down
            good &= (across >= limit) | (self.rank.take(near) > rank)
            if np.count_nonzero(good) < _CLOSE_UP * len(good):
                keep = np.flatnonzero(good)
                left, x, y, cell = left[keep], x[keep], y[keep], cell[keep]
                rank, good = rank[keep], good[keep]
        return left[good]


def _in_blocks(work: Callable[[slice], Ints], count: int) -> Ints:
    """Return the indices that work on blocks gives: a block stays in the processor's cache."""
    starts = range(0, count, _BLOCK)
    found = [start + work(slice(start, start + _BLOCK)) for start in starts]
    return np.concatenate(found) if found else np.zeros(0, dtype=np.int64)


def _edge_cells(region: BaseGeometry, origin: Floats, side: float, shape: tuple[int, int]) -> Bools:
    """Return which cells the region's edge may pass through, of shape (height, width)."""
    points = shapely.get_coordinates(shapely.segmentize(region.boundary, side / 2.0))
    column, row = ((points - origin) / side).astype(np.int64).T
    edge = np.zeros(shape, dtype=np.bool_)
    edge[row, column] = True
    return np.asarray(
        scipy.ndimage.binary_dilation(edge, np.ones((3, 3), dtype=np.bool_)), dtype=np.bool_
    )


def _inner_cells(region: BaseGeometry, origin: Floats, side: float, edge: Bools) -> Bools:
    """Return which cells lie wholly inside: one look for each patch the edge does not cross."""
    patch, count = scipy.ndimage.label(~edge)
    spots = np.zeros((count, 2))
    rows, columns = np.nonzero(patch)
    first = np.unique(patch[rows, columns], return_index=True)[1]
    spots = origin + (np.stack([columns[first], rows[first]], axis=1) + 0.5) * side
    inside = np.concatenate([[False], shapely.contains_xy(region, spots[:, 0], spots[:, 1])])
    return np.asarray(inside[patch], dtype=np.bool_)
