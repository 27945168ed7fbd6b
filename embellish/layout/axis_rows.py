"""Pieces on the axis of a symmetric fill, wherever the two halves leave room between them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import gaps_between, neighbour_gaps_between
from embellish.geometry.mirror_images import MirrorImage
from embellish.layout.folding import centred_on, stands_even
from embellish.layout.symmetry import Axis
from embellish.layout.ways.way import Ground, Kit, Seats
from embellish.units import LAY_SLACK_MM

_STEPS: Final = 24
"""Places looked at on the length of the smallest piece and its gap."""
_MOST: Final = 20_000


def on_axis(
    region: BaseGeometry,
    ground: Ground,
    kit: Kit,
    images: Sequence[MirrorImage],
    axis: Axis,
    laid: Seats,
    shape: int,
) -> Seats:
    """Return pieces centred on the axis within a region, clear of all that stands.

    Parameters
    ----------
    region
        What is filled.
    ground
        What stands already and is kept out, alike on both sides.
    kit, images
        What may be set; the piece that the region has most of and that is its own image is taken.
    axis
        The axis.
    laid
        What the lay has laid.
    shape
        The shape's index, for the new seats.
    """
    choice = _commonest(laid, shape, kit, images)
    places = _places(region, kit, axis)
    if choice < 0 or not len(places):
        return Seats.none()
    sort = np.full(len(places), choice)
    turn = _turn(laid, shape, choice, axis, len(places))
    angle, able = stands_even(turn, sort, kit.turns, images, axis)
    xy = centred_on(places, angle, sort, images, axis)
    rows = np.flatnonzero(able & _clear(xy, angle, sort, region, ground, kit, laid))
    rows = _spread(Standing(xy, angle, sort, kit.footprints), rows, kit.gap_mm)
    n = len(rows)
    own = laid.row[laid.shape == shape]
    return Seats(
        xy=xy[rows],
        angle_deg=angle[rows],
        choice=sort[rows],
        shape=np.full(n, shape, dtype=np.int64),
        row=np.full(n, own.max(initial=-1) + 1, dtype=np.int64),
        u=np.arange(n, dtype=np.float64),
        weight=np.zeros(n),
    )


def _commonest(laid: Seats, shape: int, kit: Kit, images: Sequence[MirrorImage]) -> int:
    """Return the piece a shape has most of among those that can stand on the axis, or -1."""
    counts = np.bincount(laid.choice[laid.shape == shape], minlength=len(kit.footprints))
    can = np.array([image.exact for image in images])
    if not can.any():
        return -1
    return int(np.argmax(np.where(can, counts, -1)))


def _turn(laid: Seats, shape: int, choice: int, axis: Axis, n: int) -> Floats:
    """Return the angle pieces of a sort have where all are turned alike, else along the axis."""
    angles = laid.angle_deg[(laid.shape == shape) & (laid.choice == choice)]
    alike = len(angles) > 0 and bool(np.ptp(angles) < 1e-9)
    return np.full(n, angles[0] if alike else axis.angle_deg)


def _places(region: BaseGeometry, kit: Kit, axis: Axis) -> Floats:
    """Return places along the axis within a region, from its start."""
    corners = shapely.get_coordinates(region)
    along = (corners - (axis.x_mm, axis.y_mm)) @ axis.along
    low, high = float(along.min()), float(along.max())
    step = (2.0 * float(kit.reach_mm.min()) + kit.gap_mm) / _STEPS
    step = max(step, (high - low) / _MOST)
    t = np.arange(low, high, step)
    places: Floats = np.array([axis.x_mm, axis.y_mm]) + t[:, None] * axis.along
    return places[shapely.contains_xy(region, places)]


def _clear(
    xy: Floats,
    angle: Floats,
    sort: Ints,
    region: BaseGeometry,
    ground: Ground,
    kit: Kit,
    laid: Seats,
) -> Bools:
    """Tell where a piece keeps its margin and its gaps."""
    feet = kit.footprints
    clear: Bools = edge_clearance(xy, angle, sort, feet, region) >= kit.edge_mm + LAY_SLACK_MM
    if ground.keep_out is not None and not ground.keep_out.is_empty:
        x0, y0, x1, y1 = region.bounds
        free = shapely.box(x0 - 9.0, y0 - 9.0, x1 + 9.0, y1 + 9.0).difference(ground.keep_out)
        clear &= edge_clearance(xy, angle, sort, feet, free) >= LAY_SLACK_MM
    here = Standing(xy, angle, sort, feet)
    asked = kit.gap_mm + LAY_SLACK_MM
    own = Standing(laid.xy, laid.angle_deg, laid.choice, feet)
    if len(own):
        pairs, _ = neighbour_gaps_between(here, own, asked)
        clear[pairs[:, 0]] = False
    there = ground.occupied
    if len(there.xy):
        others = Standing(there.xy, there.angle_deg, there.footprint, there.footprints)
        pairs, gaps = neighbour_gaps_between(here, others, there.gap_mm.max() + LAY_SLACK_MM)
        short = gaps < there.gap_mm[pairs[:, 1]] + LAY_SLACK_MM
        clear[pairs[short, 0]] = False
    return clear


def _spread(standing: Standing, rows: Ints, gap_mm: float) -> Ints:
    """Return of the places that are clear those that keep their gap from the one before."""
    kept: list[int] = []
    while len(rows):
        kept.append(int(rows[0]))
        # Only the next few can be too near.
        pairs = np.stack([np.full(len(rows), rows[0]), rows], axis=1)
        far = gaps_between(standing, standing, pairs) >= gap_mm + LAY_SLACK_MM
        far[0] = False
        rows = rows[far]
    return np.array(kept, dtype=np.int64)
