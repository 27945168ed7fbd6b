"""Rings of pieces that are not round: each follows its row, spaced by its true outline."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.geometry.clashes import survivors
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.layout.ways.border import BorderSettings, lay_border
from embellish.layout.ways.fills import KEPT_SLACK_MM, room_of, stacked
from embellish.layout.ways.scatter_shaped import inner_radius
from embellish.layout.ways.shaped_holes import filled_between
from embellish.layout.ways.way import Ground, Kit, Seats, no_progress
from embellish.units import LAY_SLACK_MM

_MOST_ROWS: Final = 200
_TRIES: Final = 3
_HAIR: Final = 0.08
"""How much nearer to the edge than asked a row may come out to be moved inward, in reaches."""
_MOST_TURN_DEG: Final = 15.0
"""What fills a hole is turned by no more away from the piece beside it."""


def shaped_rings(
    shape: Shape,
    region: shapely.Polygon | shapely.MultiPolygon,
    ground: Ground,
    kit: Kit,
    laid: Seats,
    *,
    rows: int | None,
    turn: str,
    turn_deg: float,
) -> Seats:
    """Return rings of turned pieces in one shape, from its edge inward.

    Parameters
    ----------
    shape, region
        The shape, and its region.
    ground
        What stands and is kept out.
    kit
        What is set.
    laid
        What the lay has set in other shapes.
    rows
        How many rows, or None: all the way in.
    turn, turn_deg
        ``along`` the row, ``across`` it or ``fixed``, and what is added to that.
    """
    settings = BorderSettings.model_validate(
        {
            "side": "inside",
            "rows": min(rows or _MOST_ROWS, _MOST_ROWS),
            "turn": turn,
            "turn_deg": turn_deg,
        }
    )
    if kit.shares is not None:
        # Each place of a mix has room for the largest; it is dealt out when the count is known.
        widest = int(np.argmax(kit.reach_mm))
        kit = replace(
            kit, footprints=(kit.footprints[widest],), turns=(kit.turns[widest],), shares=None
        )
        laid = replace(laid, choice=np.zeros(len(laid), dtype=np.int64))
    alone = replace(ground, shapes=(shape,))
    seats = Seats.none()
    further = 0.0
    for _ in range(_TRIES):
        wider = replace(kit, edge_mm=kit.edge_mm + further)
        seats = lay_border(alone, wider, settings, Stream.of(0, "rows"), no_progress).seats
        short = kit.edge_mm + LAY_SLACK_MM - _clearance(seats, region, kit)
        # A hair, where the edge bends under a long piece, is mended by a hair; a corner is not.
        hair = short[(short > 0.0) & (short < _HAIR * float(kit.reach_mm.min()))]
        if not len(hair):
            break
        further += float(hair.max()) + LAY_SLACK_MM
    seats = seats.taken(_free(seats, region, ground, kit, laid))
    # The last word on gaps: where rows of turned pieces meet, the row nearer the edge stays.
    where = (seats.xy, seats.angle_deg, seats.choice, kit.footprints)
    pairs, _ = neighbour_gaps(*where, kit.gap_mm + KEPT_SLACK_MM)
    stay = survivors(len(seats), pairs, -np.arange(len(seats)))
    seats = _each_line_a_row(seats.taken(np.flatnonzero(stay)))
    if rows is not None:
        return seats
    most = 0.0 if turn == "fixed" else _MOST_TURN_DEG
    return _filled(seats, room_of(region, ground, kit, laid), kit, most)


def _filled(seats: Seats, room: Room, kit: Kit, most_turn_deg: float) -> Seats:
    """Return the rows with the holes between them filled by the largest piece, as one more row."""
    widest = int(np.argmax(kit.reach_mm))
    standing = Standing(seats.xy, seats.angle_deg, seats.choice, kit.footprints)
    inner = inner_radius(kit.footprints[widest])
    xy, angle = filled_between(
        standing, widest, room, inner, kit.gap_mm, most_turn_deg=most_turn_deg
    )
    n = len(xy)
    none = np.zeros(n, dtype=np.int64)
    more = Seats(
        xy=xy,
        angle_deg=angle,
        choice=np.full(n, widest, dtype=np.int64),
        shape=none,
        row=np.full(n, int(seats.row.max(initial=-1)) + 1, dtype=np.int64),
        u=np.arange(n, dtype=np.float64),
        weight=np.zeros(n),
    )
    return stacked([seats, more])


def _clearance(seats: Seats, region: shapely.Polygon | shapely.MultiPolygon, kit: Kit) -> Floats:
    """Return the free distance of each seat to the edge, exact where it is small."""
    where = (seats.xy, seats.angle_deg, seats.choice, kit.footprints)
    return edge_clearance(*where, region, within_mm=kit.edge_mm + 1.0)


def _each_line_a_row(seats: Seats) -> Seats:
    """Return the seats in order along each line; a border counts lines side by side as one row."""
    new = np.ones(len(seats), dtype=np.bool_)
    same = (np.diff(seats.row) == 0) & (np.diff(seats.u) > 0.0)
    new[1:] = ~same
    row = np.cumsum(new) - 1
    return replace(seats, row=row.astype(np.int64))


def _free(
    seats: Seats,
    region: shapely.Polygon | shapely.MultiPolygon,
    ground: Ground,
    kit: Kit,
    laid: Seats,
) -> Ints:
    """Return which seats have their room; gaps to earlier lays the rows have kept themselves."""
    where = (seats.xy, seats.angle_deg, seats.choice, kit.footprints)
    good = _clearance(seats, region, kit) >= kit.edge_mm + LAY_SLACK_MM / 2.0
    reach = kit.reach_mm[seats.choice]
    if ground.keep_out is not None and not ground.keep_out.is_empty and len(seats):
        x0, y0, x1, y1 = region.bounds
        wide = 4.0 * float(reach.max())
        free = shapely.box(x0 - wide, y0 - wide, x1 + wide, y1 + wide).difference(ground.keep_out)
        good &= edge_clearance(*where, free, within_mm=1.0) >= LAY_SLACK_MM / 2.0
    if len(laid) and len(seats):
        # Other shapes of the lay are looked at by the circles about their pieces.
        other = kit.reach_mm[laid.choice]
        away = shapely.STRtree(np.asarray(shapely.points(laid.xy)))
        far = reach + float(other.max()) + kit.gap_mm + LAY_SLACK_MM
        near = away.query(shapely.points(seats.xy), predicate="dwithin", distance=far)[0]
        good[near] = False
    return np.flatnonzero(good)
