"""Sites for tests of rules: a small layout with its plans made as the job makes them."""

from __future__ import annotations

from typing import Any

import numpy as np

from embellish.catalogue.piece import Piece, Unit
from embellish.catalogue.shapes import piece_footprint, unit_footprint
from embellish.checks.site import Site
from embellish.layout.layout import Lay, Layout
from embellish.plans.cloth import ClothSettings
from embellish.plans.stitching.stitch import StitchSettings, plan_stitches


def piece(code: str, kind: str, fixing: str, size: float = 5.0, **more: Any) -> Piece:
    """Return an invented round piece; its least size is 0.2 mm below."""
    span = [size - 0.2, size, size]
    facts = {"code": code, "kind": kind, "fixing": fixing, "length_mm": span, "width_mm": span}
    return Piece.model_validate({**facts, **more})


HOLE = {"diameter_mm": 0.8}
STONE = piece("STONE", "stone", "heat-set")
PEARL = piece("PEARL", "pearl", "glue")
SEQUIN = piece("SEQUIN", "sequin", "sew-on", holes=[HOLE])
BEAD = piece("BEAD", "bead", "sew-on", 2.0, holes=[HOLE | {"axis": "along"}])
SOLID = piece("SOLID", "stud", "sew-on")
CHAIN = piece("CHAIN", "chain", "sew-on")
OVAL = piece(
    "OVAL", "stone", "heat-set", shape="oval", length_mm=[7.8, 8.0, 8.0], width_mm=[5.8, 6.0, 6.0]
)
PIECES = (STONE, PEARL, SEQUIN, BEAD, SOLID, CHAIN, OVAL)
HELD = Unit.model_validate({"name": "held", "members": [{"piece": "SEQUIN"}, {"piece": "BEAD"}]})


def lay(code: str, set_by: str, mark: str = "none", way: str = "row") -> tuple[str, Lay]:
    """Return a lay of one piece or unit."""
    return code, Lay(code.lower(), "", way, set_by, mark, 0.5)  # type: ignore[arg-type]


def layout_of(*lays: tuple[str, Lay], count: int = 4, pitch: float = 6.0) -> Layout:
    """Return a layout with a row of so many seats a lay, 20 mm below one another."""
    n = count * len(lays)
    number = np.repeat(np.arange(len(lays)), count)
    names = [each.code for each in PIECES] + [HELD.name]
    which = np.array([names.index(code) for code, _ in lays], dtype=np.int64)[number]
    by_code = {each.code: each for each in PIECES}
    return Layout(
        pieces=PIECES,
        units=(HELD,),
        piece_footprints=tuple(piece_footprint(each) for each in PIECES),
        unit_footprints=(unit_footprint(HELD, by_code),),
        lays=tuple(each for _, each in lays),
        shape_ids=("path",),
        xy=np.stack([np.tile(np.arange(count) * pitch, len(lays)), 20.0 * number], axis=1),
        angle_deg=np.zeros(n),
        piece=np.where(which < len(PIECES), which, -1),
        unit=np.where(which < len(PIECES), -1, which - len(PIECES)),
        lay=number,
        shape=np.zeros(n, dtype=np.int64),
        row=np.zeros(n, dtype=np.int64),
        u=np.tile(np.linspace(0.0, 1.0, count), len(lays)),
    )


def site_of(layout: Layout, marks: dict[str, Any] | None = None, **cloth: Any) -> Site:
    """Return a site with its stitch plan."""
    count = len(layout.lays)
    return Site(
        layout,
        (None,) * count,
        (0.0,) * count,
        stitches=plan_stitches(layout, StitchSettings(**(marks or {}))),
        cloth=ClothSettings(**cloth),
    )


def codes(rule: Any, site: Site) -> list[str]:
    """Return what a rule finds, as 'code lay'."""
    return [f"{finding.code} {finding.lay or ''}".strip() for finding in rule(site)]
