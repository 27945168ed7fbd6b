"""Rings: rows that run round a region from its edge inward, one inside the other.

Each row nests in the one outside it and touches it all along, so rows cannot clash with one another
and stand crisp; only where rows from different sides meet is there a clash or a hole. There clashes
are kept down to 0.85 of the distance and holes filled down to 0.9 of it, and then those pieces and
the ones around them, but never the edge row, are settled until every gap holds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, Literal

import numpy as np
import shapely
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.contours import along_ring, ring_lines
from embellish.geometry.insets import Room, areal
from embellish.geometry.nesting import MEAN_STEP, Nest, further_in
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import first_come
from embellish.layout.ways.crowds import (
    Crowd,
    beside_holes,
    crowd_kept,
    evened,
    filled_up,
    joined,
    rank_of,
    seats_of,
    true_to,
)
from embellish.layout.ways.fills import KEPT_SLACK_MM, dealt, room_of, stacked, too_small
from embellish.layout.ways.rings_shaped import shaped_rings
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM


@dataclass(frozen=True)
class _Packing:
    """How rows follow one another and what is done where they meet, in distances.

    Parameters
    ----------
    step
        From one row to the next.
    nests
        Whether each row is drawn against the ones before, so that they touch all along.
    hole
        From what share of the distance on a hole is filled. Less fills more but tears rows open:
        at 0.71 the middles of squares would count.
    around
        How far around a clash or a filled hole pieces may give way.
    """

    step: float
    nests: bool
    hole: float
    around: float


_PACKINGS: Final = {
    "crisp": _Packing(MEAN_STEP, nests=True, hole=0.9, around=3.0),
    "dense": _Packing(0.96, nests=False, hole=0.78, around=6.0),
}


class RingsSettings(WaySettings):
    """Settings of a rings lay."""

    alternate: Literal["place", "row"] = "place"
    """Whether a sequence of pieces goes on from place to place, or from row to row."""
    packing: Literal["crisp", "dense"] = "crisp"
    """crisp nests whole rows in one another; dense crowds them, for some more, less even."""
    rows: int | None = Field(default=None, ge=1, le=10_000)
    """How many rows from the edge, or none given: all the way in, with the middle filled."""
    turn: Literal["along", "across", "fixed"] = "along"
    """How pieces that are not round are turned: along their row, across it, or all alike."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""


def lay_rings(
    ground: Ground, kit: Kit, settings: RingsSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay rings in each shape of the ground.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Each ring is a row, counted from the edge inward; pieces that fill the middle are one more
        row. A region with no room for one piece is the finding ``region-too-small``.
    """
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        region = region_of(shape)
        room = room_of(region, ground, kit, stacked(parts))

        def told(share: float, number: int = number) -> None:
            progress((number + share) / len(ground.shapes))

        if all(footprint.round_radius_mm is not None for footprint in kit.footprints):
            seats = _ringed(room, kit, settings, told)
        else:
            turn, added = settings.turn, settings.turn_deg
            seats = shaped_rings(
                shape,
                region,
                ground,
                kit,
                stacked(parts),
                rows=settings.rows,
                turn=turn,
                turn_deg=added,
            )
        if kit.shares is not None:
            seats = replace(seats, choice=dealt(kit, seats.choice, stream.child(shape.id)))
        if len(seats):
            parts.append(replace(seats, shape=np.full(len(seats), number, dtype=np.int64)))
        else:
            findings.append(too_small(shape, region, kit))
        told(1.0)
    return Laid(stacked(parts), tuple(findings))


def _ringed(room: Room, kit: Kit, settings: RingsSettings, progress: Progress) -> Seats:
    """Lay rings in one region."""
    # A mix is dealt out when the count is known; each of its places has room for the largest.
    reach = kit.reach_mm if kit.shares is None else np.full(1, kit.reach_mm.max())
    half = reach + (kit.gap_mm + LAY_SLACK_MM) / 2.0
    grounds = [room.centres(float(radius)) for radius in reach]
    stand = _rows(grounds, half, settings, progress)
    progress(_OF_ROWS)
    # Rows touch exactly: what is laid to the full slack is judged by a little less.
    half = reach + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
    if settings.rows is None:
        packing, by_row = _PACKINGS[settings.packing], settings.alternate == "row"
        stand = crowd_kept(stand, half)
        stand = filled_up(
            stand,
            half,
            grounds,
            progress,
            hole=packing.hole,
            by_row=by_row,
            around=packing.around,
        )
    else:
        stand = stand.taken(first_come(stand.xy, half[stand.size], rank_of(stand)))
    progress(0.8)
    if settings.rows is None:
        about = stand.loose | beside_holes(stand, half, grounds)
        stand = evened(
            stand, half, grounds, about, progress=lambda done: progress(0.8 + 0.2 * done)
        )
    stand = true_to(stand, room, reach, half)
    return seats_of(stand)


_OF_ROWS: Final = 0.1
"""The share of the work that is done when all rows are laid."""


def _rows(
    grounds: list[BaseGeometry], half: Floats, settings: RingsSettings, progress: Progress
) -> Crowd:
    """Return every ring's row, from the edge inward, each nested in the rows before."""
    k = len(half)
    packing, by_row = _PACKINGS[settings.packing], settings.alternate == "row"
    widest = int(np.argmax(half))
    stand = Crowd.none()
    level = areal(grounds[0] if by_row else grounds[widest])
    contour = 0
    while not level.is_empty and contour != settings.rows:
        # How many there will be is not known: each tells a little less than the one before.
        progress(_OF_ROWS * contour / (contour + 10))
        sequence = np.array([contour % k]) if by_row else np.arange(k)
        here, after = (widest, widest) if not by_row else (contour % k, (contour + 1) % k)
        step = float(half[here] + half[after])
        nests = packing.nests and len(stand) > 0
        nest = Nest(stand.xy, half[stand.size], float(half[here])) if nests else None
        rows: list[Crowd] = []
        lines: list[list[Floats]] = []
        number = int(stand.row.max(initial=-1)) + 1
        for part in shapely.get_parts(shapely.orient_polygons(level)):
            lines.append([])
            nearer = step * (1.0 - packing.step) if contour else 0.0
            for ring in ring_lines(part, step, nearer):
                row = along_ring(ring, half[sequence], nest=nest)
                n = len(row.xy)
                mine = np.full(n, number + len(rows), dtype=np.int64)
                edge, no = np.full(n, contour == 0), np.zeros(n, dtype=np.bool_)
                rows.append(Crowd(row.xy, sequence[row.size], mine, row.u, row.corner, edge, no))
                lines[-1].append(row.line if n else ring)
        stand = joined([stand, *rows])
        level = further_in(lines, step * packing.step)
        contour += 1
    return stand


RINGS: Final = Way(
    name="rings",
    settings=RingsSettings,
    needs="region",
    fills=True,
    mixes=True,
    lay=lay_rings,
    help="Rows that run round a region from its edge inward, the middle filled.",
    blends="any",
)
