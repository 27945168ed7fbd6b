"""Fades: random points whose distance to their neighbours grows along a field, none missing.

Where a share p of the full density is asked, points stand d/√p apart; two points conflict below
the mean of their distances. Distances are stepped by a twentieth, so that neighbours can be sought
by size class, as among pieces of a few sizes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.clashes import survivors
from embellish.geometry.settling import neighbours
from embellish.geometry.streams import Stream

_STEP: Final = 1.05
_FINEST: Final = 2e-3
_MOST_STEPS: Final = 60

Share = Callable[[Floats], Floats]
"""Share of the full density, above 0 and at most 1, at each of (n, 2) points."""


def faded_points(
    region: BaseGeometry,
    distance_mm: float,
    share: Share,
    stream: Stream,
    progress: Callable[[float], None] | None = None,
) -> tuple[Floats, Floats]:
    """Return random points that stand the wider apart the less is asked, with no room for more.

    Parameters
    ----------
    region
        Region the points lie in.
    distance_mm
        Least distance between two points, where the share is 1.
    share
        The field.
    stream
        All randomness comes from here.
    progress
        Told the share of the region that is covered.

    Returns
    -------
    xy : array of shape (n, 2)
        The points, in the order they were found.
    half_mm : array of shape (n,)
        Half the distance each keeps; never below half of ``distance_mm``.
    """
    if region.is_empty:
        return np.zeros((0, 2)), np.zeros(0)
    shapely.prepare(region)
    squares = _Squares.over(region, distance_mm)
    half = _half(distance_mm, share)
    xy, halves = np.zeros((0, 2)), np.zeros(0)
    drawn, start = 0, squares.area
    while len(squares):
        n = len(squares)
        across, down = (stream.child(axis).uniform(drawn, n) for axis in ("x", "y"))
        darts = squares.low + np.stack([across, down], axis=1) * squares.side_mm
        rank = stream.child("rank").bits(drawn, n) >> np.uint64(1)
        drawn += n
        good = np.flatnonzero(shapely.contains_xy(region, darts[:, 0], darts[:, 1]))
        wide = half(darts[good])
        free = _room(darts[good], xy, halves) >= wide
        good, wide = good[free], wide[free]
        stand = _first(darts[good], wide, rank[good].astype(np.int64))
        xy = np.concatenate([xy, darts[good][stand]])
        halves = np.concatenate([halves, wide[stand]])
        if squares.side_mm <= _FINEST * distance_mm:
            break
        squares = squares.split()
        squares = squares.taken(~_covered(squares, xy, halves, half))
        squares = squares.touching(region)
        if progress is not None:
            progress(1.0 - squares.area / start)
    return xy, halves


def _half(distance_mm: float, share: Share) -> Share:
    """Return the field of half distances, in steps."""
    ladder = _STEP ** np.arange(_MOST_STEPS)

    def half(xy: Floats) -> Floats:
        wide = 1.0 / np.sqrt(np.clip(share(xy), ladder[-1] ** -2.0, 1.0))
        # Rounded to the step below: never nearer than the full density's.
        step = np.searchsorted(ladder, wide * (1.0 + 1e-9), side="right") - 1
        return np.asarray(distance_mm / 2.0 * ladder[step], dtype=np.float64)

    return half


def _room(spots: Floats, xy: Floats, half_mm: Floats) -> Floats:
    """Return how far each spot is from the nearest point, less that one's half."""
    room = np.full(len(spots), np.inf)
    for half in np.unique(half_mm):
        nearest, _ = cKDTree(xy[half_mm == half]).query(spots)
        room = np.minimum(room, nearest - half)
    return room


def _first(xy: Floats, half_mm: Floats, rank: Ints) -> Bools:
    """Tell which darts stand when each in order of rank drops those it conflicts with."""
    i, j = neighbours(xy, half_mm, 0.0)
    step = xy[i] - xy[j]
    near = np.hypot(step[:, 0], step[:, 1]) < half_mm[i] + half_mm[j]
    return survivors(len(xy), np.stack([i[near], j[near]], axis=1), -rank)


@dataclass(frozen=True, eq=False)
class _Squares:
    """Squares of one size that are not covered yet."""

    low: Floats
    side_mm: float

    def __len__(self) -> int:
        return len(self.low)

    @property
    def area(self) -> float:
        return len(self) * self.side_mm**2

    @classmethod
    def over(cls, region: BaseGeometry, side_mm: float) -> _Squares:
        x0, y0, x1, y1 = region.bounds
        columns, rows = int((x1 - x0) / side_mm) + 1, int((y1 - y0) / side_mm) + 1
        row, column = np.divmod(np.arange(columns * rows), columns)
        low = np.stack([x0 + column * side_mm, y0 + row * side_mm], axis=1)
        return cls(low, side_mm).touching(region)

    def taken(self, keep: Bools) -> _Squares:
        return _Squares(self.low[keep], self.side_mm)

    def split(self) -> _Squares:
        half = self.side_mm / 2.0
        corners = np.array([(0.0, 0.0), (half, 0.0), (0.0, half), (half, half)])
        return _Squares((self.low[:, None, :] + corners).reshape(-1, 2), half)

    def touching(self, region: BaseGeometry) -> _Squares:
        low, high = self.low, self.low + self.side_mm
        boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
        return self.taken(np.asarray(shapely.intersects(region, boxes), dtype=np.bool_))


def _covered(squares: _Squares, xy: Floats, half_mm: Floats, half: Share) -> Bools:
    """Tell which squares have no room for a point anywhere."""
    middle = squares.low + squares.side_mm / 2.0
    corners = [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.0, 0.0)]
    # The least half within, by its corners and middle: fields are smooth over a square.
    least = np.min([half(middle + np.array(at) * squares.side_mm) for at in corners], axis=0)
    covered: Bools = _room(middle, xy, half_mm) + squares.side_mm * 0.5**0.5 < least
    return covered
