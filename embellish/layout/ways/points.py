"""The way ``points``: a piece at each place the drawing itself gives."""

from __future__ import annotations

from math import floor
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from embellish.arrays import Bools, Floats
from embellish.findings import Finding
from embellish.geometry.clashes import survivors
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.streams import Stream
from embellish.layout.ways.fills import dealt
from embellish.layout.ways.spots import At, spots_of
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_DRAWN_MM: Final = 0.002
"""A gap short by less is what was drawn and meant: drawings are no better than that."""


class PointsSettings(WaySettings):
    """Settings of a points lay."""

    at: At = "centre"
    """centre: each shape's centre of gravity; bounds: the centre of its bounds; nodes: the points
    its lines are drawn through; ends: both ends of its open lines."""
    turn: Literal["along", "across", "fixed"] = "fixed"
    """Which way pieces that are not round are turned: with the line (at centres, with the shape's
    longer side), across it, or all alike."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""


def lay_points(
    ground: Ground, kit: Kit, settings: PointsSettings, stream: Stream, progress: Progress
) -> Laid:
    """Set a piece at each place that the ground's shapes give.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        A row a path, u the index of the node. The sequence of pieces goes on from shape to shape.
        Where places are nearer than the gap the later one is dropped, with the finding
        ``points-too-near``; where the drawing is short of the gap by less than 0.002 mm it counts
        as meant, and the lay records the gap it keeps.
    """
    found = [spots_of(shape, settings.at) for shape in ground.shapes]
    counts = [len(spots) for spots in found]
    n = sum(counts)
    if n == 0:
        progress(1.0)
        return Laid(Seats.none(), (_nothing(settings.at),))
    xy = np.concatenate([spots.xy for spots in found])
    along = np.concatenate([spots.angle_deg for spots in found])
    across = 90.0 if settings.turn == "across" else 0.0
    angle = (0.0 if settings.turn == "fixed" else along) + across + settings.turn_deg
    seats = Seats(
        xy=xy,
        angle_deg=np.broadcast_to(angle, (n,)) + 0.0,
        choice=dealt(kit, np.arange(n), stream),
        shape=np.repeat(np.arange(len(found)), counts),
        row=np.concatenate([spots.path for spots in found]),
        u=np.concatenate([spots.u for spots in found]),
        weight=np.zeros(n),
    )
    keep, kept_mm = _apart(seats, kit)
    findings = _told(seats, keep, ground, kit)
    progress(1.0)
    gap_mm = None if kept_mm >= kit.gap_mm else kept_mm
    return Laid(seats.taken(np.flatnonzero(keep)), findings, gap_mm)


def _apart(seats: Seats, kit: Kit) -> tuple[Bools, float]:
    """Tell which seats keep their gap, the first first, and the gap that those keep."""
    within = kit.gap_mm + LAY_SLACK_MM
    pairs, gaps = neighbour_gaps(seats.xy, seats.angle_deg, seats.choice, kit.footprints, within)
    short = gaps < kit.gap_mm - _DRAWN_MM
    keep = survivors(len(seats), pairs[short], -np.arange(len(seats)))
    meant = keep[pairs].all(axis=1)
    least = float(gaps[meant].min(initial=np.inf))
    # Down to the micrometre, so that rounding a seat never breaks it.
    return keep, max(
        0.0, floor((least - LAY_SLACK_MM) * 1000.0) / 1000.0
    ) if meant.any() else within


def _told(seats: Seats, keep: Bools, ground: Ground, kit: Kit) -> tuple[Finding, ...]:
    out = np.flatnonzero(~keep)
    if not len(out):
        return ()
    first: Floats = seats.xy[out[0]]
    named = ground.shapes[int(seats.shape[out[0]])].id
    return (
        Finding(
            code="points-too-near",
            severity="warning",
            message=(
                f"{len(out)} of {len(seats)} points stand nearer to another than {kit.gap_mm:g} mm "
                f"between pieces, the first in '{named}', and carry none."
            ),
            where_mm=(float(first[0]), float(first[1])),
            mend="Move the points apart, or take smaller pieces or a smaller gap_mm.",
        ),
    )


def _nothing(at: str) -> Finding:
    return Finding(
        code="no-points",
        severity="warning",
        message=f"The shapes give no points at their {at}, so nothing is laid.",
        mend="Closed lines have no ends; take at = 'nodes' or at = 'centre'.",
    )


POINTS: Final = Way(
    name="points",
    settings=PointsSettings,
    needs="any",
    fills=False,
    edges=False,
    mixes=True,
    lay=lay_points,
    help="A piece at each point of the drawing: the centre of each shape, nodes or ends of lines.",
)
