"""Every single piece of a layout where it stands, the members of units among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.layout.layout import Layout


@dataclass(frozen=True, eq=False)
class Seated:
    """Single pieces in the order they are set.

    Parameters
    ----------
    xy, angle_deg : arrays of shape (m, 2) and (m,)
        Centres in mm, turns clockwise as seen.
    piece : array of shape (m,)
        Index into the layout's pieces.
    seat : array of shape (m,)
        Index of the seat that each stands on.
    """

    xy: Floats
    angle_deg: Floats
    piece: Ints
    seat: Ints


def seated(layout: Layout) -> Seated:
    """Return every piece of the layout, a unit's members in its own order on its seat.

    Raises
    ------
    ValueError
        Where a unit has a member that is none of the layout's pieces.
    """
    index_of = {piece.code: index for index, piece in enumerate(layout.pieces)}
    single = np.flatnonzero(layout.piece >= 0)
    none = np.zeros(len(single), dtype=np.int64)
    parts = [(layout.xy[single], layout.angle_deg[single], layout.piece[single], single, none)]
    for number, unit in enumerate(layout.units):
        rows = np.flatnonzero(layout.unit == number)
        turn = np.radians(layout.angle_deg[rows])
        cos, sin = np.cos(turn), np.sin(turn)
        for order, member in enumerate(unit.members):
            if member.piece not in index_of:
                raise ValueError(f"'{member.piece}' of unit '{unit.name}' is not in the layout")
            dx, dy = member.dx_mm, member.dy_mm
            offset = np.stack([cos * dx - sin * dy, sin * dx + cos * dy], axis=1)
            angle = np.mod(layout.angle_deg[rows] + member.angle_deg, 360.0)
            piece = np.full(len(rows), index_of[member.piece])
            parts.append((layout.xy[rows] + offset, angle, piece, rows, np.full(len(rows), order)))
    xy, angle, piece, seat, orders = (np.concatenate(column) for column in zip(*parts, strict=True))
    sort = np.lexsort((orders, seat))
    return Seated(xy[sort], angle[sort], piece[sort], seat[sort])
