"""Nesting: a row drawn against the row outside it, so that the two touch all along.

Where a piece stands over the gap between two pieces of the row outside, the rows may be nearer than
a full distance; where it stands over a piece they may not. Pieces of two rows pass one another as
the rows get shorter, so the room gained comes and goes along a row. Here a line is moved outward,
place by place, as far as the pieces that stand let a piece go: spaced out along that line, every
piece of a row touches the row outside and none is too near.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.geometry.even_gaps import lengths_along
from embellish.geometry.insets import areal

MEAN_STEP: Final = math.sqrt(3.0) / 4.0 + math.pi / 6.0
"""How far rows that touch are apart on average, in distances, where pieces pass evenly.

The mean of sqrt(1 - t^2) for t from 0 (over a piece) to 1/2 (over a gap).
"""
_FINE: Final = 0.08
_STEEP: Final = 1.25
"""How much longer than its line's own the parts of a line that nests may be."""
_IN: Final = 0.3
_OUT: Final = 0.3
"""How far a line is moved at most, in distances; what then still clashes is no row's neighbour."""
_NEAREST: Final = 6
_QUAD_SEGS: Final = 16


@dataclass(frozen=True, eq=False)
class Nest:
    """Pieces that stand, for a row to nest against.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Their centres.
    half_mm : array of shape (n,)
        Half the distance each keeps.
    new_half_mm
        Half the distance the new row's pieces keep.
    """

    xy: Floats
    half_mm: Floats
    new_half_mm: float

    @property
    def fine_mm(self) -> float:
        """How finely a line has to be drawn."""
        return _FINE * 2.0 * self.new_half_mm

    def lifts(self, points: Floats, out: Floats) -> Floats:
        """Return how far points can be moved outward until they touch, below 0 for inward.

        Parameters
        ----------
        points : array of shape (m, 2)
            Points of a line.
        out : array of shape (m, 2)
            The way outward at each, of length 1.
        """
        d = 2.0 * self.new_half_mm
        lift = np.full(len(points), _OUT * d)
        for half in np.unique(self.half_mm):
            xy = self.xy[self.half_mm == half]
            reach = half + self.new_half_mm
            # A chord of the circle about a piece lies nearer to it by its sagitta.
            reach += (_STEEP * self.fine_mm) ** 2 / (8.0 * reach)
            count = np.arange(1, min(_NEAREST, len(xy)) + 1)
            away, at = cKDTree(xy).query(points, k=count)
            step = xy[at] - points[:, None]
            along = (step * out[:, None]).sum(axis=2)
            clear = reach * reach - (away * away - along * along)
            touch = along - np.sqrt(np.maximum(clear, 0.0))
            touch = np.where((clear > 0.0) & (touch > -_IN * d), touch, np.inf)
            lift = np.minimum(lift, touch.min(axis=1))
        return lift


def outward(ring: Floats) -> Floats:
    """Return the way outward at each point of a closed ring whose inner side is on its left."""
    step = np.diff(ring, axis=0)
    step /= np.hypot(step[:, 0], step[:, 1])[:, None]
    way = step + np.roll(step, 1, axis=0)
    long = np.hypot(way[:, 0], way[:, 1])
    sharp = long < 1e-6
    way[sharp] = step[sharp]
    way /= np.where(sharp, 1.0, long)[:, None]
    out = np.stack([way[:, 1], -way[:, 0]], axis=1)
    return np.concatenate([out, out[:1]])


def further_in(rings: list[list[Floats]], step_mm: float) -> BaseGeometry:
    """Return what lies a step further in than the rings of some parts.

    Parameters
    ----------
    rings
        Each part's rings as its rows stand, the outer one first.
    step_mm
        The step.
    """
    parts = [
        shapely.make_valid(shapely.Polygon(part[0], [ring for ring in part[1:] if len(ring) > 3]))
        for part in rings
        if len(part[0]) > 3
    ]
    if not parts:
        return shapely.Polygon()
    level = areal(shapely.union_all([areal(part) for part in parts]))
    return areal(level.buffer(-step_mm, quad_segs=_QUAD_SEGS).simplify(1e-3 * step_mm))


@dataclass(frozen=True, eq=False)
class Drawn:
    """A ring, and the line its pieces stand on: the ring, or where it nests in a row outside.

    Parameters
    ----------
    ring : array of shape (m, 2)
        The ring, drawn finely enough to nest.
    line : array of shape (m, 2)
        Where its points are moved to.
    arc : array of shape (m,)
        Length of the ring up to each.
    at : array of ints
        Where the points of the ring as given have gone.
    out : array of shape (m, 2), or None where nothing is moved
        The way outward at each point.
    """

    ring: Floats
    line: Floats
    arc: Floats
    at: Ints
    out: Floats | None = None

    @classmethod
    def of(cls, ring: Floats, nest: Nest | None) -> Drawn:
        """Draw a closed ring, its inner side on its left, nested where a nest is given."""
        if nest is None:
            return cls(ring, ring, lengths_along(ring), np.arange(len(ring)))
        step = np.diff(ring, axis=0)
        parts = np.maximum(1, np.ceil(np.hypot(step[:, 0], step[:, 1]) / nest.fine_mm))
        at = np.concatenate([[0], np.cumsum(parts.astype(np.int64))])
        index = np.interp(np.arange(at[-1] + 1), at, np.arange(len(ring)))
        fine = _at_index(ring, index)
        fine[at] = ring
        out = outward(fine)
        line = fine + out * nest.lifts(fine, out)[:, None]
        line[-1] = line[0]
        return cls(fine, line, lengths_along(fine), at, out)

    def between(self, a: int, b: int, start: float, stop: float) -> tuple[Floats, Floats]:
        """Return the line between two lengths along a side, and the lengths at its points."""
        arc, line = self.arc[a : b + 1] - self.arc[a], self.line[a : b + 1]
        if start <= 0.0 and stop >= arc[-1]:
            return line, arc
        inner = (arc > start) & (arc < stop)
        along = np.concatenate([[start], arc[inner], [stop]])
        x, y = (np.interp(along, arc, line[:, axis]) for axis in (0, 1))
        return np.stack([x, y], axis=1), along

    def as_laid(self, xy: Floats, u: Floats) -> Floats:
        """Return the ring through its pieces, as bent as the ring is."""
        if self.out is None or not len(xy):
            return self.ring
        share = self.arc / self.arc[-1]
        order = np.argsort(u, kind="stable")
        u, xy = u[order], xy[order]
        base = np.stack([np.interp(u, share, self.ring[:, axis]) for axis in (0, 1)], axis=1)
        way = np.stack([np.interp(u, share, self.out[:, axis]) for axis in (0, 1)], axis=1)
        lift = ((xy - base) * way).sum(axis=1)
        lifts = np.interp(share, u, lift, period=1.0)
        laid: Floats = self.ring + self.out * lifts[:, None]
        return laid


def _at_index(line: Floats, index: Floats) -> Floats:
    """Return the points at fractional indices of a line."""
    every = np.arange(len(line))
    return np.stack([np.interp(index, every, line[:, axis]) for axis in (0, 1)], axis=1)
