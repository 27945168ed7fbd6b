"""The way ``row``: pieces along lines with equal straight gaps."""

from __future__ import annotations

from math import floor
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from embellish.arrays import Floats
from embellish.artwork.flatten import lines_of
from embellish.findings import Finding
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.offset import lines_beside
from embellish.geometry.rows.row import Row, Rule, space_row
from embellish.geometry.streams import Stream
from embellish.layout.ways.around import Around, in_the_way, laid_around_told, laid_round
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.laps import from_the_end, lapped_kit
from embellish.layout.ways.left_out import LeftOut, left_out_told
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM


class RowSettings(WaySettings):
    """What a row's lay may say."""

    ends: Literal["on", "inset", "free"] = "on"
    """Open lines: centres on the ends, outlines inset to touch them, or half a gap left free."""
    fit: Literal["least", "about"] = "least"
    """Whether gap_mm is the least gap, or the one to come nearest to."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 25.0
    """A line that turns by more has a piece pinned there; 180 pins none."""
    both_ends: bool = False
    """Whether a sequence of pieces runs alike from both ends."""
    start: Annotated[float, Field(ge=0, le=1)] = 0.0
    """Closed lines: where round the line the row starts, as a fraction."""
    reverse: bool = False
    """Whether the row runs against the line."""
    count: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    """How many pieces each line gets, evenly; as many as the gap allows where that is fewer."""
    offset_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """The row runs beside its line: to the right of the way it is drawn, below 0 to the left."""
    turn: Literal["along", "across", "fixed"] = "along"
    """Which way pieces that are not round are turned."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""
    lap_mm: Annotated[float, Field(gt=0, le=100)] | None = None
    """Pieces lie over one another like scales, each by so much over its neighbour."""
    lap: Literal["next", "previous"] = "next"
    """Which lies on top: the next along the line, or the one before."""


def lay_row(
    ground: Ground, kit: Kit, settings: RowSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay rows along every line of the ground's shapes."""
    del stream  # nothing here is random
    true_gap_mm = kit.gap_mm
    if settings.lap_mm is not None:
        across = 90.0 if settings.turn == "across" else 0.0
        kit = lapped_kit(kit, settings.lap_mm, across + settings.turn_deg)
    rule = Rule(
        gap_mm=kit.gap_mm,
        ends=settings.ends,
        fit=settings.fit,
        corner_deg=settings.corner_deg,
        mirrored=settings.both_ends,
        start=settings.start,
        reverse=settings.reverse,
        count=settings.count,
    )
    across = 90.0 if settings.turn == "across" else 0.0
    bodies = Bodies(kit.footprints, settings.turn != "fixed", across + settings.turn_deg)
    laid: list[Seats] = []
    findings: list[Finding] = []
    left_out: list[LeftOut] = []
    around: list[Around] = []
    kept_mm = kit.gap_mm
    blocking = in_the_way(ground.occupied, true_gap_mm)
    for number, shape in enumerate(ground.shapes):
        lines = [
            beside
            for line in lines_of(shape)
            for beside in lines_beside(line.points, line.closed, settings.offset_mm)
        ]
        if not lines:
            findings.append(_eaten_up(shape.id))
        for index, (points, closed) in enumerate(lines):
            others = _standing(laid, kit)

            def lay(stood: Standing, points: Floats = points, *, closed: bool = closed) -> Row:
                return space_row(points, closed, bodies, rule, stood)

            row, fewer = laid_round(lay, others, blocking, bodies, kit.gap_mm)
            around.append(Around(shape.id, row, fewer))
            seats = _seats(row, number, index)
            laid.append(from_the_end(seats) if settings.lap == "previous" else seats)
            findings.extend(_told(row, shape.id))
            left_out.append(LeftOut(shape.id, row.left_out_mm))
            if settings.count is not None and len(row) != settings.count:
                findings.append(_not_so_many(row, shape.id, settings.count))
            if len(row) > 1 and row.gap_mm < kit.gap_mm:
                kept_mm = min(kept_mm, row.gap_mm - 2.0 * LAY_SLACK_MM)
        progress((number + 1) / len(ground.shapes))
    findings.extend(laid_around_told(around))
    findings.extend(left_out_told(left_out, _NEAR, _NEAR_MEND))
    if settings.fit == "least" or kept_mm == kit.gap_mm:
        return Laid(stacked(laid), tuple(findings))
    # Down to the micrometre, so that rounding a seat never breaks it.
    kept_mm = max(0.0, floor(kept_mm * 1000.0) / 1000.0)
    findings.append(_closer(kept_mm, kit.gap_mm))
    return Laid(stacked(laid), tuple(findings), kept_mm)


def _closer(kept_mm: float, asked_mm: float) -> Finding:
    return Finding(
        "gap-about",
        "note",
        f"A whole number of pieces comes nearest to the {asked_mm:g} mm asked with a gap of"
        f" {kept_mm:g} mm, and that is what the lay now keeps.",
        mend="Use fit = 'least' where the gap must not be smaller.",
    )


def _eaten_up(shape_id: str) -> Finding:
    return Finding(
        "offset-too-far",
        "warning",
        f"Nothing is left of '{shape_id}' at this offset.",
        mend="Take a smaller offset_mm.",
    )


def _not_so_many(row: Row, shape_id: str, count: int) -> Finding:
    fewer = len(row) < count
    why = "the gap asked leaves room for no more" if fewer else "its corners need as many"
    return Finding(
        "count-not-met",
        "warning",
        f"A line of '{shape_id}' has {len(row)} pieces, not {count}: {why}.",
        (float(row.xy[0, 0]), float(row.xy[0, 1])),
        mend="Take a smaller gap_mm or smaller pieces." if fewer else "Raise corner_deg.",
    )


def _seats(row: Row, shape: int, index: int) -> Seats:
    n = len(row)
    return Seats(
        row.xy,
        row.angle_deg,
        row.choice,
        np.full(n, shape),
        np.full(n, index),
        row.u,
        row.corner.astype(np.float64),
    )


def _standing(laid: list[Seats], kit: Kit) -> Standing:
    """Return what earlier rows of the lay have set: later ones are laid around it."""
    seats = stacked(laid)
    return Standing(seats.xy, seats.angle_deg, seats.choice, kit.footprints)


def _told(row: Row, shape_id: str) -> list[Finding]:
    findings = []
    if row.short and len(row):
        count = "one piece" if len(row) == 1 else f"{len(row)} pieces"
        findings.append(
            Finding(
                "path-too-short",
                "warning",
                f"A line of '{shape_id}' has room for {count} only.",
                (float(row.xy[0, 0]), float(row.xy[0, 1])),
                mend="Take smaller pieces or leave the line out.",
            )
        )
    return findings


_NEAR: Final = "Lines of {shapes} run nearer together than a piece and its gap"
_NEAR_MEND: Final = "Take smaller pieces, or lay the shape by 'centreline'."


ROW = Way(
    name="row",
    settings=RowSettings,
    needs="path",
    fills=False,
    edges=False,
    mixes=False,
    lay=lay_row,
    rounds=True,
    help="pieces along lines, with equal gaps, a piece on every corner and closed lines closing",
)
