"""Layouts for tests of marks: any pieces anywhere, each lay marked as asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_footprint
from embellish.layout.layout import Lay, Layout, Mark, SetBy

Seat = tuple[float, float, float, int]
"""x, y, angle, number of the piece."""


def piece(code: str, shape: str, length: float, width: float | None = None, **more: Any) -> Piece:
    """Return an invented piece, least size 0.1 mm under the greatest."""
    width = length if width is None else width
    facts = {"kind": "stone", "fixing": "sew-on", "size": "", "colour": ""}
    return Piece.model_validate(
        {
            "code": code,
            "shape": shape,
            "length_mm": [length - 0.1, length, length],
            "width_mm": [width - 0.1, width, width],
            **facts,
            **more,
        }
    )


SMALL = piece("SMALL", "round", 2.8, size="SS10", colour="clear", hex="#dfe8ee")
LARGE = piece("LARGE", "round", 6.0)
NAVETTE = piece("NAVETTE", "navette", 10.0, 5.0)
PEAR = piece("PEAR", "pear", 9.0, 6.0)
SQUARE = piece("SQUARE", "square", 4.5)
BUGLE = piece(
    "BUGLE", "bugle", 7.0, 2.0, kind="bugle", holes=[{"diameter_mm": 0.8, "axis": "along"}]
)
TWO_HOLES = piece(
    "TWO-HOLES",
    "oval",
    10.0,
    7.0,
    holes=[{"x_mm": -3.5, "diameter_mm": 0.9}, {"x_mm": 3.5, "diameter_mm": 0.9}],
)
TOP_HOLE = piece("TOP-HOLE", "round", 8.0, holes=[{"y_mm": -2.6, "diameter_mm": 1.0}])
BEAD = piece("BEAD", "round", 1.6, kind="bead")
PIECES = (SMALL, LARGE, NAVETTE, PEAR, SQUARE, BUGLE, TWO_HOLES, TOP_HOLE, BEAD)


def layout_of(
    seats: Sequence[Seat],
    *,
    mark: Mark = "each",
    set_by: SetBy = "sewn",
    pieces: Sequence[Piece] = PIECES,
    lays: Sequence[int] | None = None,
) -> Layout:
    """Return a layout of these seats in one row, or in the lays given."""
    n = len(seats)
    table = np.array(seats, dtype=np.float64).reshape(-1, 4)
    lay = np.zeros(n, dtype=np.int64) if lays is None else np.array(lays, dtype=np.int64)
    count = int(lay.max(initial=0)) + 1
    nought = np.zeros(n, dtype=np.int64)
    return Layout(
        pieces=tuple(pieces),
        units=(),
        piece_footprints=tuple(piece_footprint(one) for one in pieces),
        unit_footprints=(),
        lays=tuple(Lay(f"lay-{i}", "", "points", set_by, mark, 0.5) for i in range(count)),
        shape_ids=("path",),
        xy=table[:, :2],
        angle_deg=table[:, 2],
        piece=table[:, 3].astype(np.int64),
        unit=nought - 1,
        lay=lay,
        shape=nought,
        row=nought,
        u=np.linspace(0.0, 1.0, n),
    ).rounded()


def marked(layout: Layout, mark: Mark) -> Layout:
    """Return the layout with all lays marked so."""
    return replace(layout, lays=tuple(replace(lay, mark=mark) for lay in layout.lays))


def grid(columns: int, rows: int, pitch: float, number: int = 1) -> list[Seat]:
    """Return seats of one piece on a square grid, row by row."""
    return [(pitch * i, pitch * j, 0.0, number) for j in range(rows) for i in range(columns)]
