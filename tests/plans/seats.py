"""Small layouts for tests of plans that count: seats anywhere, what counts is what stands there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from embellish.catalogue.piece import Piece, Unit
from embellish.catalogue.shapes import piece_footprint, unit_footprint
from embellish.layout.layout import Lay, Layout, SetBy


def layout_of(
    pieces: Sequence[Piece],
    seats: Sequence[int],
    *,
    units: Sequence[Unit] = (),
    unit_seats: Sequence[int] = (),
    set_by: SetBy = "template",
) -> Layout:
    """Return a layout of one lay: a seat for each index of a piece, then of a unit."""
    n, m = len(seats), len(unit_seats)
    by_code = {piece.code: piece for piece in pieces}
    return Layout(
        pieces=tuple(pieces),
        units=tuple(units),
        piece_footprints=tuple(piece_footprint(piece) for piece in pieces),
        unit_footprints=tuple(unit_footprint(unit, by_code) for unit in units),
        lays=(Lay("lay", "", "row", set_by, "none", 1.0),),
        shape_ids=("path",),
        xy=np.arange(2 * (n + m), dtype=np.float64).reshape(-1, 2) * 10,
        angle_deg=np.zeros(n + m),
        piece=np.array([*seats, *[-1] * m], dtype=np.int64),
        unit=np.array([*[-1] * n, *unit_seats], dtype=np.int64),
        lay=np.zeros(n + m, dtype=np.int64),
        shape=np.zeros(n + m, dtype=np.int64),
        row=np.zeros(n + m, dtype=np.int64),
        u=np.linspace(0, 1, n + m),
    )


def stone(code: str, *packs: tuple[int, str], stock: int = 0, **more: Any) -> Piece:
    """Return a round stone of 3 mm with packs of (pieces, price)."""
    return Piece.model_validate(
        {
            "code": code,
            "kind": "stone",
            "fixing": "heat-set",
            "stock": stock,
            "length_mm": [2.8, 2.9, 3.0],
            "width_mm": [2.8, 2.9, 3.0],
            "packs": [{"pieces": pieces, "price": price} for pieces, price in packs],
            **more,
        }
    )
