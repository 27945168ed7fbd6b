"""Pieces that crowd a region, from their first rows to a lay whose gaps all hold.

Clashes are kept down to a share of the distance and holes filled down to another, and then those
pieces and the ones around them, but never the edge row, are settled until every gap holds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import Room
from embellish.geometry.settling import neighbours, settle
from embellish.geometry.vacancies import filled_holes, first_come, worst_crowded
from embellish.layout.ways.fills import KEPT_SLACK_MM
from embellish.layout.ways.way import Progress, Seats

_CLASH_KEPT: Final = 0.85
_EVENED: Final = 3.0
"""How many distances around what filled holes pieces give way for evening out: few, so that rows
further off stay crisp."""
_EVENING: Final = 120
_EVEN_REACH: Final = 0.2
_HOLE_SEEN: Final = 0.84
"""In shares of a distance: in the middle of four pieces there are 0.71."""
_PASSES: Final = 8
_FILLINGS: Final = 3


@dataclass(frozen=True, eq=False)
class Crowd:
    """Pieces as they stand while a region is being filled.

    Parameters
    ----------
    xy, size, row, u, corner
        Columns, one entry a piece; size indexes the kit's footprints, row -1 is filled in later.
    edge : bool array of shape (n,)
        The edge row, which is not moved.
    loose : bool array of shape (n,)
        Pieces that were added to fill a hole.
    """

    xy: Floats
    size: Ints
    row: Ints
    u: Floats
    corner: Bools
    edge: Bools
    loose: Bools

    @classmethod
    def none(cls) -> Crowd:
        """Return no pieces."""
        none, no = np.zeros(0), np.zeros(0, dtype=np.bool_)
        ints = np.zeros(0, dtype=np.int64)
        return cls(np.zeros((0, 2)), ints, ints, none, no, no, no)

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, keep: Bools | Ints) -> Crowd:
        """Return some of them."""
        return Crowd(*(getattr(self, name)[keep] for name in _COLUMNS))

    def moved(self, which: Bools | Ints, xy: Floats) -> Crowd:
        """Return them with some at other places."""
        every = self.xy.copy()
        every[which] = xy
        return replace(self, xy=every)

    def with_more(self, xy: Floats, size: int) -> Crowd:
        """Return them and loose ones of a size."""
        n = len(xy)
        no, yes = np.zeros(n, dtype=np.bool_), np.ones(n, dtype=np.bool_)
        return Crowd(
            np.concatenate([self.xy, xy]),
            np.concatenate([self.size, np.full(n, size, dtype=np.int64)]),
            np.concatenate([self.row, np.full(n, -1, dtype=np.int64)]),
            np.concatenate([self.u, np.zeros(n)]),
            np.concatenate([self.corner, no]),
            np.concatenate([self.edge, no]),
            np.concatenate([self.loose, yes]),
        )


_COLUMNS: Final = ("xy", "size", "row", "u", "corner", "edge", "loose")


def joined(parts: list[Crowd]) -> Crowd:
    """Return the pieces of several crowds as one."""
    return Crowd(*(np.concatenate([getattr(part, name) for part in parts]) for name in _COLUMNS))


def rank_of(crowd: Crowd) -> Floats:
    """Return who stands first: the edge row's corners, the edge row, then row by row inward."""
    return np.where(crowd.edge, np.where(crowd.corner, -2.0, -1.0), crowd.row.astype(np.float64))


def crowd_kept(crowd: Crowd, half: Floats) -> Crowd:
    """Drop clashes: all within the edge row, elsewhere only those too near to settle."""
    rank = rank_of(crowd)
    keep = np.ones(len(crowd), dtype=np.bool_)
    edge = np.flatnonzero(crowd.edge)
    keep[edge] = first_come(crowd.xy[edge], half[crowd.size[edge]], rank[edge])
    crowd = crowd.taken(keep)
    return crowd.taken(first_come(crowd.xy, half[crowd.size], rank_of(crowd), _CLASH_KEPT))


def _filled(crowd: Crowd, half: Floats, grounds: list[BaseGeometry], *, by_row: bool) -> Crowd:
    """Put pieces where there is nearly room for one, the largest first."""
    # In a sequence along rows small ones would creep into every chink: only the largest fill.
    sizes = np.argsort(-half, kind="stable")[: None if by_row else 1]
    for size in sizes:
        more = filled_holes(
            crowd.xy,
            half[crowd.size],
            grounds[size],
            float(half[size]),
        )
        crowd = crowd.with_more(more, int(size))
    return crowd


def filled_up(
    crowd: Crowd,
    half: Floats,
    grounds: list[BaseGeometry],
    progress: Progress,
    *,
    hole: float,
    by_row: bool = False,
    around: float,
) -> Crowd:
    """Fill holes and settle, again while that gains pieces.

    Parameters
    ----------
    crowd
        What stands.
    half : array of shape (k,)
        Half the distance each size keeps.
    grounds
        Where its centres may stand.
    progress
        Told the share done.
    hole
        The share of the distance from which on a hole is filled.
    by_row
        Whether sizes follow one another along rows, so that only the largest fills holes.
    around
        How many distances around a clash or a filled hole pieces may give way.
    """
    enough = half * hole
    best: Crowd | None = None
    for turn in range(_FILLINGS):

        def told(share: float, turn: int = turn) -> None:
            progress((turn + 1 + share) / (_FILLINGS + 2))

        told(0.0)
        filled = _filled(crowd, enough, grounds, by_row=by_row)
        if best is not None and len(filled) == len(crowd):
            break
        crowd = _settled(filled, half, grounds, around, told)
        if best is not None and len(crowd) <= len(best):
            break
        best = crowd
    return crowd if best is None else best


def _settled(
    crowd: Crowd, half: Floats, grounds: list[BaseGeometry], around: float, told: Progress
) -> Crowd:
    """Settle what is crowded, taking out the worst until every gap holds."""
    trouble = crowd.loose & (crowd.row < 0)
    for number in range(_PASSES):

        def eased(share: float, number: int = number) -> None:
            told((number + share) / _PASSES)

        halves = half[crowd.size]
        free, near = _around(crowd, trouble | _crowded(crowd, halves), halves, around)
        if not free.any():
            break
        settled = settle(
            crowd.xy[near],
            halves[near],
            grounds,
            crowd.size[near],
            pinned=~free[near],
            progress=eased,
        )
        crowd = crowd.moved(near, settled.xy)
        if settled.short_mm == 0.0:
            break
        # Pieces that filled holes go before pieces of rows.
        out = worst_crowded(crowd.xy, halves, ~crowd.loose)
        if not len(out):
            out = worst_crowded(crowd.xy, halves, crowd.edge)
        crowd = crowd.taken(np.setdiff1d(np.arange(len(crowd)), out))
        trouble = np.zeros(len(crowd), dtype=np.bool_)
    return crowd.taken(first_come(crowd.xy, half[crowd.size], rank_of(crowd)))


def evened(
    crowd: Crowd,
    half: Floats,
    grounds: list[BaseGeometry],
    about: Bools,
    around: float = _EVENED,
    *,
    progress: Progress,
) -> Crowd:
    """Share out the room about some pieces.

    Parameters
    ----------
    crowd, half, grounds
        As for `filled_up`.
    about : bool array of shape (n,)
        Those pieces, such as what filled holes.
    around
        How many distances around them pieces may give way.
    progress
        Told the share done.
    """
    halves = half[crowd.size]
    free, near = _around(crowd, about, halves, around)
    if not free.any():
        return crowd
    settled = settle(
        crowd.xy[near],
        halves[near],
        grounds,
        crowd.size[near],
        pinned=~free[near],
        rounds=_EVENING,
        patience=_EVENING,
        evening=_EVENING,
        reach=_EVEN_REACH,
        easing=True,
        progress=progress,
    )
    return crowd.moved(near, settled.xy)


def beside_holes(crowd: Crowd, half: Floats, grounds: list[BaseGeometry]) -> Bools:
    """Tell which pieces stand beside a hole that is too small to fill, but wide enough to be seen.

    Parameters
    ----------
    crowd, half, grounds
        As for `filled_up`; the largest size is looked at.
    """
    out = np.zeros(len(crowd), dtype=np.bool_)
    if not len(crowd):
        return out
    size = int(np.argmax(half))
    seen = _HOLE_SEEN * half
    holes = filled_holes(crowd.xy, seen[crowd.size], grounds[size], float(seen[size]))
    if len(holes):
        reach = 1.2 * 2.0 * float(half.max())
        away, _ = cKDTree(holes).query(crowd.xy, distance_upper_bound=reach)
        out = np.asarray(away < reach, dtype=np.bool_)
    return out & ~crowd.edge


def _crowded(crowd: Crowd, halves: Floats) -> Bools:
    """Tell which pieces stand too near another."""
    i, j = neighbours(crowd.xy, halves, 0.0)
    step = crowd.xy[i] - crowd.xy[j]
    near = np.hypot(step[:, 0], step[:, 1]) < halves[i] + halves[j]
    out = np.zeros(len(crowd), dtype=np.bool_)
    out[i[near]] = True
    out[j[near]] = True
    return out


def _around(crowd: Crowd, trouble: Bools, halves: Floats, distances: float) -> tuple[Bools, Ints]:
    """Return which pieces may move, and those with the ones that hem them in."""
    if not trouble.any():
        return trouble, np.flatnonzero(trouble)
    away, _ = cKDTree(crowd.xy[trouble]).query(crowd.xy)
    widest = 2.0 * float(halves.max())
    free = (away <= distances * widest) & ~crowd.edge
    return free, np.flatnonzero(away <= (distances + 2.0) * widest)


def true_to(crowd: Crowd, room: Room, reach: Floats, half: Floats) -> Crowd:
    """Keep what truly has its room: the last word on gaps and edges."""
    crowd = crowd.taken(room.holds(crowd.xy, reach[crowd.size], slack_mm=KEPT_SLACK_MM))
    return crowd.taken(first_come(crowd.xy, half[crowd.size], rank_of(crowd)))


def seats_of(crowd: Crowd) -> Seats:
    """Return the seats in order, rows numbered anew; a mix is yet to be dealt out."""
    last = int(crowd.row.max(initial=-1)) + 1
    row = np.where(crowd.row < 0, last, crowd.row)
    u = np.where(crowd.row < 0, np.cumsum(crowd.row < 0) - 1.0, crowd.u)
    order = np.lexsort((u, row))
    return Seats(
        xy=crowd.xy[order],
        angle_deg=np.zeros(len(order)),
        choice=crowd.size[order],
        shape=np.zeros(len(order), dtype=np.int64),
        row=np.unique(row[order], return_inverse=True)[1].astype(np.int64),
        u=u[order],
        weight=crowd.corner[order].astype(np.float64),
    )
