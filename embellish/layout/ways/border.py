"""The way ``border``: several rows beside a line, inside or outside of it, brick-staggered."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from embellish.arrays import Floats
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of, region_of
from embellish.errors import JobError
from embellish.findings import Finding
from embellish.geometry.borders import Beside, Corners, Side, beside_line, beside_region
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.row import Row, Rule, space_row
from embellish.geometry.streams import Stream
from embellish.layout.ways.around import Around, in_the_way, laid_around_told, laid_round
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.left_out import LeftOut, left_out_told
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_EDGE_TOLERANCE_MM: Final = 5e-4
"""How far the edge that rows are measured from may leave its curve."""
_APART_TRIES: Final = 3
"""How often a row of long pieces moves off; what is left then is laid around."""
_SIDES: Final[dict[str, tuple[Side, ...]]] = {
    "inside": ("inside",),
    "outside": ("outside",),
    "left": ("left",),
    "right": ("right",),
}


class BorderSettings(WaySettings):
    """Settings of a border lay; ``edge_mm`` is the free distance from the line to its first row."""

    side: Literal["inside", "outside", "left", "right", "both"] = "inside"
    """Closed lines: inside or outside; open lines: left or right as seen going along; or both."""
    rows: Annotated[int, Field(ge=1, le=200)] = 2
    """How many rows on each side."""
    row_gap_mm: Annotated[float, Field(ge=0, le=1000)] | None = None
    """Free distance between rows; none given: gap_mm. Never less than gap_mm."""
    stagger: Literal["brick", "none"] = "brick"
    """brick starts every other row half a pitch on; none starts all rows alike."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 25.0
    """A row that turns by more has a piece pinned there; 180 pins none."""
    corners: Literal["rounded", "mitred"] = "rounded"
    """Outer corners of the rows: all as far from the line, or straight on until sides meet."""
    start: Annotated[float, Field(ge=0, le=1)] = 0.0
    """Closed lines: where round the line its rows start, as a fraction."""
    turn: Literal["along", "across", "fixed"] = "along"
    """Which way pieces that are not round are turned."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""


def lay_border(
    ground: Ground, kit: Kit, settings: BorderSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay rows beside every line of the ground's shapes.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Rows are numbered from the line outward, first those of the first side; the sequence
        starts anew in each. Rows for which there is no room are the finding ``no-room-for-row``,
        pieces left out where rows meet ``row-near-itself``.

    Raises
    ------
    JobError
        Where a line has no such side.
    """
    del stream  # nothing here is random
    across = 90.0 if settings.turn == "across" else 0.0
    bodies = Bodies(kit.footprints, settings.turn != "fixed", across + settings.turn_deg)
    laid: list[Seats] = []
    findings: list[Finding] = []
    left_out: list[LeftOut] = []
    blocking = in_the_way(ground.occupied, kit.gap_mm)
    for number, shape in enumerate(ground.shapes):
        rows = 0
        for side in _sides_of(shape, settings):
            seats, told, bare = _one_side(
                shape, side, bodies, kit, settings, stacked(laid), blocking
            )
            lanes = int(seats.row.max()) + 1 if len(seats) else 0
            laid.append(replace(seats, shape=np.full(len(seats), number), row=seats.row + rows))
            rows += lanes
            findings.extend(told)
            left_out.extend(bare)
        progress((number + 1) / len(ground.shapes))
    findings.extend(
        left_out_told(
            left_out,
            "Rows beside {shapes} meet pieces that stand already",
            "Ask for fewer rows or smaller pieces.",
        )
    )
    return Laid(stacked(laid), tuple(findings))


def _sides_of(shape: Shape, settings: BorderSettings) -> tuple[Side, ...]:
    if settings.side == "both":
        return ("inside", "outside") if shape.is_closed else ("left", "right")
    if shape.is_closed and settings.side in ("left", "right"):
        raise JobError(
            f"'{shape.id}' closes, so it has an inside and an outside, not a {settings.side}",
            mend="Take side = 'inside', 'outside' or 'both'.",
        )
    if not shape.is_closed and settings.side in ("inside", "outside"):
        raise JobError(
            f"'{shape.id}' is an open line, so it has no {settings.side}",
            mend="Take side = 'left', 'right' or 'both' (left as seen going along the line).",
        )
    return _SIDES[settings.side]


def _one_side(
    shape: Shape,
    side: Side,
    bodies: Bodies,
    kit: Kit,
    settings: BorderSettings,
    before: Seats,
    blocking: Standing,
) -> tuple[Seats, list[Finding], list[LeftOut]]:
    """Return the rows on one side of a shape's lines, laid around what the lay has already."""
    # Pieces of one angle stand across the line here and along it there.
    half = float((bodies.across if bodies.follows else bodies.reach).max())
    between = max(kit.gap_mm, settings.row_gap_mm or 0.0) + LAY_SLACK_MM
    # On both sides the two first rows face each other across the line.
    edge = kit.edge_mm if settings.side != "both" else max(kit.edge_mm, kit.gap_mm / 2.0)
    far = edge + half + LAY_SLACK_MM
    step = 2.0 * half + between
    pitch = 2.0 * half + kit.gap_mm + LAY_SLACK_MM
    parts: list[Seats] = []
    findings: list[Finding] = []
    left_out: list[LeftOut] = []
    met: list[Around] = []
    for lane in range(settings.rows):
        lines = _lines(shape, far, side, settings.corners, pitch if lane else 0.0)
        if lane and bodies.follows and not bodies.every_round:
            # Long pieces stick out of a bent row: the next one keeps that much more off.
            others = _standing(stacked(parts), kit)
            for _ in range(_APART_TRIES):
                rows = [_spaced(line, lane, shape, bodies, kit, settings) for line in lines]
                short = _short(rows, bodies, kit, others)
                if short <= 0.0:
                    break
                far += short
                lines = _lines(shape, far, side, settings.corners, pitch if lane else 0.0)
        if not lines:
            findings.append(_no_room(shape, side, lane, settings.rows))
            break
        lane_seats = Seats.none()
        for line in lines:
            around = _standing(stacked([before, *parts, lane_seats]), kit)

            def lay(around: Standing, line: Beside = line, lane: int = lane) -> Row:
                return _spaced(line, lane, shape, bodies, kit, settings, around)

            row, fewer = laid_round(lay, around, blocking, bodies, kit.gap_mm)
            met.append(Around(shape.id, row, fewer))
            lane_seats = stacked([lane_seats, _seats(row, lane)])
            left_out.append(LeftOut(shape.id, row.left_out_mm))
        parts.append(lane_seats)
        far += step
    return stacked(parts), [*findings, *laid_around_told(met)], left_out


def _lines(
    shape: Shape, distance_mm: float, side: Side, corners: Corners, pitch_mm: float
) -> list[Beside]:
    if side == "inside" or side == "outside":  # noqa: PLR1714 - so that its type narrows
        region = region_of(shape, _EDGE_TOLERANCE_MM)
        pitch_mm = pitch_mm if side == "inside" else 0.0
        return beside_region(region, distance_mm, side, corners, pitch_mm)
    return [
        beside
        for line in lines_of(shape, _EDGE_TOLERANCE_MM)
        for beside in beside_line(line.points, distance_mm, side, corners)
    ]


def _spaced(
    line: Beside,
    lane: int,
    shape: Shape,
    bodies: Bodies,
    kit: Kit,
    settings: BorderSettings,
    others: Standing | None = None,
) -> Row:
    """Return one row of a border; every other one half a pitch on."""
    odd = settings.stagger == "brick" and lane % 2 == 1
    rule = Rule(kit.gap_mm, "free" if odd else "on", corner_deg=settings.corner_deg)
    if not line.closed:
        return space_row(line.points, closed=False, bodies=bodies, rule=rule, others=others)
    start = line.share_at(_start_of(shape, settings))
    rule = replace(rule, ends="on", start=start)
    if odd:
        count = len(space_row(line.points[:-1], closed=True, bodies=bodies, rule=rule))
        rule = replace(rule, start=(start + 0.5 / max(count, 1)) % 1.0)
    return space_row(line.points[:-1], closed=True, bodies=bodies, rule=rule, others=others)


def _start_of(shape: Shape, settings: BorderSettings) -> Floats:
    """Return the place on a shape's first line where its rows start."""
    points = lines_of(shape, _EDGE_TOLERANCE_MM)[0].points
    step = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(step)])
    at = settings.start * along[-1]
    return np.array([np.interp(at, along, points[:, 0]), np.interp(at, along, points[:, 1])])


def _short(rows: list[Row], bodies: Bodies, kit: Kit, others: Standing) -> float:
    """Return by how much rows, as they would stand alone, miss their gap to what stands."""
    asked = kit.gap_mm + LAY_SLACK_MM
    short = 0.0
    for row in rows:
        standing = Standing(row.xy, row.angle_deg, row.choice, bodies.footprints)
        _, gaps = neighbour_gaps_between(standing, others, asked)
        short = max(short, float((asked - gaps).max(initial=0.0)))
    return short


def _standing(seats: Seats, kit: Kit) -> Standing:
    return Standing(seats.xy, seats.angle_deg, seats.choice, kit.footprints)


def _seats(row: Row, lane: int) -> Seats:
    n = len(row)
    return Seats(
        row.xy,
        row.angle_deg,
        row.choice,
        np.zeros(n, dtype=np.int64),
        np.full(n, lane, dtype=np.int64),
        row.u,
        row.corner.astype(np.float64),
    )


def _no_room(shape: Shape, side: Side, lane: int, rows: int) -> Finding:
    x, y = shape.paths[0].segments[0, 0].tolist()
    count = "no row" if lane == 0 else "1 row" if lane == 1 else f"{lane} rows"
    return Finding(
        "no-room-for-row",
        "warning",
        f"There is room for {count} of the {rows} asked {_ON[side]} '{shape.id}'.",
        (x, y),
        mend="Ask for fewer rows, smaller pieces or a smaller gap.",
    )


_ON: Final[dict[Side, str]] = {
    "inside": "inside",
    "outside": "outside",
    "left": "left of",
    "right": "right of",
}


BORDER: Final = Way(
    name="border",
    settings=BorderSettings,
    needs="path",
    fills=False,
    mixes=False,
    lay=lay_border,
    rounds=True,
    help="Several rows beside a line, inside, outside or on both sides, staggered like bricks.",
)
