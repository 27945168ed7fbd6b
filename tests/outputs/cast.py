"""Invented pieces and layouts for tests of pictures: one of each look, a unit, laps and turns."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from embellish.artwork.artwork import Path, Shape
from embellish.catalogue.piece import Hole, Member, Piece, Span, Unit
from embellish.catalogue.shapes import piece_footprint, unit_footprint
from embellish.layout.layout import Lay, Layout, SetBy
from embellish.plans.title import TitleBlock


def span(nominal: float, slack: float = 0.1) -> Span:
    return Span(min=nominal - slack, nominal=nominal, max=nominal + slack)


def piece(code: str, kind: str, shape: str, length: float, width: float, **more: Any) -> Piece:
    facts = {"fixing": "glue", "name": f"invented {kind}", **more}
    return Piece.model_validate(
        {
            "code": code,
            "kind": kind,
            "shape": shape,
            "length_mm": span(length),
            "width_mm": span(width),
            **facts,
        }
    )


STONE = piece("STONE", "stone", "round", 3.0, 3.0, hex="#d04060", size="SS12")
NAVETTE = piece("NAVETTE", "stone", "navette", 8.0, 4.0, hex="#eef2f4", finish="AB")
PEAR = piece("PEAR", "stone", "pear", 8.0, 5.0, hex="#101010")
PEARL = piece("PEARL", "pearl", "round", 4.0, 4.0, hex="#f4efe6")
STUD = piece("STUD", "stud", "round", 3.0, 3.0, hex="#c9a84a")
PYRAMID = piece("PYRAMID", "stud", "square", 4.0, 4.0, hex="#b8bac0", finish="matt")
BEAD = piece(
    "BEAD",
    "bead",
    "rectangle",
    1.5,
    2.2,
    hex="#2060b0",
    holes=(Hole(diameter_mm=0.8, axis="along"),),
)
ROUND_BEAD = piece("ROUND-BEAD", "bead", "round", 4.0, 4.0, hex="#208040")
BUGLE = piece("BUGLE", "bugle", "bugle", 7.0, 2.0, hex="#30343c")
SEQUIN = piece("SEQUIN", "sequin", "round", 6.0, 6.0, hex="#c0c8e0", finish="iridescent")
CHAIN = piece("CHAIN", "chain", "round", 3.0, 3.0, hex="#ffffff")
ODD = piece(
    "ODD",
    "other",
    "outline",
    6.0,
    4.0,
    outline_mm=((-3.05, -2.05, 0.0), (3.05, -2.05, 0.0), (3.05, 2.05, 0.0), (-3.05, 2.05, 0.0)),
)
ALL = (
    STONE,
    NAVETTE,
    PEAR,
    PEARL,
    STUD,
    PYRAMID,
    BEAD,
    ROUND_BEAD,
    BUGLE,
    SEQUIN,
    CHAIN,
    ODD,
)
SPRIG = Unit(
    name="SPRIG",
    members=(Member(piece="SEQUIN"), Member(piece="BEAD", dx_mm=1.0, dy_mm=0.5, angle_deg=90.0)),
)

TITLE = TitleBlock("Invented wreath", "B", "0badcafe", size="M")


def layout(
    seats: Sequence[tuple[float, float, float, str]],
    *,
    set_by: SetBy = "hand",
    pieces: Sequence[Piece] = ALL,
) -> Layout:
    """A layout of (x, y, angle, code or unit name)."""
    codes = [one.code for one in pieces]
    by_code = {one.code: one for one in pieces}
    columns = [(codes.index(c) if c in codes else -1, 0 if c == "SPRIG" else -1) for *_, c in seats]
    table = np.array(columns, dtype=np.int64).reshape(-1, 2)
    places = np.array([[x, y, a] for x, y, a, _ in seats], dtype=np.float64).reshape(-1, 3)
    nought = np.zeros(len(seats), dtype=np.int64)
    units = (SPRIG,) if {"SEQUIN", "BEAD"} <= set(codes) else ()
    return Layout(
        pieces=tuple(pieces),
        units=units,
        piece_footprints=tuple(piece_footprint(one) for one in pieces),
        unit_footprints=tuple(unit_footprint(unit, by_code) for unit in units),
        lays=(Lay("only", "the only lay", "points", set_by, "none", 0.5),),
        shape_ids=(),
        xy=places[:, :2],
        angle_deg=places[:, 2],
        piece=table[:, 0],
        unit=table[:, 1],
        lay=nought,
        shape=nought - 1,
        row=nought,
        u=np.zeros(len(seats)),
        page_mm=(100.0, 80.0),
    )


def one_of_each() -> Layout:
    seats = [
        (10.0 + 12.0 * (i % 6), 10.0 + 12.0 * (i // 6), 25.0 * i, p.code) for i, p in enumerate(ALL)
    ]
    return layout([*seats, (10.0, 40.0, 0.0, "SPRIG"), (30.0, 40.0, 90.0, "SPRIG")])


def square_shape(x: float, y: float, side: float, fill: str | None = "#884422") -> Shape:
    corners = np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])
    ends = np.roll(corners, -1, axis=0)
    segments = np.stack([corners + (ends - corners) * t for t in (0, 1 / 3, 2 / 3, 1)], axis=1)
    return Shape(
        "box",
        "",
        (),
        fill,
        None if fill else "#000000",
        0.0,
        "nonzero",
        (Path(segments, closed=True),),
    )
