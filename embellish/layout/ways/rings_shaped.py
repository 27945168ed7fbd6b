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
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.streams import Stream
from embellish.layout.ways.border import BorderSettings, lay_border
from embellish.layout.ways.fills import KEPT_SLACK_MM
from embellish.layout.ways.way import Ground, Kit, Seats, no_progress
from embellish.units import LAY_SLACK_MM

_MOST_ROWS: Final = 200
_TRIES: Final = 3
_HAIR: Final = 0.08
"""How much nearer to the edge than asked a row may come out to be moved inward, in reaches."""


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
    return _each_line_a_row(seats.taken(np.flatnonzero(stay)))


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
