"""Layouts for template tests, put together by hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from embellish.catalogue.piece import Piece, Span, Unit
from embellish.catalogue.shapes import piece_footprint, unit_footprint
from embellish.layout.layout import Lay, Layout, SetBy


def stone(
    code: str,
    least: float,
    most: float,
    *,
    shape: str = "round",
    width: tuple[float, float] | None = None,
    colour: str = "clear",
    size: str = "",
    height: float | None = None,
) -> Piece:
    """An invented heat-set stone of a size range in mm."""
    low, high = width or (least, most)
    return Piece(
        code=code,
        kind="stone",
        shape=shape,
        size=size,
        length_mm=Span(min=least, nominal=(least + most) / 2, max=most),
        width_mm=Span(min=low, nominal=(low + high) / 2, max=high),
        height_mm=height,
        colour=colour,
        fixing="heat-set",
    )


def layout_of(
    pieces: Sequence[Piece],
    xy: Sequence[tuple[float, float]],
    which: Sequence[int] | None = None,
    *,
    angle: Sequence[float] | None = None,
    lay: Sequence[int] | None = None,
    set_by: Sequence[SetBy] = ("template",),
    lay_ids: Sequence[str] = (),
    units: Sequence[Unit] = (),
    gap_mm: float = 1.0,
) -> Layout:
    """A layout of these seats; ``which`` counts pieces, then units."""
    count = len(xy)
    sort = np.array([0] * count if which is None else which, dtype=np.int64)
    lays = np.array([0] * count if lay is None else lay, dtype=np.int64)
    by_code = {piece.code: piece for piece in pieces}
    ids = list(lay_ids) or [f"lay-{index}" for index in range(len(set_by))]
    return Layout(
        pieces=tuple(pieces),
        units=tuple(units),
        piece_footprints=tuple(piece_footprint(piece) for piece in pieces),
        unit_footprints=tuple(unit_footprint(unit, by_code) for unit in units),
        lays=tuple(
            Lay(each, each, "points", how, "none", gap_mm)
            for each, how in zip(ids, set_by, strict=True)
        ),
        shape_ids=("s0", "s1"),
        xy=np.array(xy, dtype=np.float64).reshape(-1, 2),
        angle_deg=np.array([0.0] * count if angle is None else angle, dtype=np.float64),
        piece=np.where(sort < len(pieces), sort, -1),
        unit=np.where(sort < len(pieces), -1, sort - len(pieces)),
        lay=lays,
        shape=lays % 2,
        row=np.zeros(count, dtype=np.int64),
        u=np.arange(count, dtype=np.float64),
        page_mm=(200.0, 200.0),
    )


def lattice(
    pieces: Sequence[Piece], columns: int, rows: int, pitch: float, cycle: Sequence[int] = (0,)
) -> Layout:
    """Seats on a hexagonal lattice, their pieces in turn."""
    xy = [
        (pitch * (x + 0.5 * (y % 2)), pitch * y * 0.8660254037844386)
        for y in range(rows)
        for x in range(columns)
    ]
    which = [cycle[index % len(cycle)] for index in range(len(xy))]
    return layout_of(pieces, xy, which).rounded()


SS6 = stone("SS6-A", 1.9, 2.1, size="SS6", height=1.0)
SS10_CLEAR = stone("SS10-CLEAR", 2.7, 2.9, size="SS10", height=1.3)
SS10_RED = stone("SS10-RED", 2.7, 2.9, size="SS10", colour="red", height=1.3)
SS16 = stone("SS16-A", 3.8, 4.0, size="SS16", height=1.7)
NAVETTE = stone("NAV", 7.8, 8.0, shape="navette", width=(3.8, 4.0), height=2.0)
