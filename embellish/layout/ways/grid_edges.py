"""A grid fitted to its edge: a row along the outline, the lattice within, the seam between eased.

A bare lattice leaves a ragged edge. Here the row along the outline stands first; the lattice fills
what is left, holes along the seam are filled, and only what is near the edge row gives way until
every gap holds and is even. Further in the lattice stays as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools
from embellish.geometry.contours import along_ring, edge_rings
from embellish.geometry.even_grids import fair_grid
from embellish.geometry.insets import Room
from embellish.geometry.lattices import Lattice, best_grid, frame_deg
from embellish.layout.ways.crowds import Crowd, crowd_kept, evened, filled_up, seats_of, true_to
from embellish.layout.ways.fills import KEPT_SLACK_MM
from embellish.layout.ways.way import Kit, Progress, Seats
from embellish.units import LAY_SLACK_MM


@dataclass(frozen=True)
class _Seam:
    """How the lattice meets the edge row, in distances between pieces.

    Parameters
    ----------
    start
        How far from the edge row the lattice starts; below 1 it then gives way.
    hole
        From what share of the distance on a hole is filled.
    eased
        How far from the edge row, or from a filled hole, pieces give way.
    """

    start: float
    hole: float
    eased: float


_DENSE: Final = _Seam(0.88, 0.88, 2.2)
_LOOSE: Final = _Seam(1.0, 1.0, 1.3)
"""Squares and bricks would shear where they give way further."""


def edged_grid(
    room: Room,
    kit: Kit,
    lattice: Lattice,
    angle_deg: float | None,
    told: Progress,
    *,
    dense: bool,
) -> Seats:
    """Return a row along the edge of one region and a grid of round pieces within, not yet dealt.

    Parameters
    ----------
    room
        The region, its edge, and what stands there already.
    kit
        Round pieces; every place has room for the largest.
    lattice
        The lattice, at its pitch.
    angle_deg
        Turn of its rows, clockwise as seen, or None: the turn that holds the most.
    told
        Told the share done.
    dense
        Whether the lattice is the densest there is.
    """
    seam = _DENSE if dense else _LOOSE
    reach = np.full(1, kit.reach_mm.max())
    half = reach + (kit.gap_mm + LAY_SLACK_MM) / 2.0
    pitch = 2.0 * float(half[0])
    grounds = [room.centres(float(reach[0]))]
    edge = [along_ring(ring, half) for ring in edge_rings(grounds[0], pitch)]
    if not edge:
        return Seats.none()
    within = grounds[0].buffer(-seam.start * pitch)
    # What fills and eases a dense lattice leaves no side like the other: there the most counts.
    laid = best_grid if dense else fair_grid
    grid = laid(within, lattice, angle_deg, frame=frame_deg(room.region))
    sizes = [len(row.xy) for row in edge]
    n, m = sum(sizes), len(grid)
    crowd = Crowd(
        xy=np.concatenate([*(row.xy for row in edge), grid.xy]),
        size=np.zeros(n + m, dtype=np.int64),
        row=np.concatenate([np.repeat(np.arange(len(edge)), sizes), len(edge) + grid.row]),
        u=np.concatenate([*(row.u for row in edge), grid.index.astype(np.float64)]),
        corner=_mask(np.concatenate([row.corner for row in edge]), m),
        edge=_mask(np.ones(n, dtype=np.bool_), m),
        loose=np.zeros(n + m, dtype=np.bool_),
    )
    told(0.1)
    # What is laid to the full slack is judged by a little less.
    half = reach + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
    crowd = crowd_kept(crowd, half)
    crowd = filled_up(crowd, half, grounds, told, hole=seam.hole, around=seam.eased)
    crowd = evened(
        crowd,
        half,
        grounds,
        crowd.edge | crowd.loose,
        seam.eased,
        progress=lambda done: told(0.8 + 0.2 * done),
    )
    return seats_of(true_to(crowd, room, reach, half))


def _mask(first: Bools, more: int) -> Bools:
    return np.concatenate([first, np.zeros(more, dtype=np.bool_)])
