"""Walls: what is left of the sheet between two holes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.layout.layout import Layout
from embellish.units import EPS_MM


@dataclass(frozen=True, eq=False)
class Walls:
    """Pairs of seats whose holes would leave less wall than asked, in one template.

    Parameters
    ----------
    seats : array of shape (m, 2)
        Rows of the layout.
    wall_mm : array of shape (m,)
        Free distance of their outlines less half of both clearances: below 0 the holes meet.
    cure_mm : array of shape (m,)
        The gap between the pieces that would leave the wall asked.
    """

    seats: Ints
    wall_mm: Floats
    cure_mm: Floats


def thin_walls(layout: Layout, rows: Ints, clearance_mm: Floats, wall_mm: float) -> Walls:
    """Return the pairs among the rows whose wall is below the one asked.

    Parameters
    ----------
    layout
        Where the pieces stand.
    rows : array of shape (n,)
        Seats set by template.
    clearance_mm : array of shape (k,)
        Of each of the layout's footprints.
    wall_mm
        Least wall.
    """
    which = layout.footprint[rows]
    widest = float(clearance_mm[which].max(initial=0.0))
    pairs, gaps = neighbour_gaps(
        layout.xy[rows], layout.angle_deg[rows], which, layout.footprints, wall_mm + widest
    )
    taken = clearance_mm[which[pairs]].sum(axis=1) / 2.0
    walls = gaps - taken
    thin = walls < wall_mm - EPS_MM
    order = np.lexsort((pairs[thin, 1], pairs[thin, 0]))
    return Walls(rows[pairs[thin]][order], walls[thin][order], (wall_mm + taken[thin])[order])
