"""How marks are spread over hoopings: as few as can be, split between pieces, never through one.

A field is what the needle can reach in one placing of the cloth. The marks' true bounds count,
not the artwork's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.geometry.transforms import Affine
from embellish.units import EPS_MM, ROUND_DECIMALS

OVERLAP_MM = 14.0
"""Neighbouring fields share this much where it costs no hooping: room for alignment crosses."""


@dataclass(frozen=True, eq=False)
class Window:
    """What one file sews.

    Parameters
    ----------
    rows : array of shape (k,)
        The marks in it, in the order given.
    turn_deg
        How the design is turned in the field (quarter turns).
    position
        Name of the hoop's position.
    middle : (x, y)
        Middle of what is sewn, before the turn.
    hooping
        Number of the placing of the cloth it belongs to.
    """

    rows: Ints
    turn_deg: int
    position: str
    middle: tuple[float, float]
    hooping: int

    def to_stitch(self, mirror: Affine) -> Affine:
        """Return the map from the layout to the file, the field's middle at (0, 0)."""
        x, y = self.middle
        return Affine.turn(self.turn_deg) @ Affine.move(-x, -y) @ mirror


def bounds_of(paths: Iterable[Floats]) -> Floats:
    """Return x0, y0, x1, y1 of each path, shape (n, 4)."""
    rows = [np.concatenate([path.min(axis=0), path.max(axis=0)]) for path in paths]
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def middle_of(boxes: Floats) -> tuple[float, float]:
    """Return the middle of all boxes together."""
    x = (boxes[:, 0].min() + boxes[:, 2].max()) / 2.0
    y = (boxes[:, 1].min() + boxes[:, 3].max()) / 2.0
    return round(float(x), ROUND_DECIMALS) + 0.0, round(float(y), ROUND_DECIMALS) + 0.0


def out_mm(hoop: Hoop, boxes: Floats, middle: tuple[float, float], turn_deg: int = 0) -> Floats:
    """Return how far each box stands out of the field about a middle, shape (n,), 0 inside."""
    half = _turned_field(hoop, turn_deg) / 2.0
    x = np.maximum(np.abs(boxes[:, 0] - middle[0]), np.abs(boxes[:, 2] - middle[0]))
    y = np.maximum(np.abs(boxes[:, 1] - middle[1]), np.abs(boxes[:, 3] - middle[1]))
    if hoop.shape == "rectangle":
        over: Floats = np.maximum(0.0, np.maximum(x - half[0], y - half[1]))
        return over
    # A corner of the box is the farthest; along the ray from the middle.
    share = np.hypot(x / half[0], y / half[1])
    far = np.hypot(x, y)
    return np.where(share > 1.0, far * (1.0 - 1.0 / np.maximum(share, 1.0)), 0.0)


def _turned_field(hoop: Hoop, turn_deg: int) -> Floats:
    field = np.array(hoop.field_mm, dtype=np.float64)
    return field[::-1] if turn_deg % 180 else field


def windows_for(hoop: Hoop, boxes: Floats, lays: Ints) -> list[Window]:
    """Return the fewest windows found that hold all boxes; what fits no field is left in one.

    Whole lays are kept together where that takes no more windows than splitting them would.

    Parameters
    ----------
    hoop
        The hoop; ``turn_deg`` 90 is tried where upright is not enough.
    boxes : array of shape (n, 4)
        Bounds of each mark, mm.
    lays : array of shape (n,)
        The lay of each.
    """
    every = np.arange(len(boxes))
    for turn in (0, 90):
        if not out_mm(hoop, boxes, middle_of(boxes), turn).max(initial=0.0) > EPS_MM:
            first = hoop.positions[0].name
            return [Window(every, turn, first, middle_of(boxes), 0)]
    plans = []
    for turn in (0, 90):
        for overlap in (OVERLAP_MM, 0.0):
            whole = _by_lays(hoop, boxes, lays, turn, overlap)
            strips = _strips(hoop, boxes, every, turn, overlap)
            for split, groups in enumerate((whole, strips)):
                unfit = sum(not _fits(hoop, boxes[rows], turn) for rows in groups)
                plans.append(((unfit, len(groups), split, -overlap, turn), groups))
    # Nothing out, then fewest, then whole lays, then fields that overlap, then upright.
    (_, _, _, _, turn), groups = min(plans, key=lambda plan: plan[0])
    windows: list[Window] = []
    for number, group in enumerate(_hung(hoop, boxes, groups, turn)):
        windows += [
            Window(rows, turn, position, middle, number) for rows, position, middle in group
        ]
    return windows


def field_of(hoop: Hoop, turn: int = 0) -> tuple[float, float]:
    """Return width and height that any box of that size fits into."""
    width, height = _turned_field(hoop, turn).tolist()
    # The rectangle of a round field that holds most: a square in a circle, stretched.
    share = 1.0 if hoop.shape == "rectangle" else 0.5**0.5
    return width * share, height * share


def _by_lays(hoop: Hoop, boxes: Floats, lays: Ints, turn: int, overlap: float) -> list[Ints]:
    """Return groups of whole lays that fit a field together; a larger lay is split alone."""
    groups: list[Ints] = []
    for lay in np.unique(lays).tolist():
        rows = np.flatnonzero(lays == lay)
        for index, group in enumerate(groups):
            both = np.concatenate([group, rows])
            if _fits(hoop, boxes[both], turn):
                groups[index] = both
                break
        else:
            groups += (
                [rows]
                if _fits(hoop, boxes[rows], turn)
                else _strips(hoop, boxes, rows, turn, overlap)
            )
    return groups


def cuts_for(hoop: Hoop, points: Floats, grown_mm: float) -> Ints:
    """Return where a line of points (n, 2) is cut so that each part, grown, fits the field.

    The numbers are those of the points a new part starts at. Each part is as long as it can be
    with room for the overlap of neighbouring fields.
    """
    if _fits(hoop, bounds_of([points]) + grown_mm * np.array([-1, -1, 1, 1]), 0):
        return np.zeros(0, dtype=np.int64)
    room = np.array([max(side / 2.0, side - OVERLAP_MM) for side in field_of(hoop)])
    room = room - 2.0 * grown_mm
    cuts = []
    low, high = points[0], points[0]
    for index, point in enumerate(points[1:], 1):
        low, high = np.minimum(low, point), np.maximum(high, point)
        if (high - low > room).any():
            cuts.append(index)
            low, high = point, point
    return np.array(cuts, dtype=np.int64)


def _fits(hoop: Hoop, boxes: Floats, turn: int) -> bool:
    return not out_mm(hoop, boxes, middle_of(boxes), turn).max(initial=0.0) > EPS_MM


def _strips(hoop: Hoop, boxes: Floats, rows: Ints, turn: int, overlap: float) -> list[Ints]:
    """Return groups in strips as high as the field, each filled from its first uncovered mark.

    Both strips across and strips down are tried (the shifting idea of Hochbaum & Maass 1985).
    Windows are smaller than the field by the overlap wanted between neighbours.
    """
    width, height = (max(side / 2.0, side - overlap) for side in field_of(hoop, turn))
    tried = []
    for across in (True, False):
        cross, along = (height, width) if across else (width, height)
        lo, hi = (1, 3) if across else (0, 2)
        first, last = (0, 2) if across else (1, 3)
        groups = []
        for strip in _greedy(boxes[rows][:, lo], boxes[rows][:, hi], cross):
            of = rows[strip]
            groups += [of[part] for part in _greedy(boxes[of][:, first], boxes[of][:, last], along)]
        tried.append(groups)
    return min(tried, key=len)


def _greedy(low: Floats, high: Floats, length: float) -> list[Ints]:
    """Return groups of intervals, each within a length from its lowest; fewest there are."""
    left = np.ones(len(low), dtype=np.bool_)
    groups = []
    while left.any():
        start = low[left].min()
        inside: Bools = left & (high <= start + length + EPS_MM)
        if not inside.any():
            inside = left & (low <= start + EPS_MM)  # longer than the field: told by a check
        groups.append(np.flatnonzero(inside))
        left &= ~inside
    return groups


def _hung(
    hoop: Hoop, boxes: Floats, groups: Sequence[Ints], turn: int
) -> list[list[tuple[Ints, str, tuple[float, float]]]]:
    """Return hoopings: each group goes to a position of the hooping before, where one reaches it.

    The first group of a hooping stands in the hoop's first position.
    """
    hoopings: list[list[tuple[Ints, str, tuple[float, float]]]] = []
    for rows in groups:
        middle = middle_of(boxes[rows])
        spot = _reached(hoop, boxes[rows], hoopings, turn)
        if spot is None:
            hoopings.append([(rows, hoop.positions[0].name, middle)])
        else:
            number, position, at = spot
            hoopings[number].append((rows, position, at))
    return hoopings


def _reached(
    hoop: Hoop,
    boxes: Floats,
    hoopings: Sequence[Sequence[tuple[Ints, str, tuple[float, float]]]],
    turn: int,
) -> tuple[int, str, tuple[float, float]] | None:
    first = hoop.positions[0]
    for number, hooping in enumerate(hoopings):
        used = {position for _, position, _ in hooping}
        x, y = hooping[0][2]
        for position in hoop.positions[1:]:
            if position.name in used or (position.turn_deg - first.turn_deg) % 180:
                continue
            step = np.array([[position.x_mm - first.x_mm, position.y_mm - first.y_mm]])
            dx, dy = Affine.turn(-turn)(step)[0].tolist()
            at = (x + dx, y + dy)
            if not out_mm(hoop, boxes, at, turn).max(initial=0.0) > EPS_MM:
                return number, position.name, at
    return None
