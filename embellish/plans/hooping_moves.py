"""How far a design would have to be moved for one field to hold it."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.equipment import Hoop
from embellish.plans.hooping import fit_somewhere, fits, middle_of

_STEP_MM = 0.1
"""Moves are told in whole steps, never too short."""


def move_into(hoop: Hoop, boxes: Floats, middle: tuple[float, float]) -> Floats | None:
    """Return the least move that brings all boxes into a field that stays, shape (2,), mm.

    None where no move does.
    """
    best = np.array(middle_of(boxes, hoop))
    return _least(np.array(middle) - best, lambda move: fits(hoop, _moved(boxes, move), middle, 0))


def move_together(hoop: Hoop, still: Floats, boxes: Floats, turn_deg: int = 0) -> Floats | None:
    """Return the least move of boxes so that one field holds them and those that stay.

    Least along each axis in turn; None where no move does.
    """
    toward = np.array(middle_of(still, hoop, turn_deg)) - np.array(middle_of(boxes, hoop, turn_deg))

    def held(move: Floats) -> bool:
        return fit_somewhere(hoop, np.concatenate([still, _moved(boxes, move)]), turn_deg)

    return _least(toward, held)


def _moved(boxes: Floats, move: Floats) -> Floats:
    moved: Floats = boxes + np.concatenate([move, move])
    return moved


def _least(most: Floats, held: Callable[[Floats], bool]) -> Floats | None:
    """Return a move no longer along either axis than it must be, or None where none is held."""
    steps = [math.ceil(abs(value) / _STEP_MM) for value in most.tolist()]
    sign = np.where(most < 0.0, -1.0, 1.0)
    best = np.array(steps) * _STEP_MM * sign
    if not held(best):
        best = most
        if not held(best):
            return None
    # Less along one axis may let less along the other do.
    for axis in sorted((0, 1), key=lambda a: -steps[a]) * 3:
        low, high = -1, round(abs(float(best[axis])) / _STEP_MM)
        while high - low > 1:
            middle = (low + high) // 2
            tried = best.copy()
            tried[axis] = middle * _STEP_MM * sign[axis]
            if held(tried):
                high, best = middle, tried
            else:
                low = middle
    return np.asarray(np.round(best, 3) + 0.0)


def move_words(move: Floats) -> str:
    """Return a move in words."""
    x, y = move.tolist()
    parts = []
    if abs(x) > 0.0:
        parts.append(f"{abs(x):.1f} mm to the {'right' if x > 0 else 'left'}")
    if abs(y) > 0.0:
        parts.append(f"{abs(y):.1f} mm {'down' if y > 0 else 'up'}")
    return " and ".join(parts) or "not at all"
