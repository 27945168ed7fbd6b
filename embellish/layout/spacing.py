"""Which seats stand how close: the one reading of gaps between lays, for checks and reports."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import least_gap, neighbour_gaps, neighbour_gaps_between
from embellish.layout.layout import Layout
from embellish.layout.runs import strung_together


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of seats nearer than a bound, but those inside one lapped lay or one string.

    Parameters
    ----------
    seats : array of shape (m, 2)
        Rows of the layout.
    gap_mm : array of shape (m,)
        Free distance between their outlines at max size.
    asked_mm : array of shape (m,)
        The larger gap of their two lays.
    """

    seats: Ints
    gap_mm: Floats
    asked_mm: Floats


def near_pairs(layout: Layout, within_mm: float | None = None) -> Pairs:
    """Return the pairs nearer than ``within_mm``, by default the greatest gap any lay asks."""
    asked = np.array([lay.gap_mm for lay in layout.lays], dtype=np.float64)
    bound = float(asked.max(initial=0.0)) if within_mm is None else within_mm
    seats, gaps = neighbour_gaps(
        layout.xy, layout.angle_deg, layout.footprint, layout.footprints, bound
    )
    keep = ~(_lapped(layout, layout.lay[seats]) | strung_together(layout, seats))
    seats, gaps = seats[keep], gaps[keep]
    lays = layout.lay[seats]
    return Pairs(seats, gaps, np.maximum(asked[lays[:, 0]], asked[lays[:, 1]]))


def least_layout_gap(layout: Layout) -> float | None:
    """Return the least gap over all pairs but those inside a lapped lay; None if there is none."""
    if len(layout) < 2:
        return None
    if not any(lay.lapped or lay.pitch_mm for lay in layout.lays):
        found = least_gap(layout.xy, layout.angle_deg, layout.footprint, layout.footprints)
        return None if found is None else found[0]
    span = float(np.hypot(*np.ptp(layout.xy, axis=0))) + 1.0
    within = max(1.0, *(lay.gap_mm for lay in layout.lays))
    while True:
        pairs = near_pairs(layout, within)
        if len(pairs.gap_mm):
            return float(pairs.gap_mm.min())
        if within > span:
            return None
        within *= 4.0


def gaps_elsewhere(
    layout: Layout, rows: Ints, there: Standing, within_mm: float
) -> tuple[Ints, Floats, Floats]:
    """Measure some seats, standing elsewhere, against all the others.

    Parameters
    ----------
    layout
        All seats as they stand.
    rows : array of shape (k,)
        Which of them stand elsewhere.
    there
        Where these would stand, and as what.
    within_mm
        Greater gaps are not told.

    Returns
    -------
    pairs : array of shape (m, 2)
        Place in ``rows``, and row of the other seat; not those inside one lapped lay.
    gap_mm, asked_mm : arrays of shape (m,)
    """
    others = np.setdiff1d(np.arange(len(layout)), rows)
    stay = Standing(
        layout.xy[others], layout.angle_deg[others], layout.footprint[others], layout.footprints
    )
    pairs, gaps = neighbour_gaps_between(there, stay, within_mm)
    pairs = np.stack([pairs[:, 0], others[pairs[:, 1]]], axis=1)
    lays = np.stack([layout.lay[rows[pairs[:, 0]]], layout.lay[pairs[:, 1]]], axis=1)
    together = np.stack([rows[pairs[:, 0]], pairs[:, 1]], axis=1)
    keep = ~(_lapped(layout, lays) | strung_together(layout, together))
    asked = np.array([lay.gap_mm for lay in layout.lays], dtype=np.float64)[lays].max(axis=1)
    return pairs[keep], gaps[keep], asked[keep]


def _lapped(layout: Layout, lays: Ints) -> Bools:
    lapped = np.array([lay.lapped for lay in layout.lays], dtype=np.bool_)
    result: Bools = (lays[:, 0] == lays[:, 1]) & lapped[lays[:, 0]]
    return result
