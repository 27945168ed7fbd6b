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
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.streams import Stream

Ranks: TypeAlias = NDArray[np.uint64]

_FINEST: Final = 5e-4
"""Diagonal of the last fragments, in distances: half of what 'no further point fits' forgives."""
_BLOCK: Final = 16384
_CLOSE_UP: Final = 0.75
"""Closing up arrays costs as much as a look: only where fewer than this share are left."""
_NOWHERE: Final = 1e150
"""Coordinate of points that are not there: its square is still a number."""
_AROUND: Final = sorted(
    ((x, y) for x in range(-2, 3) for y in range(-2, 3) if abs(x) + abs(y) < 4),
    key=lambda cell: (cell[0] ** 2 + cell[1] ** 2, cell),
)
"""The cells a point may conflict into, nearest first: two squares on the diagonal is too far."""


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
    cells = _Cells.of(region, distance_mm)
    others = [] if obstacles is None else obstacles.trees()
    shapely.prepare(region)
    active = _Fragments.whole(cells)
    drawn = 0
    found: list[Floats] = []
    start_area = max(active.area(cells), 1e-300)
    while len(active):
        last = active.size_mm(cells) * 2.0**0.5 <= _FINEST * distance_mm
        xy = _centres(active, cells, region) if last else _thrown(active, cells, stream, drawn)
        good = _in_region(xy, active.cell, cells, region)
        if found:
            good = good[cells.apart(xy[good], active.cell[good])]
        good = good[_off(xy[good], others)]
        rank = stream.child("rank").bits(drawn, len(active))[good]
        drawn += len(active)
        found.append(cells.settled(xy[good], active.cell[good], rank))
        if last:
            break
        active = active.open(cells).uncovered(cells).split().uncovered(cells)
        active = active.off(others, cells).touching(region, cells)
        if progress is not None:
            progress(1.0 - active.area(cells) / start_area)
    return np.concatenate(found)


@dataclass(frozen=True, eq=False)
class _Cells:
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
    def of(cls, region: BaseGeometry, distance_mm: float) -> _Cells:
        # A little less, so that two points of one cell are never exactly at their distance.
        side = distance_mm / 2.0**0.5 * (1.0 - 1e-12)
        x0, y0, x1, y1 = region.bounds
        width, height = int((x1 - x0) / side) + 7, int((y1 - y0) / side) + 7
        origin = np.array([x0 - 3 * side, y0 - 3 * side])
        edge = _edge_cells(region, origin, side, (height, width))
        within = _inner_cells(region, origin, side, edge)
        nowhere = np.full(height * width, _NOWHERE)
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
        darts = _Darts.none(len(self.x))
        stand = []
        while len(cell):
            darts.put(cell, x, y, rank)
            win = darts.winners(x, y, cell, rank, self.steps()[1:], self.distance_mm**2)
            darts.clear(cell)
            self.x[cell[win]], self.y[cell[win]] = x[win], y[win]
            stand.append(np.stack([x[win], y[win]], axis=1))
            # What lost to a loser may stand after all.
            left = np.flatnonzero(self.x.take(cell) == _NOWHERE)
            left = left[self._passing(x[left], y[left], cell[left], self.steps(), 0.0)]
            x, y, cell, rank = x[left], y[left], cell[left], rank[left]
        return np.concatenate(stand)


@dataclass(frozen=True, eq=False)
class _Darts:
    """Darts in the air, by the cell they head for."""

    x: Floats
    y: Floats
    rank: Ranks

    @classmethod
    def none(cls, cells: int) -> _Darts:
        nowhere = np.full(cells, _NOWHERE)
        return cls(nowhere, nowhere.copy(), np.zeros(cells, dtype=np.uint64))

    def put(self, cell: Ints, x: Floats, y: Floats, rank: Ranks) -> None:
        self.x[cell], self.y[cell], self.rank[cell] = x, y, rank

    def clear(self, cell: Ints) -> None:
        self.x[cell] = self.y[cell] = _NOWHERE

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
        ndimage.binary_dilation(edge, np.ones((3, 3), dtype=np.bool_)), dtype=np.bool_
    )


def _inner_cells(region: BaseGeometry, origin: Floats, side: float, edge: Bools) -> Bools:
    """Return which cells lie wholly inside: one look for each patch the edge does not cross."""
    patch, count = ndimage.label(~edge)
    spots = np.zeros((count, 2))
    rows, columns = np.nonzero(patch)
    first = np.unique(patch[rows, columns], return_index=True)[1]
    spots = origin + (np.stack([columns[first], rows[first]], axis=1) + 0.5) * side
    inside = np.concatenate([[False], shapely.contains_xy(region, spots[:, 0], spots[:, 1])])
    return np.asarray(inside[patch], dtype=np.bool_)


@dataclass(frozen=True, eq=False)
class _Fragments:
    """Squares of one size, each a part of a cell: its cell and its place within, in halvings."""

    cell: Ints
    column: Ints
    row: Ints
    level: int

    @classmethod
    def whole(cls, cells: _Cells) -> _Fragments:
        cell = np.flatnonzero(cells.edge | cells.within)
        none = np.zeros(len(cell), dtype=np.int64)
        return cls(cell, none, none, 0)

    def __len__(self) -> int:
        return len(self.cell)

    def size_mm(self, cells: _Cells) -> float:
        return float(np.ldexp(cells.side_mm, -self.level))

    def area(self, cells: _Cells) -> float:
        return len(self) * self.size_mm(cells) ** 2

    def places(self, cells: _Cells, across: Floats | float, down: Floats | float) -> Floats:
        """Return the point at shares across and down each square, shape (n, 2)."""
        return np.stack(self.xy(cells, across, down), axis=1)

    def xy(
        self, cells: _Cells, across: Floats | float, down: Floats | float
    ) -> tuple[Floats, Floats]:
        """Return x and y of the point at shares across and down each square."""
        size = self.size_mm(cells)
        x, y = cells.corner(self.cell)
        return x + (self.column + across) * size, y + (self.row + down) * size

    def middle(self, cells: _Cells) -> Floats:
        return self.places(cells, 0.5, 0.5)

    def taken(self, keep: Bools | Ints) -> _Fragments:
        return _Fragments(self.cell[keep], self.column[keep], self.row[keep], self.level)

    def open(self, cells: _Cells) -> _Fragments:
        """Return those whose cell holds no point yet."""
        return self.taken(cells.x[self.cell] == _NOWHERE)

    def split(self) -> _Fragments:
        column = (2 * self.column[:, None] + np.array([0, 1, 0, 1])).ravel()
        row = (2 * self.row[:, None] + np.array([0, 0, 1, 1])).ravel()
        return _Fragments(np.repeat(self.cell, 4), column, row, self.level + 1)

    def uncovered(self, cells: _Cells) -> _Fragments:
        """Return those that do not lie wholly within the distance of one point."""
        x, y = self.xy(cells, 0.5, 0.5)
        left = cells.uncovered(x, y, self.cell, self.size_mm(cells) / 2.0)
        return self.taken(left)

    def off(self, others: list[tuple[float, cKDTree]], cells: _Cells) -> _Fragments:
        """Return those that do not lie wholly within reach of one obstacle."""
        if not others or not len(self):
            return self
        middle, keep = self.middle(cells), np.ones(len(self), dtype=np.bool_)
        slant = self.size_mm(cells) * 0.5**0.5
        for reach, tree in others:
            nearest, _ = tree.query(middle, distance_upper_bound=reach)
            keep &= nearest + slant >= reach
        return self.taken(keep)

    def touching(self, region: BaseGeometry, cells: _Cells) -> _Fragments:
        """Return those not wholly outside the region."""
        at = np.flatnonzero(cells.edge[self.cell])
        if not len(at):
            return self
        keep = np.ones(len(self), dtype=np.bool_)
        keep[at] = shapely.intersects(region, self.taken(at).boxes(cells))
        return self.taken(keep)

    def boxes(self, cells: _Cells) -> np.ndarray:
        low = self.places(cells, 0.0, 0.0)
        high = low + self.size_mm(cells)
        return np.asarray(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))


def _thrown(active: _Fragments, cells: _Cells, stream: Stream, drawn: int) -> Floats:
    """Return one random point in each fragment."""
    across = stream.child("x").uniform(drawn, len(active))
    down = stream.child("y").uniform(drawn, len(active))
    return active.places(cells, across, down)


def _centres(active: _Fragments, cells: _Cells, region: BaseGeometry) -> Floats:
    """Return a point of each fragment that lies in the region, where any part of it does."""
    xy = active.middle(cells)
    at = np.flatnonzero(cells.edge[active.cell])
    at = at[~shapely.contains_xy(region, xy[at, 0], xy[at, 1])]
    if len(at):
        inner = shapely.point_on_surface(
            shapely.intersection(region, active.taken(at).boxes(cells))
        )
        some = ~shapely.is_empty(inner)
        xy[at[some]] = shapely.get_coordinates(inner[some])
    return xy


def _in_region(xy: Floats, cell: Ints, cells: _Cells, region: BaseGeometry) -> Ints:
    """Return which points lie in the region; only those in edge cells need a look."""
    good = np.ones(len(xy), dtype=np.bool_)
    at = np.flatnonzero(cells.edge[cell])
    good[at] = shapely.contains_xy(region, xy[at, 0], xy[at, 1])
    return np.flatnonzero(good)


def _off(xy: Floats, others: list[tuple[float, cKDTree]]) -> Bools:
    """Tell which points stay out of reach of all obstacles."""
    good = np.ones(len(xy), dtype=np.bool_)
    for reach, tree in others:
        nearest, _ = tree.query(xy, distance_upper_bound=reach)
        good &= nearest >= reach
    return good
