"""The way ``scatter``: pieces strewn over a region, at random, settled, or a set number of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.insets import Room
from embellish.geometry.mixes import Mixed, number_for
from embellish.geometry.poisson import Obstacles, maximal_points
from embellish.geometry.poisson_fades import Share, faded_points
from embellish.geometry.settling import settle
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import first_come
from embellish.layout.ways.fades import Fade
from embellish.layout.ways.fills import KEPT_SLACK_MM, room_of, stacked, too_small
from embellish.layout.ways.scatter_numbers import (
    areal_room,
    blended_sizes,
    dealt_out,
    even_shares,
    lone,
    settled,
    tightest,
)
from embellish.layout.ways.scatter_shaped import scattered
from embellish.layout.ways.scatter_words import gap_found, not_reached, refuse
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_EVENEST: Final = 0.2
"""How far above its gaps a maximal random fill can be settled: it covers 0.547, at best 0.79."""
_EVENING: Final = 200
_FILLINGS: Final = 4
_MIXED: Final = 0.6
"""Density of a mix of sizes where none is asked."""


class ScatterSettings(WaySettings):
    """Settings of a scatter lay."""

    density: Literal["random"] | Annotated[float, Field(ge=0.02, le=0.85)] = "random"
    """random: strewn until no further piece fits; a number: the share of the region that pieces
    with half their gap cover. Up to about 0.77 can be settled."""
    count: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    """How many pieces each shape gets, in place of a density."""
    packing: Literal["strewn", "tightest"] = "strewn"
    """tightest: the count's pieces stand as far apart as they can; for up to 200 of them."""
    sizes: Literal["mix", "pave"] = "mix"
    """Pieces of several sizes: mix keeps their shares; pave lays the largest first and each
    smaller size into what is left."""
    fade: Fade | None = None
    """A field along which pieces stand further and further apart."""
    turn: Literal["random", "fixed"] = "random"
    """How pieces that are not round are turned."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """The fixed turn, clockwise as seen."""


def lay_scatter(
    ground: Ground, kit: Kit, settings: ScatterSettings, stream: Stream, progress: Progress
) -> Laid:
    """Strew pieces over each shape of the ground.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        One row a shape, u the index in bands across the region. A region with no room for one
        piece is the finding ``region-too-small``; a density that cannot be reached
        ``density-not-reached``.

    Raises
    ------
    JobError
        Where the settings contradict each other.
    """
    refuse(kit, settings)
    parts: list[Seats] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        region = region_of(shape)
        room = room_of(region, ground, kit, stacked(parts))

        def told(share: float, number: int = number) -> None:
            progress((number + share) / len(ground.shapes))

        own = stream.child(shape.id)
        points, angle, wished = _points(room, kit, settings, region, own, told)
        if len(points):
            seats = _seats(points, angle, kit)
            parts.append(replace(seats, shape=np.full(len(seats), number, dtype=np.int64)))
            if len(points) < 0.98 * wished - 1:
                findings.append(not_reached(shape.id, region, len(points), wished))
            if settings.packing == "tightest":
                findings.append(gap_found(shape.id, points, kit))
        else:
            findings.append(too_small(shape, region, kit))
        told(1.0)
    return Laid(stacked(parts), tuple(findings))


def _points(
    room: Room,
    kit: Kit,
    settings: ScatterSettings,
    region: BaseGeometry,
    stream: Stream,
    progress: Progress,
) -> tuple[Mixed, Floats, int]:
    """Return the points of one region, the turn of each, and how many were wished."""
    if _by_outline(kit, settings):
        turn = None if settings.turn == "random" else settings.turn_deg
        xy, angle = scattered(room, kit.footprints[0], kit.gap_mm, turn, stream, progress)
        return Mixed(xy, np.zeros(len(xy), dtype=np.int64)), angle, 0
    points, wished = _round_points(room, kit, settings, region, stream, progress)
    points = _true(points, room, kit)
    angle = np.full(len(points), settings.turn_deg)
    if settings.turn == "random":
        angle = np.round(360.0 * stream.child("turn").uniform(0, len(points)), 6)
    return points, angle, wished


def _by_outline(kit: Kit, settings: ScatterSettings) -> bool:
    """Tell whether one piece that is not round is strewn by its true outline.

    Mixes, densities, fades and evened fills take the circles that hold their pieces.
    """
    alone = len(kit.footprints) == 1 and kit.footprints[0].round_radius_mm is None
    plain = settings.density == "random" and settings.settle == 0.0 and settings.fade is None
    return alone and plain and settings.count is None


def _round_points(
    room: Room,
    kit: Kit,
    settings: ScatterSettings,
    region: BaseGeometry,
    stream: Stream,
    progress: Progress,
) -> tuple[Mixed, int]:
    """Return the points of one region, which piece stands on each, and how many were wished."""
    reach = kit.reach_mm
    half = reach + (kit.gap_mm + LAY_SLACK_MM) / 2.0
    grounds = [room.centres(float(radius)) for radius in reach]
    if all(ground.is_empty for ground in grounds):
        return Mixed(np.zeros((0, 2)), np.zeros(0, dtype=np.int64)), 0
    if settings.packing == "tightest" and settings.count is not None:
        return tightest(room, kit, settings.count, stream, progress), settings.count
    if settings.sizes == "pave":
        return _paved(grounds, half, stream, progress), 0
    widest = int(np.argmax(half))
    equal = bool(np.all(half == half[0]))
    free = settings.density == "random" and settings.count is None
    if settings.fade is not None or (equal and free):
        # A mix of sizes that fades has room for the largest at each place.
        share = None if settings.fade is None else settings.fade.over_share([region])
        xy = _random(grounds[widest], float(half[widest]), settings, share, stream, progress)
        return Mixed(xy, dealt_out(kit, xy, stream)), 0
    area = areal_room(grounds, half)
    if settings.count is not None:
        wished = settings.count
    else:
        density = _MIXED if settings.density == "random" else settings.density
        wished = number_for(area, half, list(even_shares(kit).shares or ()), density)
    evenness = 0.01 + _EVENEST * settings.settle
    if wished == 0:
        return lone(grounds), 1
    if kit.blend is not None and not equal:
        found = blended_sizes(grounds, half, kit.blend, wished, evenness, stream, progress)
    else:
        found = settled(grounds, half, kit, wished, area, evenness, stream, progress)
        if kit.blend is not None:
            found = Mixed(found.xy, dealt_out(kit, found.xy, stream))
    return found, wished


def _random(
    ground: BaseGeometry,
    half_mm: float,
    settings: ScatterSettings,
    share: Share | None,
    stream: Stream,
    progress: Progress,
) -> Floats:
    """Return points at random, evened as far as asked, with no room for another."""
    own = stream.child("points")

    def strewn(done: float) -> None:
        progress(done if settings.settle == 0.0 else done / 2.0)

    if share is not None:
        xy, half = faded_points(ground, 2.0 * half_mm, share, own, strewn)
    else:
        xy = maximal_points(ground, 2.0 * half_mm, own, progress=strewn)
        half = np.full(len(xy), half_mm)
    if settings.settle == 0.0 or len(xy) < 2:
        return xy
    reach = _EVENEST * settings.settle
    if share is not None:
        return _evened(xy, half, ground, reach, lambda done: progress((1.0 + done) / 2.0))
    for turn in range(_FILLINGS):

        def eased(done: float, turn: int = turn) -> None:
            progress((1.0 + (turn + done) / _FILLINGS) / 2.0)

        xy = _evened(xy, half, ground, reach, eased)
        # Holes that closed up elsewhere may have opened here.
        stands = Obstacles(xy, 2.0 * half)
        more = maximal_points(ground, 2.0 * half_mm, stream.child(f"more {turn}"), stands)
        xy = np.concatenate([xy, more])
        half = np.full(len(xy), half_mm)
        if not len(more):
            break
    return xy


def _evened(xy: Floats, half: Floats, ground: BaseGeometry, reach: float, told: Progress) -> Floats:
    where = np.zeros(len(xy), dtype=np.int64)
    evened = settle(xy, half, [ground], where, reach=reach, evening=_EVENING, progress=told)
    return xy if evened.short_mm > 0.0 else evened.xy


def _paved(grounds: list[BaseGeometry], half: Floats, stream: Stream, progress: Progress) -> Mixed:
    """Return as many points of each size as fit, the largest first."""
    xy, size = np.zeros((0, 2)), np.zeros(0, dtype=np.int64)
    order = np.argsort(-half, kind="stable").tolist()
    for turn, each in enumerate(order):
        stands = Obstacles(xy, half[size] + half[each])
        more = maximal_points(
            grounds[each], 2.0 * float(half[each]), stream.child(f"size {each}"), stands
        )
        xy = np.concatenate([xy, more])
        size = np.concatenate([size, np.full(len(more), each, dtype=np.int64)])
        progress((turn + 1) / len(order))
    return Mixed(xy, size)


def _true(points: Mixed, room: Room, kit: Kit) -> Mixed:
    """Keep what truly has its room: the last word on gaps and edges."""
    reach = kit.reach_mm
    points = points.taken(room.holds(points.xy, reach[points.size], slack_mm=KEPT_SLACK_MM))
    half = reach[points.size] + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
    return points.taken(first_come(points.xy, half, np.arange(len(points), dtype=np.float64)))


def _seats(points: Mixed, angle_deg: Floats, kit: Kit) -> Seats:
    """Return the seats in bands across the region, to and fro."""
    n = len(points)
    band_mm = 3.0 * float(kit.reach_mm.max()) + kit.gap_mm
    band = np.floor((points.xy[:, 1] - points.xy[:, 1].min()) / band_mm).astype(np.int64)
    along = np.where(band % 2 == 0, points.xy[:, 0], -points.xy[:, 0])
    order = np.lexsort((along, band))
    choice = points.size[order]
    turns = np.array(kit.turns)[choice]
    return Seats(
        xy=points.xy[order],
        angle_deg=np.where(turns > 0.0, angle_deg[order], 0.0),
        choice=choice,
        shape=np.zeros(n, dtype=np.int64),
        row=np.zeros(n, dtype=np.int64),
        u=np.arange(n, dtype=np.float64),
        weight=np.zeros(n),
    )


SCATTER: Final = Way(
    name="scatter",
    settings=ScatterSettings,
    needs="region",
    fills=True,
    mixes=True,
    lay=lay_scatter,
    help="Pieces strewn over a region at random, until no more fit or to a density; mixes, fades.",
    blends="own",
)
