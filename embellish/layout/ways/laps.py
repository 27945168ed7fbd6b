"""Lapped rows: pieces that lie over one another like scales, by so many millimetres.

A lapped row is laid with what shows of each piece in place of the piece: a circle as wide as its
length along the row less the lap, and no gap. Equal steps from piece to piece follow, corners and
closing included, from the same row.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from embellish.errors import JobError
from embellish.geometry.footprints import Footprint
from embellish.geometry.outlines import circle
from embellish.layout.ways.way import Kit, Seats

_LEAST_SHARE: Final = 0.15
"""Of each piece at least this much of its length must show."""


def lapped_kit(kit: Kit, lap_mm: float, angle_deg: float) -> Kit:
    """Return a kit of what shows of each piece.

    Parameters
    ----------
    lap_mm
        How far each piece lies over the one beside it.
    angle_deg
        How pieces are turned to the line: 0 along it, 90 across.

    Raises
    ------
    JobError
        Where the lap leaves too little of a piece.
    """
    shown = []
    for footprint in kit.footprints:
        length = _length_mm(footprint, angle_deg)
        if length - lap_mm < _LEAST_SHARE * length:
            raise JobError(
                f"a lap of {lap_mm:g} mm leaves too little of a piece {length:.2f} mm long",
                mend="Take a smaller lap_mm.",
            )
        shown.append(Footprint.of(circle(length - lap_mm)))
    return replace(kit, footprints=tuple(shown), gap_mm=0.0)


def _length_mm(footprint: Footprint, angle_deg: float) -> float:
    """Return how long a piece is along the line when turned by an angle to it."""
    radius = footprint.round_radius_mm
    if radius is not None:
        return 2.0 * radius
    x0, y0, x1, y1 = footprint.bounds_mm
    turn = np.radians(angle_deg)
    # Exact along and across; between, the frame about the piece.
    return float(abs(np.cos(turn)) * (x1 - x0) + abs(np.sin(turn)) * (y1 - y0))


def from_the_end(seats: Seats) -> Seats:
    """Return the seats of one line in the order from its end, so that each lies under the next."""
    return seats.taken(np.arange(len(seats))[::-1])
