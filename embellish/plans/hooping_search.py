"""The fewest fields that hold a set of boxes.

Exact for few boxes: the leftmost box not yet held lies in a field whose left side is that box's,
so only the field's height is searched (branch and bound by depth). For many boxes strips are
filled greedily (the shifting idea of Hochbaum & Maass 1985) and the search, over a thinned choice
of heights, may still find fewer. Deterministic: it stops by a count of nodes, never by the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.plans.hooping import (
    OVERLAP_MM,
    Hung,
    Window,
    extent_of,
    field_of,
    fit_somewhere,
    hung,
    in_positions,
    middle_of,
)
from embellish.units import EPS_MM

_HEIGHTS: Final = 24
"""Heights tried of one field where there are many boxes."""
_WORK: Final = 4_000_000
"""Fields tried in one search, times the boxes looked at for each."""
_DEEPEST: Final = 8
"""More fields than this are not searched for: the strips stand."""


def windows_for(
    hoop: Hoop, boxes: Floats, lays: Ints, turns: Sequence[int] = (0, 90)
) -> list[Window]:
    """Return the fewest windows found that hold all boxes; what fits no field is left in one.

    Whole lays are kept together where that takes no more windows than splitting them would. Of
    hoops with several positions fewest hoopings come before fewest positions.

    Parameters
    ----------
    hoop
        The hoop.
    boxes : array of shape (n, 4)
        Bounds of each mark, layout mm.
    lays : array of shape (n,)
        The lay of each.
    turns
        How the design may be turned in the field, quarter turns, the first where it serves.
    """
    every = np.arange(len(boxes))
    for turn in turns:
        if fit_somewhere(hoop, boxes, turn):
            middle = middle_of(boxes, hoop, turn)
            return [Window(every, turn, hoop.positions[0].name, middle, 0)]
    plans: list[tuple[tuple[float, ...], list[list[Hung]]]] = []
    for turn in turns:
        together = in_positions(hoop, boxes, lays, turn)
        if together is not None:
            split = _split(lays, [rows for rows, *_ in together[0]])
            plans.append(((0, 1, len(together[0]), split, 0.0, turn), together))
        for overlap in (OVERLAP_MM, 0.0):
            for groups in _groupings(hoop, boxes, lays, turn, overlap):
                unfit = sum(not fit_somewhere(hoop, boxes[rows], turn) for rows in groups)
                hoopings = hung(hoop, boxes, groups, turn)
                key = (unfit, len(hoopings), len(groups), _split(lays, groups), -overlap, turn)
                plans.append((key, hoopings))
    # Nothing out, fewest hoopings, fewest files, then whole lays, overlapping fields, upright.
    _, hoopings = min(plans, key=lambda plan: plan[0])
    return [
        Window(rows, turned, position, middle, number)
        for number, hooping in enumerate(hoopings)
        for rows, position, turned, middle in hooping
    ]


def _split(lays: Ints, groups: Sequence[Ints]) -> int:
    """Return how many times lays are parted."""
    return sum(len(np.unique(lays[rows])) for rows in groups) - len(np.unique(lays))


def _groupings(
    hoop: Hoop, boxes: Floats, lays: Ints, turn: int, overlap: float
) -> list[list[Ints]]:
    """Return groups to choose from: whole lays, strips, and what the search finds."""
    every = np.arange(len(boxes))
    whole = _by_lays(hoop, boxes, lays, turn, overlap)
    strips = _strips(hoop, boxes, every, turn, overlap)
    found = [whole, strips]
    width, height = _room(hoop, turn, overlap)
    names = np.unique(lays)
    around = np.array([extent_of(boxes[lays == lay]) for lay in names.tolist()])
    fewest = fewest_fields(boxes, width, height, min(len(whole), len(strips)) - 1)
    if fewest is not None:
        found.append(fewest)
    best = min(len(groups) for groups in found)
    by_lay = fewest_fields(around, width, height, best)
    if by_lay is not None:
        found.append([np.flatnonzero(np.isin(lays, names[rows])) for rows in by_lay])
    return [_merged(hoop, boxes, groups, turn) for groups in found]


def _room(hoop: Hoop, turn: int, overlap: float) -> tuple[float, float]:
    width, height = (max(side / 2.0, side - overlap) for side in field_of(hoop, turn))
    return width, height


def _merged(hoop: Hoop, boxes: Floats, groups: Sequence[Ints], turn: int) -> list[Ints]:
    """Return the groups with those put together that one field holds (round ones hold more)."""
    left = list(groups)
    index = 0
    while index < len(left):
        for other in range(index + 1, len(left)):
            both = np.sort(np.concatenate([left[index], left[other]]))
            if fit_somewhere(hoop, boxes[both], turn):
                left[index] = both
                del left[other]
                break
        else:
            index += 1
    return left


@dataclass(slots=True)
class _Search:
    boxes: Floats
    width: float
    height: float
    nodes: int = 0

    def cover(self, left: Bools, depth: int) -> list[Ints] | None:
        """Return at most ``depth`` groups that hold what is left, or None where none were found."""
        if not left.any():
            return []
        if depth == 0 or self.nodes * len(left) > _WORK or self._least(left) > depth:
            return None
        x0, y0, x1, y1 = self.boxes.T
        rows = np.flatnonzero(left)
        first = rows[np.lexsort((rows, y0[rows], x0[rows]))[0]]
        near = left & (x1 <= x0[first] + self.width + EPS_MM)
        tops = np.unique(y0[near & (y0 <= y0[first] + EPS_MM)])
        tops = tops[tops >= y1[first] - self.height - EPS_MM]
        if len(tops) > _HEIGHTS:
            tops = tops[np.linspace(0, len(tops) - 1, _HEIGHTS).astype(np.int64)]
        tried: list[Bools] = []
        for top in tops.tolist():
            inside = near & (y0 >= top - EPS_MM) & (y1 <= top + self.height + EPS_MM)
            if inside[first] and not any((inside <= other).all() for other in tried):
                tried = [other for other in tried if not (other <= inside).all()]
                tried.append(inside)
        for inside in sorted(tried, key=lambda each: -int(each.sum())):
            self.nodes += 1
            rest = self.cover(left & ~inside, depth - 1)
            if rest is not None:
                return [np.flatnonzero(inside), *rest]
        return None

    def _least(self, left: Bools) -> int:
        """Return how many fields it takes at least: strips as wide, or as high, as a field."""
        x0, y0, x1, y1 = self.boxes[left].T
        return max(len(_greedy(x0, x1, self.width)), len(_greedy(y0, y1, self.height)))


def fewest_fields(boxes: Floats, width: float, height: float, most: int) -> list[Ints] | None:
    """Return the fewest groups, at most ``most``, each within a field; None where none was found.

    Exact up to 24 boxes.

    Parameters
    ----------
    boxes : array of shape (n, 4)
        What is to be held.
    width, height
        Of the field.
    """
    sides = boxes[:, 2:] - boxes[:, :2]
    if (sides > np.array([width, height]) + EPS_MM).any():
        return None
    for depth in range(1, min(most, _DEEPEST) + 1):
        found = _Search(boxes, width, height).cover(np.ones(len(boxes), dtype=np.bool_), depth)
        if found is not None:
            return found
    return None


def _by_lays(hoop: Hoop, boxes: Floats, lays: Ints, turn: int, overlap: float) -> list[Ints]:
    """Return groups of whole lays that fit a field together; a larger lay is split alone."""
    groups: list[Ints] = []
    for lay in np.unique(lays).tolist():
        rows = np.flatnonzero(lays == lay)
        for index, group in enumerate(groups):
            both = np.concatenate([group, rows])
            if fit_somewhere(hoop, boxes[both], turn):
                groups[index] = both
                break
        else:
            groups += (
                [rows]
                if fit_somewhere(hoop, boxes[rows], turn)
                else _strips(hoop, boxes, rows, turn, overlap)
            )
    return groups


def _strips(hoop: Hoop, boxes: Floats, rows: Ints, turn: int, overlap: float) -> list[Ints]:
    """Return groups in strips as high as the field, each filled from its first uncovered mark.

    Both strips across and strips down are tried. Windows are smaller than the field by the overlap
    wanted between neighbours.
    """
    width, height = _room(hoop, turn, overlap)
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
