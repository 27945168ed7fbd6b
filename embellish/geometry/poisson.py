"""Maximal Poisson-disk sampling: points at random, none nearer than a distance, no room for more.

Cells of side d/√2 hold at most one point. All cells, later the fragments of cells that are not yet
covered, throw one dart each at once; a dart that keeps its distance and comes before every dart it
conflicts with stays. Then fragments are split in four, those covered or outside are dropped, and
the rest throw again, down to fragments so small that any point stands for the whole of them.

Ebeida, Mitchell, Patney, Davidson & Owens 2012, "A simple algorithm for maximal Poisson-disk
sampling in high dimensions"; White, Cline & Egbert 2007, "Poisson disk point sets by hierarchical
dart throwing"; Bridson 2007, "Fast Poisson disk sampling in arbitrary dimensions".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.poisson_cells import NOWHERE, Cells
from embellish.geometry.poisson_sieve import BLOCK
from embellish.geometry.streams import Stream

_FINEST: Final = 5e-4
"""Diagonal of the last fragments, in distances: half of what 'no further point fits' forgives."""


@dataclass(frozen=True, eq=False)
class Obstacles:
    """Points that stand already, and from each how far off new ones must stay.

    Parameters
    ----------
    xy : array of shape (m, 2)
        Where they stand.
    reach_mm : array of shape (m,)
        The distance each keeps.
    """

    xy: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    reach_mm: Floats = field(default_factory=lambda: np.zeros(0))

    def trees(self) -> list[tuple[float, cKDTree]]:
        """Return one tree a distance kept: the nearest of each decides."""
        return [
            (float(reach), cKDTree(self.xy[self.reach_mm == reach]))
            for reach in np.unique(self.reach_mm)
        ]


def maximal_points(
    region: BaseGeometry,
    distance_mm: float,
    stream: Stream,
    obstacles: Obstacles | None = None,
    progress: Callable[[float], None] | None = None,
) -> Floats:
    """Return random points of a region, none nearer than a distance, with no room for another.

    Parameters
    ----------
    region
        Polygon or multipolygon the points lie in (for pieces: the region of their centres).
    distance_mm
        Least distance between two points.
    stream
        All randomness comes from here.
    obstacles
        What else to keep off.
    progress
        Told the share of the region that is covered.

    Returns
    -------
    array of shape (n, 2)
        The points, in the order they were found. No point of the region is further than 1.001
        distances from all of them (and from the obstacles, 0.001 distances beyond their reach).
    """
    if region.is_empty:
        return np.zeros((0, 2))
    cells = Cells.of(region, distance_mm)
    others = [] if obstacles is None else obstacles.trees()
    shapely.prepare(region)
    active = _Fragments.whole(cells)
    drawn = 0
    found: list[Floats] = []
    start_area = max(active.area(cells), 1e-300)
    while len(active):
        last = active.size_mm(cells) * 2.0**0.5 <= _FINEST * distance_mm
        x, y = _centres(active, cells, region) if last else _thrown(active, cells, stream, drawn)
        good = _in_region(x, y, active.cell, cells, region)
        if found:
            good = good[cells.apart(x.take(good), y.take(good), active.cell.take(good))]
        if others:
            good = good[_off(np.stack([x.take(good), y.take(good)], axis=1), others)]
        rank = stream.child("rank").bits_at((drawn + good).astype(np.uint64))
        drawn += len(active)
        found.append(cells.settled(x.take(good), y.take(good), active.cell.take(good), rank))
        if last:
            break
        active = active.narrowed(cells)
        active = active.off(others, cells).touching(region, cells)
        if progress is not None:
            progress(1.0 - active.area(cells) / start_area)
    return np.concatenate(found)


@dataclass(frozen=True, eq=False)
class _Fragments:
    """Squares of one size, each a part of a cell: its cell and its place within, in halvings."""

    cell: Ints
    column: Floats
    row: Floats
    level: int

    @classmethod
    def whole(cls, cells: Cells) -> _Fragments:
        cell = np.flatnonzero(cells.edge | cells.within)
        none = np.zeros(len(cell))
        return cls(cell, none, none, 0)

    @classmethod
    def joined(cls, parts: list[_Fragments]) -> _Fragments:
        """Return fragments of one size together."""
        cell = np.concatenate([part.cell for part in parts])
        column = np.concatenate([part.column for part in parts])
        row = np.concatenate([part.row for part in parts])
        return cls(cell, column, row, parts[0].level)

    def __len__(self) -> int:
        return len(self.cell)

    def size_mm(self, cells: Cells) -> float:
        return float(np.ldexp(cells.side_mm, -self.level))

    def area(self, cells: Cells) -> float:
        return len(self) * self.size_mm(cells) ** 2

    def places(self, cells: Cells, across: Floats | float, down: Floats | float) -> Floats:
        """Return the point at shares across and down each square, shape (n, 2)."""
        return np.stack(self.xy(cells, across, down), axis=1)

    def xy(
        self, cells: Cells, across: Floats | float, down: Floats | float
    ) -> tuple[Floats, Floats]:
        """Return x and y of the point at shares across and down each square."""
        size = self.size_mm(cells)
        x, y = cells.corner(self.cell)
        return x + (self.column + across) * size, y + (self.row + down) * size

    def middle(self, cells: Cells) -> Floats:
        return self.places(cells, 0.5, 0.5)

    def taken(self, keep: Ints) -> _Fragments:
        return _Fragments(
            self.cell.take(keep), self.column.take(keep), self.row.take(keep), self.level
        )

    def narrowed(self, cells: Cells) -> _Fragments:
        """Return the quarters of those with room that have room themselves."""
        # A block at a time, so that the quarters stay in the processor's cache.
        starts = range(0, len(self), BLOCK)
        every = np.arange(len(self))
        return self.joined(
            [
                self.taken(every[start : start + BLOCK])
                .open(cells)
                .uncovered(cells)
                .split()
                .uncovered(cells)
                for start in starts
            ]
        )

    def open(self, cells: Cells) -> _Fragments:
        """Return those whose cell holds no point yet."""
        return self.taken(np.flatnonzero(cells.x.take(self.cell) == NOWHERE))

    def split(self) -> _Fragments:
        column = (2.0 * self.column[:, None] + np.array([0.0, 1.0, 0.0, 1.0])).ravel()
        row = (2.0 * self.row[:, None] + np.array([0.0, 0.0, 1.0, 1.0])).ravel()
        return _Fragments(np.repeat(self.cell, 4), column, row, self.level + 1)

    def uncovered(self, cells: Cells) -> _Fragments:
        """Return those that do not lie wholly within the distance of one point."""
        x, y = self.xy(cells, 0.5, 0.5)
        left = cells.uncovered(x, y, self.cell, self.size_mm(cells) / 2.0)
        return self.taken(left)

    def off(self, others: list[tuple[float, cKDTree]], cells: Cells) -> _Fragments:
        """Return those that do not lie wholly within reach of one obstacle."""
        if not others or not len(self):
            return self
        middle, keep = self.middle(cells), np.ones(len(self), dtype=np.bool_)
        slant = self.size_mm(cells) * 0.5**0.5
        for reach, tree in others:
            nearest, _ = tree.query(middle, distance_upper_bound=reach)
            keep &= nearest + slant >= reach
        return self.taken(np.flatnonzero(keep))

    def touching(self, region: BaseGeometry, cells: Cells) -> _Fragments:
        """Return those not wholly outside the region."""
        at = np.flatnonzero(cells.edge[self.cell])
        if not len(at):
            return self
        # Where its middle is within there is no need to look at a whole square.
        middle = self.taken(at).middle(cells)
        at = at[~shapely.contains_xy(region, middle[:, 0], middle[:, 1])]
        keep = np.ones(len(self), dtype=np.bool_)
        keep[at] = shapely.intersects(region, self.taken(at).boxes(cells))
        return self.taken(np.flatnonzero(keep))

    def boxes(self, cells: Cells) -> np.ndarray:
        low = self.places(cells, 0.0, 0.0)
        high = low + self.size_mm(cells)
        return np.asarray(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))


def _thrown(active: _Fragments, cells: Cells, stream: Stream, drawn: int) -> tuple[Floats, Floats]:
    """Return x and y of one random point in each fragment."""
    across = stream.child("x").uniform(drawn, len(active))
    down = stream.child("y").uniform(drawn, len(active))
    return active.xy(cells, across, down)


def _centres(active: _Fragments, cells: Cells, region: BaseGeometry) -> tuple[Floats, Floats]:
    """Return x and y of a point of each fragment in the region, where any part of it is."""
    xy = active.middle(cells)
    at = np.flatnonzero(cells.edge[active.cell])
    at = at[~shapely.contains_xy(region, xy[at, 0], xy[at, 1])]
    if len(at):
        inner = shapely.point_on_surface(
            shapely.intersection(region, active.taken(at).boxes(cells))
        )
        some = ~shapely.is_empty(inner)
        xy[at[some]] = shapely.get_coordinates(inner[some])
    return xy[:, 0], xy[:, 1]


def _in_region(x: Floats, y: Floats, cell: Ints, cells: Cells, region: BaseGeometry) -> Ints:
    """Return which points lie in the region; only those in edge cells need a look."""
    good = np.ones(len(cell), dtype=np.bool_)
    at = np.flatnonzero(cells.edge.take(cell))
    good[at] = shapely.contains_xy(region, x.take(at), y.take(at))
    return np.flatnonzero(good)


def _off(xy: Floats, others: list[tuple[float, cKDTree]]) -> Bools:
    """Tell which points stay out of reach of all obstacles."""
    good = np.ones(len(xy), dtype=np.bool_)
    for reach, tree in others:
        nearest, _ = tree.query(xy, distance_upper_bound=reach)
        good &= nearest >= reach
    return good
