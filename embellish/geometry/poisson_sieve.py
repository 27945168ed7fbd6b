"""The look of maximal Poisson-disk sampling: from many squares into the cells around their own.

With cells of side d/√2 a point can be within d of another only in the 21 cells about its own.
Those two cells off matter to few squares: to those along that side of their own cell.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from embellish.arrays import Bools, Floats, Ints

BLOCK: Final = 16384
"""Squares looked at together: their arrays stay in the processor's cache."""
_CLOSE_UP: Final = 0.75
"""Closing up arrays costs as much as a look: only where fewer than this share are left."""
_NEAR: Final = ((-1, 0), (0, -1), (0, 1), (1, 0), (-1, -1), (-1, 1), (1, -1), (1, 1))
_BESIDE: Final = (0, -1, 1)
"""Two cells off, the one straight on and its neighbours: two squares on the diagonal is too far."""
_SLACK: Final = 0.01
"""Share of a side by which squares are taken to lie nearer, far above what rounding leaves."""

Passing: TypeAlias = Callable[[slice, Floats, Floats, Ints, Ints], Bools]
"""Given a cell around, and x, y, cell and index of squares: which of them pass there.

What lies in that cell around, seen from each square's own, is `values[around].take(cell)`.
"""


@dataclass(frozen=True, eq=False)
class Sieve:
    """A grid of cells in rows of a width, and the lower corner of each, flattened."""

    width: int
    side_mm: float
    distance_mm: float
    left: Floats
    top: Floats

    def corner(self, cell: Ints) -> tuple[Floats, Floats]:
        """Return x and y of the lower corner of each cell."""
        return self.left.take(cell), self.top.take(cell)

    def passed(
        self,
        x: Floats,
        y: Floats,
        cell: Ints,
        passing: Passing,
        *,
        half_mm: float = 0.0,
    ) -> Ints:
        """Return the indices of squares that pass in all the cells around their own, in order.

        Parameters
        ----------
        x, y, cell : arrays of shape (n,)
            Middles of the squares and the cells they lie in.
        passing
            Tells which pass in one cell; of a point that is further from some part of a square
            than the distance, it must say that the square passes.
        half_mm
            Half the side of each square.
        """
        every = np.arange(len(cell))
        found = [
            self._block(x[some], y[some], cell[some], every[some], passing, half_mm)
            for some in (slice(at, at + BLOCK) for at in range(0, len(cell), BLOCK))
        ]
        return np.concatenate(found) if found else every

    def _block(
        self,
        x: Floats,
        y: Floats,
        cell: Ints,
        index: Ints,
        passing: Passing,
        half_mm: float,
    ) -> Ints:
        # Counted from the first cell of all around, every one of them lies ahead.
        cell = cell - self._ahead
        good = np.ones(len(cell), dtype=np.bool_)
        for step in _NEAR:
            good &= passing(self._around(*step), x, y, cell, index)
            if np.count_nonzero(good) < _CLOSE_UP * len(good):
                keep = np.flatnonzero(good)
                x, y, cell, index = x.take(keep), y.take(keep), cell.take(keep), index.take(keep)
                good = np.ones(len(keep), dtype=np.bool_)
        reach = self.distance_mm - self.side_mm * (1.0 - _SLACK) - half_mm
        if reach <= half_mm:
            return index[good]
        here = self._around(0, 0)
        for axis, (at, low) in enumerate(((x, self.left), (y, self.top))):
            within = at - low[here].take(cell)
            for way in (-1, 1):
                beyond = within > self.side_mm - reach if way > 0 else within < reach
                some = np.flatnonzero(good & beyond)
                if not len(some):
                    continue
                some_x, some_y = x.take(some), y.take(some)
                some_cell, some_index = cell.take(some), index.take(some)
                stays = np.ones(len(some), dtype=np.bool_)
                for beside in _BESIDE:
                    around = self._around(*((beside, 2 * way) if axis else (2 * way, beside)))
                    stays &= passing(around, some_x, some_y, some_cell, some_index)
                good[some] = stays
        return index[good]

    @property
    def _ahead(self) -> int:
        return 2 * self.width + 2

    def _around(self, column: int, row: int) -> slice:
        return slice(self._ahead + column + row * self.width, None)
