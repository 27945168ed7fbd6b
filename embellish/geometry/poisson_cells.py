"""The grid under maximal Poisson-disk sampling: cells that hold at most one point each.

A cell's side is d/√2, so that two points of one cell always conflict.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import scipy
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.poisson_sieve import Passing, Sieve

Ranks: TypeAlias = NDArray[np.uint64]

NOWHERE: Final = 1e150
"""Coordinate of points that are not there: its square is still a number."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The grid: which cells lie in, out or on the edge, the point in each, and darts in the air."""

    sieve: Sieve
    edge: Bools
    within: Bools
    x: Floats
    y: Floats
    darts: Darts

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
        left = np.tile(origin[0] + np.arange(width) * side, height)
        top = np.repeat(origin[1] + np.arange(height) * side, width)
        sieve = Sieve(width, side, distance_mm, left, top)
        darts = Darts.none(height * width)
        return cls(sieve, edge.ravel(), within.ravel(), nowhere, nowhere.copy(), darts)

    @property
    def side_mm(self) -> float:
        """Side of a cell."""
        return self.sieve.side_mm

    def corner(self, cell: Ints) -> tuple[Floats, Floats]:
        """Return x and y of the lower corner of each cell."""
        return self.sieve.corner(cell)

    def apart(self, x: Floats, y: Floats, cell: Ints) -> Ints:
        """Return which points, of cells where none stands, keep their distance to all others."""
        return self.sieve.passed(x, y, cell, self._passing(0.0))

    def uncovered(self, x: Floats, y: Floats, cell: Ints, half_mm: float) -> Ints:
        """Return which squares about middles do not lie wholly within the distance of one point.

        All are of cells where none stands.
        """
        return self.sieve.passed(x, y, cell, self._passing(half_mm), half_mm=half_mm)

    def _passing(self, half_mm: float) -> Passing:
        """Tell which squares have their farthest corner at least the distance from a point."""
        limit = self.sieve.distance_mm**2

        def passing(around: slice, x: Floats, y: Floats, cell: Ints, _: Ints) -> Bools:
            passes: Bools = _squared(self, around, x, y, cell, half_mm) >= limit
            return passes

        return passing

    def settled(self, x: Floats, y: Floats, cell: Ints, rank: Ranks) -> Floats:
        """Let points stand in order of rank unless they conflict; return those that now stand.

        Points come in order of their cells. What stands is what one look at each in turn would
        let stand, but for cells with several points, of which only the first takes part.
        """
        if not len(cell):
            return np.zeros((0, 2))
        starts = np.flatnonzero(np.append(True, cell[1:] != cell[:-1]))
        sizes = np.diff(np.append(starts, len(cell)))
        first = np.flatnonzero(rank == np.repeat(np.minimum.reduceat(rank, starts), sizes))
        x, y, cell, rank = x.take(first), y.take(first), cell.take(first), rank.take(first)
        darts, stand = self.darts, []
        while len(cell):
            darts.put(cell, x, y, rank)
            before = darts.before(rank, self.sieve.distance_mm**2)
            win = self.sieve.passed(x, y, cell, before)
            darts.clear(cell)
            self.x[cell[win]], self.y[cell[win]] = x[win], y[win]
            stand.append(np.stack([x[win], y[win]], axis=1))
            # What lost to a loser may stand after all.
            left = np.flatnonzero(self.x.take(cell) == NOWHERE)
            left = left[self.apart(x[left], y[left], cell[left])]
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

    def before(self, rank: Ranks, limit: float) -> Passing:
        """Tell which darts of these ranks come before one they conflict with, or do not conflict.

        Darts conflict below a squared distance.
        """

        def passing(around: slice, x: Floats, y: Floats, cell: Ints, index: Ints) -> Bools:
            passes: Bools = _squared(self, around, x, y, cell) >= limit
            near = np.flatnonzero(~passes)
            ahead = self.rank[around].take(cell.take(near)) > rank.take(index.take(near))
            passes[near] = ahead
            return passes

        return passing


def _squared(
    there: Cells | Darts, around: slice, x: Floats, y: Floats, cell: Ints, half_mm: float = 0.0
) -> Floats:
    """Return the squared distances from what lies in a cell around to squares' farthest corners."""
    across, down = there.x[around].take(cell), there.y[around].take(cell)
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
    return across


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
