"""Registration: a few points outside the work that fit one way only.

Templates carry them as holes and the marks, where asked, as sewn alignment crosses: both take
the same points of the layout, so template upon template and template upon cloth fall together.
"""

from __future__ import annotations

from itertools import permutations
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats
from embellish.layout.layout import Layout
from embellish.units import ROUND_DECIMALS

Bounds = tuple[float, float, float, float]
"""x0, y0, x1, y1 in layout millimetres."""

RIM_MM: Final = 5.0
"""Free distance from the pieces' bounds to the rim of a registration hole."""

_STEPS: Final = np.round(np.arange(0.15, 0.90, 0.05), 2)
_GROWTH_MM: Final = 2.0

MISS_MM: Final = 1.5
"""No pin goes into a hole that is so far off."""


def registration_bounds(layout: Layout, keep: Bools | None = None) -> Bounds | None:
    """Return the bounds of all seats set by template, or of those kept; None if there is none.

    Parameters
    ----------
    layout
        Where the pieces stand.
    keep : array of shape (n,)
        Which seats to bound; by default those that templates hold.
    """
    rows = np.flatnonzero(by_template(layout) if keep is None else keep)
    if not len(rows):
        return None
    xy, reach = layout.xy[rows], layout.reach_mm[rows][:, None]
    low, high = (xy - reach).min(axis=0), (xy + reach).max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def by_template(layout: Layout) -> Bools:
    """Return which seats are set by template, shape (n,)."""
    held = np.array([lay.set_by == "template" for lay in layout.lays], dtype=np.bool_)
    return held[layout.lay] if len(layout) else np.zeros(0, dtype=np.bool_)


def registration_points(bounds: Bounds, count: int = 3, diameter_mm: float = 3.0) -> Floats:
    """Return the centres of the registration holes in layout mm, shape (count, 2).

    They stand on a rectangle around the bounds, so that no two of their distances are alike:
    turned about or turned over, at least one hole misses its pin by MISS_MM or more. Around a
    small design the rectangle is grown until that holds.

    Parameters
    ----------
    bounds
        What they stand around, see `registration_bounds`.
    count
        0, 3 or 4.
    diameter_mm
        Of the holes.
    """
    if count == 0:
        return np.zeros((0, 2))
    x0, y0, x1, y1 = bounds
    away = RIM_MM + diameter_mm / 2.0
    while True:
        pattern = _pattern(x1 - x0 + 2.0 * away, y1 - y0 + 2.0 * away, count)
        if wrong_way_miss_mm(pattern) >= MISS_MM:
            points: Floats = np.round(pattern + np.array([x0 - away, y0 - away]), ROUND_DECIMALS)
            return points
        away += _GROWTH_MM


def wrong_way_miss_mm(points: Floats) -> float:
    """Return by how much some hole misses its pin in the best wrong way, turning over too.

    A lower bound: a wrong way pairs hole i with pin π(i), and were every hole within m of its
    pin, each distance of two holes would be within 2 m of that of their pins.
    """
    apart = np.hypot(*np.moveaxis(points[:, None, :] - points[None, :, :], -1, 0))
    orders = np.array(list(permutations(range(len(points))))[1:])
    other = apart[orders[:, :, None], orders[:, None, :]]
    return float(np.abs(other - apart).max(axis=(1, 2)).min(initial=np.inf)) / 2.0


def _pattern(width: float, height: float, count: int) -> Floats:
    """Return points on the edges of the rectangle from (0, 0).

    Two corners, then each further one where, of a few places, it makes the pattern least like
    itself.
    """
    if height > width:
        return np.ascontiguousarray(_pattern(height, width, count)[:, ::-1])
    points = np.array([[0.0, 0.0], [width, 0.0]])
    steps = _STEPS[:, None]
    left, bottom = steps * np.array([0.0, height]), np.array([0.0, height])
    bottom = bottom + steps * np.array([width, 0.0])
    right = np.array([width, 0.0]) + steps * np.array([0.0, height])
    third = np.concatenate([left, [[0.0, height]], bottom])
    # The fourth steadies the side that the third leaves free.
    fourth = np.concatenate([right, bottom[len(bottom) // 2 :]])
    for places in (third, fourth)[: count - 2]:
        tries = [np.vstack([points, place]) for place in places]
        # Rounded, so that no last bit decides between two like places; the first wins a tie.
        points = max(tries, key=lambda each: round(wrong_way_miss_mm(each), 3))
    return points
