"""Where the names on a picture stand: near what they name, over as little as can be, never lapping.

An *anchor* is a point that a name may stand at; a *leader* is the thin line from an anchor to a
name that found room only further off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints

_CELLS: Final = 4.0
"""Cells of the grid of what is taken, in a height of capitals."""

_DIRECTIONS: Final = np.array(
    [[1, 0], [0, -1], [0, 1], [-1, 0], [1, -1], [1, 1], [-1, -1], [-1, 1]], dtype=np.float64
)
"""To the right first, as one reads on, then above; slants last."""

_DISTANCES: Final = np.array([0.5, 1.2, 2.5, 4.5, 7.0, 11.0, 16.0, 24.0])
"""How far off a name may stand, in heights of capitals."""

_LEADER_FROM: Final = 1.0
"""Names further off than this get a leader."""

_OVER_INK: Final = 16.0
"""A name wholly over lines costs as much as one so many heights off."""

_GIVE_UP: Final = 400
"""Names without a place, after which the rest is not tried: the picture is full."""

_LATER_ANCHOR: Final = 0.15
_LATER_DIRECTION: Final = 0.04


@dataclass(frozen=True, eq=False)
class Wanted:
    """One name to be placed.

    Parameters
    ----------
    width_mm
        Of the written name.
    anchors : array of shape (n, 2)
        Points of what it names, the best first.
    middle
        Where the name may stand wholly within what it names, or None.
    """

    width_mm: float
    anchors: Floats
    middle: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a name stands: the middle of its box, and the anchor where it has a leader."""

    x_mm: float
    y_mm: float
    leader: tuple[float, float] | None = None


def label_places(
    wanted: Sequence[Wanted],
    height_mm: float,
    frame: tuple[float, float, float, float],
    ink: Floats,
) -> tuple[Spot | None, ...]:
    """Return a place for each name, None where none is free.

    Names with the fewest choices are placed first. No two boxes lap, and no leader runs through
    a box.

    Parameters
    ----------
    wanted
        The names.
    height_mm
        Of their capitals.
    frame
        Left, top, right and bottom that names stand within.
    ink : array of shape (n, 2)
        Points along all lines of the picture, near enough to each other to be seen as lines.
    """
    ground = _Ground(frame, height_mm, ink)
    places: list[Spot | None] = [None] * len(wanted)
    failed = 0
    for index in sorted(range(len(wanted)), key=lambda i: (wanted[i].middle is not None, i)):
        places[index] = ground.placed(wanted[index])
        failed += places[index] is None
        if failed == _GIVE_UP:
            break
    return tuple(places)


def box_size(width_mm: float, height_mm: float) -> tuple[float, float]:
    """Return the width and height of the box round a name."""
    return width_mm + height_mm, 1.9 * height_mm


class _Ground:
    """The page as a grid: how much ink each cell holds, and which names have taken it."""

    def __init__(
        self, frame: tuple[float, float, float, float], height_mm: float, ink: Floats
    ) -> None:
        self._height = height_mm
        self._cell = height_mm / _CELLS
        self._low, self._high = np.array(frame[:2]), np.array(frame[2:])
        counts = np.ceil((self._high - self._low) / self._cell).astype(np.int64) + 1
        shape = (int(counts[1]), int(counts[0]))
        self._taken: Bools = np.zeros(shape, dtype=np.bool_)
        dark = np.zeros(shape, dtype=np.int64)
        cells = self._cells(ink)
        within = ((cells >= 0) & (cells < np.array(shape))).all(axis=1)
        dark[cells[within, 0], cells[within, 1]] = 1
        # Sums over all cells above and to the left: the ink of any box is four look-ups.
        self._sums = np.zeros((shape[0] + 1, shape[1] + 1), dtype=np.int64)
        self._sums[1:, 1:] = dark.cumsum(axis=0).cumsum(axis=1)

    def _cells(self, points: Floats) -> Ints:
        """Return row and column of points (n, 2)."""
        cells: Ints = np.floor((points - self._low)[:, ::-1] / self._cell).astype(np.int64)
        return cells

    def placed(self, one: Wanted) -> Spot | None:
        """Return the cheapest free place of a name, and take it."""
        size = np.array(box_size(one.width_mm, self._height))
        middles, anchors, cost, led = self._choices(one, size)
        low, high = middles - size / 2.0, middles + size / 2.0
        first, last = self._cells(low), self._cells(high) + 1
        cost = cost + self._over_ink(first, last)
        for index in np.argsort(cost, kind="stable").tolist():
            block = np.s_[first[index, 0] : last[index, 0], first[index, 1] : last[index, 1]]
            if self._taken[block].any():
                continue
            way = self._way(anchors[index], low[index], high[index]) if led[index] else None
            if way is not None and self._taken[way[:, 0], way[:, 1]].any():
                continue
            self._taken[block] = True
            if way is not None:
                self._taken[way[:, 0], way[:, 1]] = True
            x, y = middles[index].tolist()
            ax, ay = anchors[index].tolist()
            return Spot(x, y, (ax, ay) if led[index] else None)
        return None

    def _over_ink(self, first: Ints, last: Ints) -> Floats:
        """Return what boxes of cells cost for the lines they hide."""
        sums = self._sums
        ink = (
            sums[last[:, 0], last[:, 1]]
            - sums[first[:, 0], last[:, 1]]
            - sums[last[:, 0], first[:, 1]]
            + sums[first[:, 0], first[:, 1]]
        )
        # A line through a box fills only a part of its cells, and is hidden all the same.
        hidden: Floats = np.minimum(1.0, 3.0 * ink / np.prod(last - first, axis=1))
        return _OVER_INK * hidden

    def _choices(self, one: Wanted, size: Floats) -> tuple[Floats, Floats, Floats, Bools]:
        """Return middles, anchors and costs of places within the frame, and which have leaders."""
        steps = _DISTANCES * self._height
        reach = size / 2.0 + steps[:, None]
        moves = (_DIRECTIONS[:, None, :] * reach).reshape(-1, 2)
        middles = (one.anchors[:, None, :] + moves).reshape(-1, 2)
        anchors = np.repeat(one.anchors, len(moves), axis=0)
        cost = (
            _LATER_ANCHOR * np.arange(len(one.anchors))[:, None, None]
            + _LATER_DIRECTION * np.arange(len(_DIRECTIONS))[:, None]
            + _DISTANCES
        ).reshape(-1)
        led = np.tile(_DISTANCES > _LEADER_FROM, len(one.anchors) * len(_DIRECTIONS))
        if one.middle is not None:
            at = np.array([one.middle])
            middles, anchors = np.concatenate([at, middles]), np.concatenate([at, anchors])
            cost, led = np.concatenate([[0.0], cost]), np.concatenate([[False], led])
        within = (middles - size / 2.0 >= self._low) & (middles + size / 2.0 <= self._high)
        held = within.all(axis=1)
        return middles[held], anchors[held], cost[held], led[held]

    def _way(self, anchor: Floats, low: Floats, high: Floats) -> Ints:
        """Return the cells of a leader, from the anchor to the nearest point of the box."""
        end = np.clip(anchor, low, high)
        count = max(2, int(np.ceil(float(np.hypot(*(end - anchor))) / self._cell * 2.0)))
        # The last stretch is the box's own edge.
        share = np.linspace(0.0, 1.0, count)[:, None]
        cells = self._cells(anchor + (end - anchor) * share)
        return np.clip(cells, 0, np.array(self._taken.shape) - 1)


def leader_end(spot: Spot, width_mm: float, height_mm: float) -> tuple[float, float]:
    """Return where a leader meets the box of its name."""
    wide, high = box_size(width_mm, height_mm)
    x, y = spot.leader or (spot.x_mm, spot.y_mm)
    return (
        min(max(x, spot.x_mm - wide / 2.0), spot.x_mm + wide / 2.0),
        min(max(y, spot.y_mm - high / 2.0), spot.y_mm + high / 2.0),
    )
