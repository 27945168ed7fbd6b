"""Fold what a way laid over an axis: one half kept, its mirror image added, the axis itself filled.

What a way lays is made symmetric seat by seat: of each shape the half with more seats is kept and
mirrored, what stands too near the axis for its own mirror image is centred on it or left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Standing
from embellish.geometry.gaps.gaps import gaps_between, neighbour_gaps_between
from embellish.geometry.mirror_images import MirrorImage
from embellish.geometry.segments import directions
from embellish.layout.mirroring import mirrored_seats
from embellish.layout.symmetry import Axis
from embellish.layout.ways.fills import KEPT_SLACK_MM, stacked
from embellish.layout.ways.way import Kit, Seats

_TURNED_DEG: Final = 30.0
"""A piece centred on the axis may be turned by so much to stand evenly; else it is left out."""
_ON_MM: Final = 1e-4
"""What stands this near the axis stands on it."""


_STEPS_MM: Final = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1)
"""How far along the axis room is looked for: beside an arc its nearest place is off it."""

Holds = Callable[[Seats], Bools]


@dataclass(frozen=True, eq=False)
class Folded:
    """Seats alike on both sides.

    Parameters
    ----------
    seats
        All of them.
    twin : array of shape (n,)
        Index of each seat's mirror image; its own on the axis.
    """

    seats: Seats
    twin: Ints


def folded(
    seats: Seats,
    shape_twin: Ints,
    kit: Kit,
    images: Sequence[MirrorImage],
    axis: Axis,
    gap_mm: float,
    holds: Holds | None = None,
) -> Folded:
    """Return seats folded over an axis.

    Parameters
    ----------
    seats
        What was laid: shapes that are symmetric themselves, and one of each pair of shapes.
    shape_twin : array of shape (k,)
        Of each shape, which is its mirror image.
    kit, images
        What stands on seats, and how each stands for its mirror image.
    axis
        The axis.
    gap_mm
        The gap between a seat and its own mirror image; minus infinity in a lapped lay.
    holds
        Tells which seats have their room in their shapes, where the way keeps to a room: what is
        centred on the axis may have to give way along it.
    """
    itself = shape_twin[seats.shape] == seats.shape
    beside = axis.beside(seats.xy)
    near = _near_itself(seats, kit, images, axis, gap_mm)
    own_side = ~itself | (_side_of_shape(seats.shape, beside, near) * beside > 0.0)
    half = seats.taken(np.flatnonzero(own_side & ~near))
    near_it = seats.taken(np.flatnonzero(near & itself))
    on = _centred(near_it, half, kit, images, axis, gap_mm, holds)
    return joined(half, on, shape_twin, images, axis)


def joined(
    half: Seats, on: Seats, shape_twin: Ints, images: Sequence[MirrorImage], axis: Axis
) -> Folded:
    """Return a half, its mirror image, and what stands on the axis, as one."""
    n = len(half)
    xy, angle = mirrored_seats(half.xy, half.angle_deg, half.choice, images, axis.mirror)
    other = replace(half, xy=xy, angle_deg=angle, shape=shape_twin[half.shape], u=_back(half))
    number = np.arange(n)
    twin = np.concatenate([number + n, number, 2 * n + np.arange(len(on))])
    return Folded(stacked([half, other, on]), twin)


def in_order(given: Folded, order: Ints) -> Folded:
    """Return the same seats in another order."""
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    return Folded(given.seats.taken(order), place[given.twin[order]])


def stands_even(
    angle_deg: Floats,
    choice: Ints,
    turns: Sequence[float],
    images: Sequence[MirrorImage],
    axis: Axis,
) -> tuple[Floats, Bools]:
    """Return the nearest angles at which pieces on the axis are their own images, and which can."""
    turn = np.array([image.turn_deg for image in images])[choice]
    exact = np.array([image.exact for image in images])[choice]
    every = np.array(turns)[choice]
    even = axis.angle_deg + turn / 2.0
    step = np.where(every > 0.0, every, 360.0) / 2.0
    nearest = even + np.round((angle_deg - even) / step) * step
    nearest = np.where(every > 0.0, nearest, 0.0)
    little = np.abs(nearest - angle_deg) <= _TURNED_DEG + 1e-9
    return nearest, exact & (little | (every == 0.0))


def centred_on(
    xy: Floats, angle_deg: Floats, choice: Ints, images: Sequence[MirrorImage], axis: Axis
) -> Floats:
    """Return the nearest places at which pieces of these angles stand evenly on the axis."""
    shift = np.array([(image.dx_mm, image.dy_mm) for image in images]).reshape(-1, 2)[choice]
    cos, sin = directions(axis.mirror.turned_deg(angle_deg))
    moved = np.stack(
        [cos * shift[:, 0] - sin * shift[:, 1], sin * shift[:, 0] + cos * shift[:, 1]], axis=1
    )
    # A figure whose centre is off its own axis stands as far off this one, on the right side.
    return axis.on(xy) + (moved @ axis.across / 2.0)[:, None] * axis.across


def _near_itself(
    seats: Seats, kit: Kit, images: Sequence[MirrorImage], axis: Axis, gap_mm: float
) -> Bools:
    """Tell which seats stand too near their own mirror images."""
    near: Bools = np.abs(axis.beside(seats.xy)) <= _ON_MM
    if not np.isfinite(gap_mm) or not len(seats):
        return near
    reach = kit.reach_mm[seats.choice]
    rows = np.flatnonzero(np.abs(axis.beside(seats.xy)) <= reach + gap_mm)
    if not len(rows):
        return near
    xy, angle = mirrored_seats(
        seats.xy[rows], seats.angle_deg[rows], seats.choice[rows], images, axis.mirror
    )
    one = Standing(seats.xy[rows], seats.angle_deg[rows], seats.choice[rows], kit.footprints)
    two = Standing(xy, angle, seats.choice[rows], kit.footprints)
    pairs = np.repeat(np.arange(len(rows))[:, None], 2, axis=1)
    near[rows] |= gaps_between(one, two, pairs) < gap_mm + KEPT_SLACK_MM
    return near


def _side_of_shape(shape: Ints, beside: Floats, near: Bools) -> Floats:
    """Return for each seat the sign of the side on which its shape has more, or the first."""
    n = int(shape.max(initial=-1)) + 1
    first = np.bincount(shape[(beside < 0.0) & ~near], minlength=n)
    second = np.bincount(shape[(beside > 0.0) & ~near], minlength=n)
    sign = np.where(second > first, 1.0, -1.0)
    return sign[shape]


def _within(on: Seats, axis: Axis, holds: Holds) -> tuple[Seats, Bools]:
    """Return seats moved along the axis by the least that gives them their room, and which have."""
    ok = holds(on)
    xy = on.xy.copy()
    for step in _STEPS_MM:
        for way in (1.0, -1.0):
            left = np.flatnonzero(~ok)
            if not len(left):
                return replace(on, xy=xy), ok
            tried = replace(on.taken(left), xy=on.xy[left] + way * step * axis.along)
            good = holds(tried)
            xy[left[good]] = tried.xy[good]
            ok[left[good]] = True
    return replace(on, xy=xy), ok


def _centred(
    near: Seats,
    half: Seats,
    kit: Kit,
    images: Sequence[MirrorImage],
    axis: Axis,
    gap_mm: float,
    holds: Holds | None,
) -> Seats:
    """Return which of the seats near the axis stand on it, the least moved first."""
    angle, able = stands_even(near.angle_deg, near.choice, kit.turns, images, axis)
    xy = centred_on(near.xy, angle, near.choice, images, axis)
    on = replace(near, xy=xy, angle_deg=angle)
    if holds is not None and len(on):
        on, roomy = _within(on, axis, holds)
        able = able & roomy
    moved = np.hypot(*(on.xy - near.xy).T) if len(near) else np.zeros(0)
    rank = np.argsort(np.round(moved, 6), kind="stable")
    rank = rank[able[rank]]
    on, moved = on.taken(rank), moved[rank]
    if not np.isfinite(gap_mm) or not len(on):
        return on
    standing = Standing(on.xy, on.angle_deg, on.choice, kit.footprints)
    half_standing = Standing(half.xy, half.angle_deg, half.choice, kit.footprints)
    asked = gap_mm + KEPT_SLACK_MM
    clear = np.ones(len(on), dtype=np.bool_)
    if len(half):
        pairs, _ = neighbour_gaps_between(standing, half_standing, asked)
        # What the way set on the axis itself stays: the half's seats keep their gap from it.
        clear[pairs[:, 0]] = False
        clear |= moved <= _ON_MM
    pairs, _ = neighbour_gaps_between(standing, standing, asked)
    clash = [set[int]() for _ in range(len(on))]
    for i, j in pairs.tolist():
        clash[i].add(j)
    kept: list[int] = []
    for index in np.flatnonzero(clear).tolist():
        if not clash[index].intersection(kept):
            kept.append(index)
    return on.taken(np.sort(np.array(kept, dtype=np.int64)))


def _back(half: Seats) -> Floats:
    """Return places along rows that go on where the half ends, in the other sense."""
    if not len(half):
        return half.u
    _, row = np.unique(half.shape * (half.row.max() + 1) + half.row, return_inverse=True)
    last = np.full(int(row.max()) + 1, -np.inf)
    np.maximum.at(last, row, half.u)
    back: Floats = 2.0 * last[row] + 2.0 - half.u
    return back
