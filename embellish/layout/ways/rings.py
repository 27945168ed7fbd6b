"""Rings: rows that run round a region from its edge inward, one inside the other.

Rows a full distance apart cannot clash with one another, so they stand crisp; only where rows from
different sides meet is there a clash or a hole. There clashes are kept down to 0.85 of the
distance and holes filled down to 0.9 of it, and then those pieces and the ones around them, but
never the edge row, are settled until every gap holds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.flatten import region_of
from embellish.findings import Finding
from embellish.geometry.contours import along_ring, contour_rings
from embellish.geometry.insets import Room
from embellish.geometry.settling import neighbours, settle
from embellish.geometry.streams import Stream
from embellish.geometry.vacancies import filled_holes, first_come, worst_crowded
from embellish.layout.ways.fills import KEPT_SLACK_MM, dealt, room_of, stacked, too_small
from embellish.layout.ways.rings_shaped import shaped_rings
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import LAY_SLACK_MM

_CLASH_KEPT: Final = 0.85
_HOLE_FILLED: Final[dict[str, float]] = {"crisp": 0.9, "dense": 0.78}
"""Less fills more but tears rows open: at 0.71 the middles of squares would count."""
_STEP: Final[dict[str, float]] = {"crisp": 1.0, "dense": 0.96}
_AROUND: Final = 6.0
"""How many distances around a clash or a filled hole pieces may give way."""
_EVENED: Final = 3.0
"""The same for evening out: less, so that rows further off stay crisp."""
_EVENING: Final = 120
_EVEN_REACH: Final = 0.2
_PASSES: Final = 8
_FILLINGS: Final = 3


class RingsSettings(WaySettings):
    """Settings of a rings lay."""

    alternate: Literal["place", "row"] = "place"
    """Whether a sequence of pieces goes on from place to place, or from row to row."""
    packing: Literal["crisp", "dense"] = "crisp"
    """crisp keeps rows a full distance apart; dense lets them nest, for more pieces, less even."""
    rows: int | None = Field(default=None, ge=1, le=10_000)
    """How many rows from the edge, or none given: all the way in, with the middle filled."""
    turn: Literal["along", "across", "fixed"] = "along"
    """How pieces that are not round are turned: along their row, across it, or all alike."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""


@dataclass(frozen=True, eq=False)
class _Stand:
    """Pieces as they stand while a region is being filled.

    Parameters
    ----------
    xy, size, row, u, corner
        Columns, one entry a piece; size indexes the kit's footprints, row -1 is filled in later.
    edge : bool array of shape (n,)
        The edge row, which is not moved.
    loose : bool array of shape (n,)
        Pieces that were added to fill a hole.
    """

    xy: Floats
    size: Ints
    row: Ints
    u: Floats
    corner: Bools
    edge: Bools
    loose: Bools

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, keep: Bools | Ints) -> _Stand:
        columns = ("xy", "size", "row", "u", "corner", "edge", "loose")
        return _Stand(*(getattr(self, name)[keep] for name in columns))

    def with_more(self, xy: Floats, size: int) -> _Stand:
        n = len(xy)
        no, yes = np.zeros(n, dtype=np.bool_), np.ones(n, dtype=np.bool_)
        return _Stand(
            np.concatenate([self.xy, xy]),
            np.concatenate([self.size, np.full(n, size, dtype=np.int64)]),
            np.concatenate([self.row, np.full(n, -1, dtype=np.int64)]),
            np.concatenate([self.u, np.zeros(n)]),
            np.concatenate([self.corner, no]),
            np.concatenate([self.edge, no]),
            np.concatenate([self.loose, yes]),
        )


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
            seats = _ringed(room, kit, settings, stream.child(shape.id), told)
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


def _ringed(
    room: Room, kit: Kit, settings: RingsSettings, stream: Stream, progress: Progress
) -> Seats:
    """Lay rings in one region."""
    # A mix is dealt out when the count is known; each of its places has room for the largest.
    reach = kit.reach_mm if kit.shares is None else np.full(1, kit.reach_mm.max())
    half = reach + (kit.gap_mm + LAY_SLACK_MM) / 2.0
    grounds = [room.centres(float(radius)) for radius in reach]
    stand = _rows(grounds, half, settings)
    progress(0.1)
    # Rows touch exactly: what is laid to the full slack is judged by a little less.
    half = reach + (kit.gap_mm + KEPT_SLACK_MM) / 2.0
    if settings.rows is None:
        stand = _crowd_kept(stand, half)
        stand = _filled_up(stand, half, grounds, settings, progress)
    else:
        stand = stand.taken(first_come(stand.xy, half[stand.size], _rank(stand)))
    progress(0.8)
    if settings.rows is None:
        stand = _evened(stand, half, grounds)
    stand = _true(stand, room, reach, half)
    return _seats(stand, kit, stream)


def _rows(grounds: list[BaseGeometry], half: Floats, settings: RingsSettings) -> _Stand:
    """Return every ring's row, from the edge inward."""
    k = len(half)
    by_row = settings.alternate == "row"
    share = _STEP[settings.packing]
    widest = int(np.argmax(half))

    def step(contour: int) -> float:
        if by_row:
            return share * float(half[contour % k] + half[(contour + 1) % k])
        return share * 2.0 * float(half[widest])

    first = grounds[0] if by_row else grounds[widest]
    parts: list[_Stand] = []
    number = 0
    for contour, rings in enumerate(contour_rings(first, step, settings.rows)):
        sequence = np.array([contour % k]) if by_row else np.arange(k)
        for ring in rings:
            row = along_ring(ring, half[sequence])
            n = len(row.xy)
            edge = np.full(n, contour == 0)
            numbers = np.full(n, number, dtype=np.int64)
            no = np.zeros(n, dtype=np.bool_)
            parts.append(_Stand(row.xy, sequence[row.size], numbers, row.u, row.corner, edge, no))
            number += 1
    columns = ("xy", "size", "row", "u", "corner", "edge", "loose")
    if not parts:
        none, no = np.zeros(0), np.zeros(0, dtype=np.bool_)
        ints = np.zeros(0, dtype=np.int64)
        return _Stand(np.zeros((0, 2)), ints, ints, none, no, no, no)
    return _Stand(*(np.concatenate([getattr(part, name) for part in parts]) for name in columns))


def _rank(stand: _Stand) -> Floats:
    """Return who stands first: the edge row's corners, the edge row, then row by row inward."""
    return np.where(stand.edge, np.where(stand.corner, -2.0, -1.0), stand.row.astype(np.float64))


def _crowd_kept(stand: _Stand, half: Floats) -> _Stand:
    """Drop clashes: all within the edge row, elsewhere only those too near to settle."""
    rank = _rank(stand)
    keep = np.ones(len(stand), dtype=np.bool_)
    edge = np.flatnonzero(stand.edge)
    keep[edge] = first_come(stand.xy[edge], half[stand.size[edge]], rank[edge])
    stand = stand.taken(keep)
    return stand.taken(first_come(stand.xy, half[stand.size], _rank(stand), _CLASH_KEPT))


def _filled(stand: _Stand, half: Floats, grounds: list[BaseGeometry], *, by_row: bool) -> _Stand:
    """Put pieces where there is nearly room for one, the largest first."""
    # In a sequence along rows small ones would creep into every chink: only the largest fill.
    sizes = np.argsort(-half, kind="stable")[: None if by_row else 1]
    for size in sizes:
        more = filled_holes(
            stand.xy,
            half[stand.size],
            grounds[size],
            float(half[size]),
        )
        stand = stand.with_more(more, int(size))
    return stand


def _filled_up(
    stand: _Stand,
    half: Floats,
    grounds: list[BaseGeometry],
    settings: RingsSettings,
    progress: Progress,
) -> _Stand:
    """Fill holes and settle, again while that gains pieces."""
    enough = half * _HOLE_FILLED[settings.packing]
    by_row = settings.alternate == "row"
    best: _Stand | None = None
    for turn in range(_FILLINGS):
        progress((turn + 1) / (_FILLINGS + 2))
        filled = _filled(stand, enough, grounds, by_row=by_row)
        if best is not None and len(filled) == len(stand):
            break
        stand = _settled(filled, half, grounds)
        if best is not None and len(stand) <= len(best):
            break
        best = stand
    return stand if best is None else best


def _settled(stand: _Stand, half: Floats, grounds: list[BaseGeometry]) -> _Stand:
    """Settle what is crowded, taking out the worst until every gap holds."""
    trouble = stand.loose & (stand.row < 0)
    for _ in range(_PASSES):
        halves = half[stand.size]
        free, near = _around(stand, trouble | _crowded(stand, halves), halves)
        if not free.any():
            break
        settled = settle(
            stand.xy[near], halves[near], grounds, stand.size[near], pinned=~free[near]
        )
        xy = stand.xy.copy()
        xy[near] = settled.xy
        stand = replace(stand, xy=xy)
        if settled.short_mm == 0.0:
            break
        # Pieces that filled holes go before pieces of rows.
        out = worst_crowded(stand.xy, halves, ~stand.loose)
        if not len(out):
            out = worst_crowded(stand.xy, halves, stand.edge)
        stand = stand.taken(np.setdiff1d(np.arange(len(stand)), out))
        trouble = np.zeros(len(stand), dtype=np.bool_)
    return stand.taken(first_come(stand.xy, half[stand.size], _rank(stand)))


def _evened(stand: _Stand, half: Floats, grounds: list[BaseGeometry]) -> _Stand:
    """Share out the room where the middle was filled or settled."""
    halves = half[stand.size]
    free, near = _around(stand, stand.loose, halves, _EVENED)
    if not free.any():
        return stand
    settled = settle(
        stand.xy[near],
        halves[near],
        grounds,
        stand.size[near],
        pinned=~free[near],
        rounds=_EVENING,
        patience=_EVENING,
        evening=_EVENING,
        reach=_EVEN_REACH,
        easing=True,
    )
    xy = stand.xy.copy()
    xy[near] = settled.xy
    return replace(stand, xy=xy)


def _crowded(stand: _Stand, halves: Floats) -> Bools:
    """Tell which pieces stand too near another."""
    i, j = neighbours(stand.xy, halves, 0.0)
    step = stand.xy[i] - stand.xy[j]
    near = np.hypot(step[:, 0], step[:, 1]) < halves[i] + halves[j]
    out = np.zeros(len(stand), dtype=np.bool_)
    out[i[near]] = True
    out[j[near]] = True
    return out


def _around(
    stand: _Stand, trouble: Bools, halves: Floats, distances: float = _AROUND
) -> tuple[Bools, Ints]:
    """Return which pieces may move, and those with the ones that hem them in."""
    if not trouble.any():
        return trouble, np.flatnonzero(trouble)
    away, _ = cKDTree(stand.xy[trouble]).query(stand.xy)
    widest = 2.0 * float(halves.max())
    free = (away <= distances * widest) & ~stand.edge
    return free, np.flatnonzero(away <= (distances + 2.0) * widest)


def _true(stand: _Stand, room: Room, reach: Floats, half: Floats) -> _Stand:
    """Keep what truly has its room: the last word on gaps and edges."""
    stand = stand.taken(room.holds(stand.xy, reach[stand.size], slack_mm=KEPT_SLACK_MM))
    return stand.taken(first_come(stand.xy, half[stand.size], _rank(stand)))


def _seats(stand: _Stand, kit: Kit, stream: Stream) -> Seats:
    """Return the seats in order, rows numbered anew, a mix dealt out."""
    last = int(stand.row.max(initial=-1)) + 1
    row = np.where(stand.row < 0, last, stand.row)
    u = np.where(stand.row < 0, np.cumsum(stand.row < 0) - 1.0, stand.u)
    order = np.lexsort((u, row))
    choice = stand.size[order] if kit.shares is None else dealt(kit, stand.size, stream)
    return Seats(
        xy=stand.xy[order],
        angle_deg=np.zeros(len(order)),
        choice=choice,
        shape=np.zeros(len(order), dtype=np.int64),
        row=np.unique(row[order], return_inverse=True)[1].astype(np.int64),
        u=u[order],
        weight=stand.corner[order].astype(np.float64),
    )


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
