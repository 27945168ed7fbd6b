"""Holes that rows of turned pieces leave where they meet: one more piece in each that takes one.

It is turned like a piece beside it and stands where its least gap is greatest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.gaps.chains import signed_distance
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.geometry.insets import Room
from embellish.geometry.vacancies import first_come
from embellish.units import LAY_SLACK_MM, ROUND_DECIMALS

_STEP: Final = 0.35
"""Step of the places looked at first, in radii of the largest circle within a piece."""
_SPINE: Final = (0.0, -0.2, 0.2, -0.35, 0.35, -0.45, 0.45)
"""Where along a piece, in its lengths, circles in it are looked at before its outline is."""
_BESIDE: Final = 4
"""How many of the nearest pieces a new one may be turned like."""
_NEARLY: Final = 0.6
"""How much of that radius a place may be short of before it is moved to where there is more."""
_MOVES: Final = (1.0, 0.5, 0.25, 0.1, 0.03, 0.01)
_REPEATS: Final = 2
_ROUNDS: Final = 50
_WAYS: Final = np.array(
    [(x, y, 0.0) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0)]
    + [(0.0, 0.0, -1.0), (0.0, 0.0, 1.0)]
)
"""Moves tried from a place: to eight sides, and a turn either way."""
_TURN_SHARE: Final = 0.5


@dataclass(frozen=True, eq=False)
class _Spots:
    """Places for a piece, and how it would be turned: as the one beside it, or a little off."""

    xy: Floats
    turn_deg: Floats
    like_deg: Floats

    def taken(self, rows: Ints) -> _Spots:
        return _Spots(self.xy[rows], self.turn_deg[rows], self.like_deg[rows])


def filled_between(
    standing: Standing,
    footprint: int,
    room: Room,
    inner_mm: float,
    gap_mm: float,
    *,
    most_turn_deg: float,
) -> tuple[Floats, Floats]:
    """Return places and turns of pieces that fill what rows have left free.

    Parameters
    ----------
    standing
        The pieces of the rows.
    footprint
        Index of the one that fills holes.
    room
        The region, its edge margin, and what else to keep off (by the circle about the piece).
    inner_mm
        Radius of a circle about the seat's centre that the piece covers.
    gap_mm
        Free distance between outlines.
    most_turn_deg
        By how much a piece may be turned away from the one beside it.

    Returns
    -------
    xy : array of shape (n, 2)
    angle_deg : array of shape (n,)
    """
    begun, body = len(standing), standing.footprints[footprint]
    spots = _looked_at(standing, footprint, room, inner_mm, gap_mm)
    clear = _Clearance(standing, body, room, gap_mm, inner_mm).of(spots)
    for _ in range(_ROUNDS):
        good = np.flatnonzero(clear > -_NEARLY * inner_mm)
        if not len(good):
            break
        spots, clear = spots.taken(good), clear[good]
        # The best of each place, and then of each hole, is moved to where it has most room.
        rank = -np.round(clear, 6)
        order = np.lexsort((rank, spots.xy[:, 1], spots.xy[:, 0]))
        each = order[np.append(True, np.any(np.diff(spots.xy[order], axis=0) != 0.0, axis=1))]
        best = each[first_come(spots.xy[each], np.full(len(each), inner_mm), rank[each])]
        own = _Clearance(standing, body, room, gap_mm, inner_mm)
        moved, free = _moved(spots.taken(best), clear[best], own, inner_mm * _STEP, most_turn_deg)
        fits = np.flatnonzero(free >= 0.0)
        if not len(fits):
            break
        half = np.full(len(fits), body.reach_mm + gap_mm)
        new = moved.taken(fits[first_come(moved.xy[fits], half, -np.round(free[fits], 6))])
        kind = np.full(len(new.xy), footprint, dtype=np.int64)
        added = Standing(new.xy, new.turn_deg, kind, standing.footprints)
        clear = np.minimum(clear, _Clearance(added, body, room, gap_mm, inner_mm).to_others(spots))
        standing = Standing(
            np.concatenate([standing.xy, new.xy]),
            np.concatenate([standing.angle_deg, new.turn_deg]),
            np.append(standing.footprint, kind),
            standing.footprints,
        )
    return standing.xy[begun:], standing.angle_deg[begun:]


def _looked_at(
    standing: Standing, footprint: int, room: Room, inner_mm: float, gap_mm: float
) -> _Spots:
    """Return a net of places, each with the turns beside it, where circles in the pieces clear."""
    none = _Spots(np.zeros((0, 2)), np.zeros(0), np.zeros(0))
    ground = room.centres(inner_mm, safe=False)
    if ground.is_empty or not len(standing):
        return none
    x0, y0, x1, y1 = ground.bounds
    step = _STEP * inner_mm
    # The net lies about the middle, so that what is alike on both sides is filled alike.
    half = [np.arange(0.0, (high - low) / 2.0 + step, step) for low, high in ((x0, x1), (y0, y1))]
    x, y = (np.concatenate([-each[:0:-1], each]) for each in half)
    net = np.stack(np.meshgrid(x + (x0 + x1) / 2.0, y + (y0 + y1) / 2.0), axis=-1).reshape(-1, 2)
    shapely.prepare(ground)
    net = net[shapely.contains_xy(ground, net[:, 0], net[:, 1])]
    spines = [_spine(each) for each in standing.footprints]
    stood = [
        (cKDTree(_turned(standing, offset, kind)), radius)
        for kind, spine in enumerate(spines)
        if (standing.footprint == kind).any()
        for offset, radius in spine
    ]
    short = gap_mm - _NEARLY * inner_mm
    for tree, radius in stood:
        net = net[tree.query(net)[0] >= radius + inner_mm + short]
    count = min(_BESIDE, len(standing))
    _, index = cKDTree(standing.xy).query(net, k=[*range(1, count + 1)])
    turn = standing.angle_deg[index]
    # Each turn once a place: a repeated one adds nothing.
    new = np.array([[not (row[:k] == row[k]).any() for k in range(count)] for row in turn])
    at, which = np.nonzero(new.reshape(-1, count))
    spots = _Spots(net[at], turn[at, which], turn[at, which])
    for offset, own in spines[footprint]:
        for tree, radius in stood:
            kind = np.zeros(len(spots.xy), dtype=np.int64)
            some = Standing(spots.xy, spots.turn_deg, kind, standing.footprints)
            away = tree.query(_turned(some, offset, 0))[0]
            spots = spots.taken(np.flatnonzero(away >= radius + own + short))
    return spots


def _spine(footprint: Footprint) -> list[tuple[float, float]]:
    """Return circles that a piece covers: how far along it from its centre, and their radii."""
    x0, _, x1, _ = footprint.bounds_mm
    along = (x0 + x1) / 2.0 + (x1 - x0) * np.array(_SPINE)
    depth = np.max(
        [-signed_distance(part.in_place, along, np.zeros(len(along))) for part in footprint.parts],
        axis=0,
    )
    return [(x, r) for x, r in zip(along.tolist(), depth.tolist(), strict=True) if r > 0.0]


def _turned(standing: Standing, offset_mm: float, kind: int) -> Floats:
    """Return the point so far along each piece of a kind."""
    some = standing.footprint == kind
    turn = np.radians(standing.angle_deg[some])
    xy: Floats = standing.xy[some] + offset_mm * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return xy


@dataclass(frozen=True, eq=False)
class _Clearance:
    """How much more than asked a piece has free about it."""

    standing: Standing
    footprint: Footprint
    room: Room
    gap_mm: float
    inner_mm: float

    def of(self, spots: _Spots) -> Floats:
        """Return the least of all gaps and the edge's, less what is asked, at each spot."""
        room = self.room
        clear = self.to_others(spots)
        if not len(clear):
            return clear
        some = self._tried(spots)
        far = room.edge_mm + 2.0 * self.inner_mm
        edge = edge_clearance(
            some.xy, some.angle_deg, some.footprint, some.footprints, room.region, within_mm=far
        )
        clear = np.minimum(clear, edge - room.edge_mm - LAY_SLACK_MM)
        reach = some.reach_mm
        if room.keep_out is not None and not room.keep_out.is_empty:
            away = shapely.distance(room.keep_out, shapely.points(some.xy))
            clear = np.minimum(clear, away - reach - LAY_SLACK_MM)
        clear[~room.clear_of_others(some.xy, reach)] = -np.inf
        return clear

    def to_others(self, spots: _Spots) -> Floats:
        """Return the least gap to what stands, less what is asked, at each spot."""
        clear = np.full(len(spots.xy), 2.0 * self.inner_mm)
        asked = self.gap_mm + LAY_SLACK_MM
        within = asked + 2.0 * self.inner_mm
        pairs, gaps = neighbour_gaps_between(self._tried(spots), self.standing, within)
        np.minimum.at(clear, pairs[:, 0], gaps - asked)
        return clear

    def _tried(self, spots: _Spots) -> Standing:
        kind = np.zeros(len(spots.xy), dtype=np.int64)
        return Standing(spots.xy, spots.turn_deg, kind, (self.footprint,))


def _moved(
    spots: _Spots, clear: Floats, own: _Clearance, step_mm: float, most_turn_deg: float
) -> tuple[_Spots, Floats]:
    """Return spots moved and turned to where they have most room, and how much that is."""
    n, ways = len(spots.xy), len(_WAYS)
    if not n:
        return spots, clear
    for share in np.repeat(_MOVES, _REPEATS):
        xy = spots.xy[:, None, :] + share * step_mm * _WAYS[:, :2]
        turn = spots.turn_deg[:, None] + share * _TURN_SHARE * most_turn_deg * _WAYS[:, 2]
        like = np.repeat(spots.like_deg, ways)
        turn = np.clip(turn.ravel(), like - most_turn_deg, like + most_turn_deg)
        # As a layout keeps them, so that what is measured is what will stand.
        tried = _Spots(np.round(xy.reshape(-1, 2), ROUND_DECIMALS), np.round(turn, 6), like)
        found = own.of(tried).reshape(n, ways)
        best = np.argmax(np.round(found, 9), axis=1) + ways * np.arange(n)
        better = found.ravel()[best] > clear
        every = np.where(better, best, -1)
        spots = _Spots(
            np.where(better[:, None], tried.xy[every], spots.xy),
            np.where(better, tried.turn_deg[every], spots.turn_deg),
            spots.like_deg,
        )
        clear = np.where(better, found.ravel()[every], clear)
    return spots, clear
