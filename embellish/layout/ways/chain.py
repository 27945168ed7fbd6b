"""The way ``chain``: goods sold by the length, cut and laid along lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final, Literal

import numpy as np
import shapely
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.artwork.flatten import lines_of
from embellish.catalogue.strung import Strung
from embellish.findings import Finding, counted
from embellish.geometry.blocked import Room
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Bodies, Lined
from embellish.geometry.rows.offset import lines_beside
from embellish.geometry.rows.track import Track
from embellish.geometry.streams import Stream
from embellish.geometry.strings import Link, Strings, headings_deg, strung_along
from embellish.geometry.transforms import Affine
from embellish.layout.ways.around import in_the_way, joined_standing
from embellish.layout.ways.fills import stacked
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_TELLING: Final = 0.01
"""A string longer or shorter than its cloth by less is told of by nobody's eye."""


class ChainSettings(WaySettings):
    """What a lay of strung goods may say."""

    ends: Literal["on", "inset", "free"] = "inset"
    """Open lines: links on the ends, touching them from within, or half a gap left free."""
    corner_deg: Annotated[float, Field(ge=5, le=180)] = 35.0
    """A line that turns by more is a corner: the length is cut there; 180 cuts at none."""
    start: Annotated[float, Field(ge=0, le=1)] = 0.0
    """Closed lines: where round the line both ends meet, as a fraction."""
    reverse: bool = False
    """Whether it runs against the line."""
    offset_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    """It runs beside its line: to the right of the way it is drawn, below 0 to the left."""


def lay_chain(
    ground: Ground, kit: Kit, settings: ChainSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay cut lengths along every line of the ground's shapes.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        Each cut length is a row; u is the fraction of the line. Stretches too short for a length
        are told: ``string-too-short``.
    """
    del stream  # nothing here is random
    assert kit.strung is not None  # noqa: S101 - a job lays nothing else by this way
    link = _link(kit, kit.strung, ground.to_set)
    to_ground = ground.to_set.inverse()
    parts: list[Seats] = []
    findings: list[Finding] = []
    blocking = in_the_way(ground.occupied, kit.gap_mm)
    for number, shape in enumerate(ground.shapes):
        row = 0
        for line in lines_of(shape):
            for points, closed in lines_beside(line.points, line.closed, settings.offset_mm):
                # Where they are set links keep their pitch, and their gaps in the relaxed cloth.
                drawn = ground.to_set(points)
                track = Track.of(drawn[::-1] if settings.reverse else drawn, closed)
                if track.length <= 0.0:
                    continue
                seats = stacked(parts)
                earlier = Standing(seats.xy, seats.angle_deg, seats.choice, kit.footprints)
                look = _Around(
                    track, kit, joined_standing(blocking, earlier), ground.keep_out, to_ground
                )
                found = strung_along(
                    track, link, settings.ends, settings.corner_deg, settings.start, look
                )
                for run in found.runs:
                    parts.append(_seats(track, run, number, row, to_ground))
                    row += 1
                findings.extend(_told(found, shape.id, kit.strung, to_ground))
        progress((number + 1) / len(ground.shapes))
    findings.extend(_drawn_back(parts, link, kit.strung))
    return Laid(stacked(parts), tuple(findings))


@dataclass(frozen=True, eq=False)
class _Around:
    """Looks for what stands in the way of links along a line."""

    track: Track
    kit: Kit
    others: Standing
    keep_out: BaseGeometry | None
    to_ground: Affine
    """From where pieces are set, where the track lies, to the relaxed cloth, where gaps hold."""

    def __call__(self, low: float, high: float, runs: Sequence[Floats]) -> Room | None:
        """Return the room along a stretch, or None where nothing is near."""
        if high <= low:
            return None
        track, kit, place = self.track, self.kit, self.to_ground
        own = np.concatenate([np.zeros(0), *runs])
        bodies = Bodies(kit.footprints)
        lie = np.zeros(len(own))
        if not bodies.every_round:
            lie = np.concatenate([lie[:0], *(headings_deg(track, run) for run in runs)])
        choice = np.zeros(len(own), dtype=np.int64)
        standing = Standing(place(track.at(own)), bodies.angle(lie), choice, kit.footprints)
        everything = joined_standing(self.others, standing)
        reach = float(kit.reach_mm.max())
        asked = kit.gap_mm + LAY_SLACK_MM
        ends = np.array([low, high])
        line = place(np.concatenate([track.at(ends), track.vertices_between(low, high)]))
        within = reach + asked + float(everything.reach_mm.max(initial=0.0)) + 2.0 * reach
        near = everything.within(line.min(axis=0) - within, line.max(axis=0) + within)
        barred = self.keep_out is not None and not self.keep_out.is_empty
        if not len(near) and not barred:
            return None
        # Room changes by no more than a link moves, and it may move more there than here.
        _, quickest = place.stretches()
        scale = max(1.0, quickest)

        def room(s: Floats) -> Floats:
            window = np.full(len(s), reach)
            tangent = track.tangent_deg(s, s - window, s + window, reach)
            zero = np.zeros(len(s), dtype=np.int64)
            along = Lined(s, place(track.at(s)), tangent, zero, np.zeros(len(s)), zero)
            clear = bodies.room(along, near, asked, 2.0 * reach) / scale
            if barred:
                away = shapely.distance(self.keep_out, shapely.points(along.xy))
                clear = np.minimum(clear, (away - reach - LAY_SLACK_MM) / scale)
            return clear

        return room


def _link(kit: Kit, strung: Strung, to_set: Affine) -> Link:
    x0, _, x1, _ = kit.footprints[0].bounds_mm
    # Cut ends come nearer as the cloth draws back, and keep their gap then.
    _, most = to_set.stretches()
    apart = max(1.0, most) * (x1 - x0 + kit.gap_mm + LAY_SLACK_MM)
    return Link(
        pitch_mm=strung.pitch_mm,
        half_mm=(x1 - x0) / 2.0,
        gap_mm=apart - (x1 - x0),
        least_bend_mm=strung.least_bend_mm,
        least_links=strung.least_links,
    )


def _seats(track: Track, run: Floats, shape: int, row: int, to_ground: Affine) -> Seats:
    n = len(run)
    none = np.zeros(n, dtype=np.int64)
    return Seats(
        xy=to_ground(track.at(run)),
        angle_deg=headings_deg(track, run),
        choice=none,
        shape=np.full(n, shape, dtype=np.int64),
        row=np.full(n, row, dtype=np.int64),
        u=np.mod(run / track.length, 1.0 + 1e-12),
        weight=np.zeros(n),
    )


def _drawn_back(parts: Sequence[Seats], link: Link, strung: Strung) -> Iterator[Finding]:
    """Tell of strings on a board: cloth that draws back is shorter than what was set on it."""
    steps = [np.hypot(*np.diff(part.xy, axis=0).T) for part in parts]
    share = link.pitch_mm / np.concatenate([np.ones(1) * link.pitch_mm, *steps]) - 1.0
    worst = float(share[np.argmax(np.abs(share))])
    if abs(worst) < _TELLING:
        return
    longer, does = (
        ("shorter", "stands off it or ripples it")
        if worst > 0.0
        else (
            "longer",
            "holds it or breaks",
        )
    )
    yield Finding(
        "string-on-board",
        "warning",
        f"it is laid with its own {strung.pitch_mm:g} mm from link to link on the board; off the"
        f" board the cloth beneath is up to {abs(worst):.0%} {longer} than it, and it {does}",
        mend='Set it with the cloth lying flat, in a job of its own with set = "flat"; or cut it'
        " into short lengths with breaks between, and make the cloth test first.",
    )


def _told(found: Strings, shape_id: str, strung: Strung, to_ground: Affine) -> Iterator[Finding]:
    if len(found.parted):
        x, y = to_ground(found.parted[0]).tolist()
        places = counted(len(found.parted), "place")
        yield Finding(
            "laid-around",
            "note",
            f"'{shape_id}' is cut at {places} before what stands in the way, and begins again"
            " behind it",
            (x, y),
            mend="Move the lines apart, or put the lay that matters more first.",
        )
    if len(found.bare):
        *at, length = found.bare[0].tolist()
        x, y = to_ground(np.array(at)).tolist()
        stretches = counted(len(found.bare), "stretch", "stretches")
        are, stay = ("is", "stays") if len(found.bare) == 1 else ("are", "stay")
        yield Finding(
            "string-too-short",
            "warning",
            f"{stretches} of '{shape_id}' between corners, tight bends or what stands in the way,"
            f" the first {length:.1f} mm long, {are} too short for a length of"
            f" {strung.least_links} links and {stay} bare",
            (x, y),
            mend="Raise corner_deg, take what bends tighter, or set single pieces there.",
        )


CHAIN: Final = Way(
    name="chain",
    settings=ChainSettings,
    needs="path",
    fills=False,
    edges=False,
    mixes=False,
    lay=lay_chain,
    rounds=True,
    help="goods sold by the length (stone chain, strung sequins), cut and laid along lines",
)
