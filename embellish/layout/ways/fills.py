"""What the ways that fill regions share: their room, dealing pieces out, the finding of no room."""

from __future__ import annotations

from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.findings import Finding
from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.layout.ways.way import Ground, Kit, Seats
from embellish.units import LAY_SLACK_MM, ROUND_DECIMALS

KEPT_SLACK_MM: Final = 0.75 * LAY_SLACK_MM
"""A seat stands where at least this is free beyond what was asked: a layout is turned and then
rounded once, which brings two seats nearer by at most 1.4142e-6 mm."""


def rounded(xy: Floats) -> Floats:
    """Return coordinates as a layout keeps them."""
    return np.round(xy, ROUND_DECIMALS) + 0.0


def room_of(region: BaseGeometry, ground: Ground, kit: Kit, laid: Seats) -> Room:
    """Return the room a fill has in one region, around earlier lays and this lay's own seats.

    Parameters
    ----------
    region
        The region.
    ground
        What stands already and what is kept out.
    kit
        What is being laid.
    laid
        Seats this lay has in its earlier shapes.
    """
    occupied = ground.occupied
    reach = np.array([footprint.reach_mm for footprint in occupied.footprints])
    others = reach[occupied.footprint] + occupied.gap_mm if len(occupied.xy) else np.zeros(0)
    own = kit.reach_mm[laid.choice] + kit.gap_mm
    return Room(
        region,
        kit.edge_mm,
        ground.keep_out,
        np.concatenate([occupied.xy, laid.xy]),
        np.concatenate([others, own]),
    )


def too_small(shape: Shape, region: BaseGeometry, kit: Kit) -> Finding:
    """Return the finding that a region has no room for one piece."""
    where = None if region.is_empty else region.representative_point()
    return Finding(
        code="region-too-small",
        severity="warning",
        message=(
            f"The region {shape.id!r} has no room for a piece {2 * kit.reach_mm.max():.2f} mm "
            f"across with {kit.edge_mm:g} mm to the edge, so it stays empty."
        ),
        where_mm=None if where is None else (float(where.x), float(where.y)),
        mend="Choose a smaller piece, a smaller edge_mm, or leave the region out.",
    )


def dealt(kit: Kit, place: Ints, stream: Stream) -> Ints:
    """Return which piece stands at each place: by the sequence, or by shares exact to one piece.

    Parameters
    ----------
    kit
        Its footprints, and shares where it is a mix.
    place : array of shape (n,)
        Number of each place in the sequence; a mix does not look at it.
    stream
        Shuffles a mix.
    """
    if kit.shares is None:
        return np.mod(place, len(kit.footprints))
    n = len(place)
    exact = np.array(kit.shares) * n
    count = np.floor(exact + 1e-9).astype(np.int64)
    # What is left goes to the largest remainders, the first named first.
    order = np.argsort(-np.round(exact - count, 9), kind="stable")
    count[order[: n - int(count.sum())]] += 1
    choice = np.empty(n, dtype=np.int64)
    choice[np.argsort(stream.bits(0, n), kind="stable")] = np.repeat(np.arange(len(count)), count)
    return choice


def stacked(parts: list[Seats]) -> Seats:
    """Return the seats of several shapes as one."""
    if not parts:
        return Seats.none()
    columns = ("xy", "angle_deg", "choice", "shape", "row", "u", "weight")
    return Seats(*(np.concatenate([getattr(part, name) for part in parts]) for name in columns))
