"""The way ``cluster``: a small arrangement of pieces, repeated along lines or at points."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field, model_validator

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import Line, lines_of
from embellish.errors import UnfitError
from embellish.findings import Finding
from embellish.geometry.clashes import survivors
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.row import Row, Rule, space_row
from embellish.geometry.streams import Stream
from embellish.layout.ways.arrangements import (
    DRAWN_MM,
    Place,
    checked,
    flipped,
    footprint,
    gap_within,
    rays,
)
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.spots import spots_of
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_RAYS: Final = {"flower": 6, "cross": 4, "burst": 8}
_LENGTH: Final = {"flower": 1, "cross": 2, "burst": 2}


class Member(WaySettings):
    """One piece of a cluster of one's own."""

    piece: Annotated[int, Field(ge=1, le=1000)] = 1
    """Which of the lay's pieces, counted from 1."""
    dx_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """Along the cluster's direction from its centre."""
    dy_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """Across it, to the right of the direction."""
    angle_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Turn of the piece against the cluster, clockwise as seen."""


class ClusterSettings(WaySettings):
    """Settings of a cluster lay."""

    arrangement: Literal["flower", "cross", "burst"] = "flower"
    """flower: a centre and a ring; cross: four arms; burst: rays, every other one shorter. The
    lay's first piece is the centre, the next ones follow outward."""
    rays: Annotated[int, Field(ge=2, le=60)] | None = None
    """How many petals, arms or rays; none given: 6, 4, 8."""
    length: Annotated[int, Field(ge=1, le=20)] | None = None
    """How many pieces on a ray; none given: 1 for a flower, else 2."""
    members: tuple[Member, ...] = ()
    """A cluster of one's own, instead of ``arrangement``."""
    at: Literal["along", "centre", "bounds", "nodes", "ends"] = "along"
    """along: repeated along the lines; else at the points the drawing gives (see ``points``)."""
    pitch_mm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    """Along lines: from centre to centre, brought to a whole number; none given: as near as the
    gap allows."""
    ends: Literal["on", "inset", "free"] = "on"
    """Open lines: centres on the ends, clusters inset to touch them, or half a gap left free."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 30.0
    """Lines that turn by more have a cluster in the corner, where those beside it then find room;
    180 sets none."""
    turn: Literal["along", "fixed"] = "along"
    """Whether clusters turn with the line or shape, or all stand alike."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""
    mirror: Literal["none", "alternate", "halves"] = "none"
    """alternate: every other cluster is mirrored, so that they stand in pairs; halves: those of
    the second half of a line are, so that both halves are alike."""

    @model_validator(mode="after")
    def _one_arrangement(self) -> ClusterSettings:
        if self.members and (self.rays is not None or self.length is not None):
            raise UnfitError(
                "members are listed, so rays and length mean nothing", "Leave rays and length out."
            )
        return self

    def places(self, kit: Kit) -> tuple[Place, ...]:
        """Return the members of one cluster."""
        if self.members:
            return checked(
                [
                    Place(member.piece - 1, member.dx_mm, member.dy_mm, member.angle_deg)
                    for member in self.members
                ],
                kit,
            )
        count = self.rays or _RAYS[self.arrangement]
        long = self.length or _LENGTH[self.arrangement]
        short = max(1, long - 1) if self.arrangement == "burst" else long
        return rays(kit, [short if index % 2 else long for index in range(count)])


@dataclass(frozen=True, eq=False)
class _Stands:
    """Where clusters stand: places, turns, and whether each is mirrored."""

    xy: Floats
    angle_deg: Floats
    mirrored: Bools
    shape: Ints


def lay_cluster(
    ground: Ground, kit: Kit, settings: ClusterSettings, stream: Stream, progress: Progress
) -> Laid:
    """Repeat a cluster along each line of the ground's shapes, or at their points.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Each cluster is a row, u the index of its member. A cluster that comes too near an earlier
        one is left out whole: ``clusters-too-near``.

    Raises
    ------
    JobError
        Where the members listed stand too near each other, or name no piece.
    """
    del stream  # nothing here is random
    places = settings.places(kit)
    kinds = (places, flipped(places))
    bodies = (footprint(kinds[0], kit), footprint(kinds[1], kit))
    stands = []
    for number, shape in enumerate(ground.shapes):
        stands.append(_stands(shape, number, bodies, kit, settings))
        progress((number + 1) / len(ground.shapes))
    every = _Stands(
        np.concatenate([each.xy for each in stands]),
        np.concatenate([each.angle_deg for each in stands]),
        np.concatenate([each.mirrored for each in stands]),
        np.concatenate([each.shape for each in stands]),
    )
    keep, least = _apart(every, bodies, kit)
    # A piece alone has no gap of its own: all that is wanted is kept.
    least = min(least, *(gap_within(kind, kit) for kind in kinds), kit.gap_mm + LAY_SLACK_MM)
    findings = _told(every, keep, ground, kit)
    kept_mm = max(0.0, floor((least - LAY_SLACK_MM) * 1000.0) / 1000.0)
    gap_mm = kept_mm if least < kit.gap_mm + LAY_SLACK_MM and kept_mm < kit.gap_mm else None
    return Laid(_seats(every, np.flatnonzero(keep), kinds), findings, gap_mm)


def _stands(
    shape: Shape,
    number: int,
    bodies: tuple[Footprint, Footprint],
    kit: Kit,
    settings: ClusterSettings,
) -> _Stands:
    """Return where clusters stand on one shape."""
    if settings.at != "along":
        spots = spots_of(shape, settings.at)
        angle = spots.angle_deg if settings.turn == "along" else np.zeros(len(spots))
        mirrored = np.zeros(len(spots), dtype=np.bool_)
        if settings.mirror == "alternate":
            mirrored = np.arange(len(spots)) % 2 == 1
        elif settings.mirror == "halves":
            mirrored = np.arange(len(spots)) >= (len(spots) + 1) // 2
        return _Stands(
            spots.xy,
            angle + settings.turn_deg,
            mirrored,
            np.full(len(spots), number, dtype=np.int64),
        )
    sequence: tuple[Footprint, ...] = bodies[:1]
    if settings.mirror == "alternate":
        sequence = bodies
    elif settings.mirror == "halves":
        # Which half one stands in is known when all stand: each has room for either.
        sequence = (Footprint.of(*bodies[0].parts, *bodies[1].parts),)
    along = Bodies(sequence, settings.turn == "along", settings.turn_deg)
    rule = Rule(kit.gap_mm, settings.ends, corner_deg=settings.corner_deg)
    parts = [_row(line, along, rule, settings) for line in lines_of(shape)]
    every = np.concatenate([row.xy for row, _ in parts])
    return _Stands(
        every,
        np.concatenate([row.angle_deg for row, _ in parts]),
        np.concatenate([flip for _, flip in parts]),
        np.full(len(every), number, dtype=np.int64),
    )


def _row(line: Line, along: Bodies, rule: Rule, settings: ClusterSettings) -> tuple[Row, Bools]:
    """Return clusters along one line, and which are mirrored."""
    row = _spaced(line, along, rule, settings.pitch_mm)
    if len(row.left_out_mm):
        # Clusters are large: with one in every corner there may be no even room between.
        plain = _spaced(line, along, replace(rule, corner_deg=180.0), settings.pitch_mm)
        row = plain if len(plain.left_out_mm) < len(row.left_out_mm) else row
    if settings.mirror == "halves":
        return row, np.arange(len(row)) >= (len(row) + 1) // 2
    return row, np.asarray(row.choice == 1, dtype=np.bool_)


def _spaced(line: Line, along: Bodies, rule: Rule, pitch_mm: float | None) -> Row:
    """Space clusters along a line, each stretch between corners brought to a whole number."""
    row = space_row(line.points, line.closed, along, rule)
    if pitch_mm is None or row.short:
        return row
    step = np.diff(line.points, axis=0)
    length = float(np.hypot(step[:, 0], step[:, 1]).sum())
    corners = np.sort(row.s[row.corner])
    if line.closed:
        bounds = np.append(corners, corners[0] + length) if len(corners) else [0.0, length]
    else:
        bounds = np.concatenate([[0.0], corners[(corners > 0.0) & (corners < length)], [length]])
    steps = int(np.maximum(np.rint(np.diff(bounds) / pitch_mm), 1.0).sum())
    if not line.closed:
        steps += 1 if rule.ends == "on" else 0
    return space_row(line.points, line.closed, along, replace(rule, count=steps))


def _apart(stands: _Stands, bodies: tuple[Footprint, Footprint], kit: Kit) -> tuple[Bools, float]:
    """Tell which clusters keep their gap to earlier ones, and the least gap those keep."""
    kind = stands.mirrored.astype(np.int64)
    pairs, gaps = neighbour_gaps(
        stands.xy, stands.angle_deg, kind, bodies, kit.gap_mm + 4.0 * LAY_SLACK_MM
    )
    short = gaps < kit.gap_mm - DRAWN_MM
    keep = survivors(len(kind), pairs[short], -np.arange(len(kind)))
    meant = keep[pairs].all(axis=1)
    return keep, float(gaps[meant].min(initial=np.inf))


def _seats(
    stands: _Stands, kept: Ints, kinds: tuple[tuple[Place, ...], tuple[Place, ...]]
) -> Seats:
    """Return the members of all clusters as seats."""
    parts = []
    row, before = 0, -1
    for index in kept.tolist():
        shape = int(stands.shape[index])
        row = row + 1 if shape == before else 0
        before = shape
        places = kinds[int(stands.mirrored[index])]
        turn = float(stands.angle_deg[index])
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        step = np.array([(place.dx_mm, place.dy_mm) for place in places])
        n = len(places)
        parts.append(
            Seats(
                xy=stands.xy[index] + step @ np.array([[cos, sin], [-sin, cos]]),
                angle_deg=np.array([place.angle_deg + turn for place in places]),
                choice=np.array([place.choice for place in places], dtype=np.int64),
                shape=np.full(n, shape, dtype=np.int64),
                row=np.full(n, row, dtype=np.int64),
                u=np.arange(n, dtype=np.float64),
                weight=np.zeros(n),
            )
        )
    return stacked(parts)


def _told(stands: _Stands, keep: Bools, ground: Ground, kit: Kit) -> tuple[Finding, ...]:
    out = np.flatnonzero(~keep)
    if not len(keep):
        return (
            Finding(
                code="no-points",
                severity="warning",
                message="The shapes give no place for a cluster, so nothing is laid.",
                mend="Closed lines have no ends; take at = 'along', 'nodes' or 'centre'.",
            ),
        )
    if not len(out):
        return ()
    first = stands.xy[out[0]]
    named = ground.shapes[int(stands.shape[out[0]])].id
    return (
        Finding(
            code="clusters-too-near",
            severity="warning",
            message=(
                f"{len(out)} of {len(keep)} clusters would stand nearer to another than "
                f"{kit.gap_mm:g} mm, the first in '{named}', and are left out."
            ),
            where_mm=(float(first[0]), float(first[1])),
            mend="Take a longer pitch_mm, a smaller cluster, or places further apart.",
        ),
    )


CLUSTER: Final = Way(
    name="cluster",
    settings=ClusterSettings,
    needs="any",
    fills=False,
    edges=False,
    mixes=False,
    lay=lay_cluster,
    help="A small arrangement (flower, cross, burst, or your own) repeated along lines or points.",
)
