"""Contours: the rows that run round a region, one inside the other, and points along them.

The first row is the edge of the region of centres; each further one is the offset of the last.
Offsets split, shrink and close; a row is simply each closed ring the offset leaves. Along a row the
straight distance between neighbours is made equal, corner by corner, since a hand and an eye judge
the gap between two pieces, not the length of the line between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.even_gaps import (
    EVEN_MM,
    equal_gaps,
    fewer,
    lengths_along,
    needs_of,
    open_side,
    points_at,
)
from embellish.geometry.insets import areal
from embellish.geometry.nesting import Drawn, Nest

_CORNER_TAN: Final = math.tan(math.radians(25.0))
_SLIVER: Final = 0.85
_LONGEST_TIP: Final = 60


@dataclass(frozen=True, eq=False)
class Row:
    """Points at equal straight gaps round one closed ring.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points in order.
    u : array of shape (n,)
        Share of the ring's length from its start.
    size : array of shape (n,)
        Index of each point's piece in the sequence asked for.
    corner : bool array of shape (n,)
        Points that stand in a corner.
    line : array of shape (m, 2)
        The ring through them: as asked for, or as it nests.
    """

    xy: Floats
    u: Floats
    size: Ints
    corner: Bools
    line: Floats


def edge_rings(centres: BaseGeometry, step_mm: float) -> list[Floats]:
    """Return the rings of the first contour, the edge of a region of centres itself.

    Parameters
    ----------
    centres
        Region of centres.
    step_mm
        How far apart rows are.

    Returns
    -------
    list of arrays of shape (m, 2)
        Closed rings (first point repeated at the end), the outer one of each part before those
        round its holes; a straight part too narrow for two rows is one open line down its middle.
    """
    parts = shapely.get_parts(areal(centres))
    return [line for part in parts if not part.is_empty for line in ring_lines(part, step_mm)]


def along_ring(ring: Floats, half_mm: Floats, first: int = 0, nest: Nest | None = None) -> Row:
    """Spread a repeating sequence of pieces round a closed ring at equal straight gaps.

    Corners sharper than 25 degrees get a piece each, and what lies between two corners is shared
    out evenly by itself. In a tip of less than 60 degrees the two sides have no room for a piece
    each, so pieces go down its middle until they have.

    Parameters
    ----------
    ring : array of shape (m, 2)
        Closed, its first point repeated at the end; or an open line.
    half_mm : array of shape (k,)
        Half the distance each piece of the sequence keeps: its radius + gap / 2.
    first
        Where in the sequence to begin.
    nest
        What the row nests in; a ring then has its inner side on its left, see ``Drawn``.

    Returns
    -------
    Row
        Empty where the ring is too short for two pieces. Neighbours along a side keep their
        distance; gaps across the ring are not looked at.
    """
    ring = _cleaned(ring)
    if len(ring) > 1 and np.any(ring[0] != ring[-1]):
        at = open_side(ring, half_mm, first)
        size = (first + np.arange(len(at))) % len(half_mm)
        return Row(points_at(ring, at), at / at[-1], size, np.zeros(len(at), dtype=np.bool_), ring)
    if len(ring) < 4:
        return _no_row()
    corners = _corners(ring)
    if len(corners):
        ring = np.concatenate([ring[corners[0] : -1], ring[: corners[0] + 1]])
    drawn = Drawn.of(ring, nest)
    if not len(corners):
        return _round_row(drawn, half_mm, first)
    cuts = drawn.at[np.append(corners - corners[0], len(ring) - 1)]
    arc = drawn.arc
    length = np.diff(arc[cuts])
    tips = _tips(drawn.ring, cuts[:-1], length, 2.0 * float(half_mm.max()))
    parts: list[Row] = []
    piece = first
    for i, (a, b) in enumerate(pairwise(cuts)):
        lead, trail = tips[i].taken_mm, tips[(i + 1) % len(tips)].taken_mm
        # The corner's piece and the tip's middle ones; without a tip the side begins in the corner.
        shift = drawn.line[a] - drawn.ring[a]
        before = np.concatenate([drawn.line[a : a + 1], tips[i].middle + shift])
        before = before if lead else np.zeros((0, 2))
        side, along = drawn.between(a, b, lead, float(length[i]) - trail)
        at = open_side(side, half_mm, piece + len(before))
        at = at if trail else at[:-1]
        n = len(before)
        u = np.concatenate(
            [lead * np.arange(n) / max(n, 1), np.interp(at, lengths_along(side), along)]
        )
        size = (piece + np.arange(len(u))) % len(half_mm)
        xy = np.concatenate([before, points_at(side, at)])
        share = (arc[a] + u) / arc[-1]
        parts.append(Row(xy, share, size, np.arange(len(u)) < max(n, 1), drawn.ring))
        piece += len(u)
    columns = ("xy", "u", "size", "corner")
    xy, u, size, corner = (np.concatenate([getattr(p, name) for p in parts]) for name in columns)
    return Row(xy, u, size, corner, drawn.as_laid(xy, u))


def ring_lines(part: Any, step: float, nearer: float = 0.0) -> list[Floats]:
    """Return the rings of one part, or its middle where it is a straight sliver.

    Parameters
    ----------
    part
        Polygon.
    step
        How far apart rows are, in mm.
    nearer
        How much nearer the part's edge is to the row outside: a middle keeps the whole step from
        that row at both its ends.
    """
    rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
    if len(rings) > 1:
        return rings
    corners = shapely.get_coordinates(part.minimum_rotated_rectangle)[:4]
    if len(corners) < 4:
        return rings
    one, two = corners[1] - corners[0], corners[3] - corners[0]
    # Across is the shorter side of the rectangle about it, along the longer.
    along, across = (one, two) if np.hypot(*one) >= np.hypot(*two) else (two, one)
    wide = float(np.hypot(*across))
    if wide >= _SLIVER * step or np.hypot(*along) < 2.0 * wide:
        return rings
    middle = corners[0] + across / 2.0
    trim = along / np.hypot(*along) * nearer
    spine = part.intersection(shapely.LineString([middle + trim, middle + along - trim]))
    return [shapely.get_coordinates(spine)] if spine.geom_type == "LineString" else rings


@dataclass(frozen=True, eq=False)
class _Tip:
    """What a narrow tip takes of its two sides, and the points down its middle."""

    taken_mm: float = 0.0
    middle: Floats = field(default_factory=lambda: np.zeros((0, 2)))


def _tips(ring: Floats, corners: Ints, length: Floats, pitch: float) -> list[_Tip]:
    """Return the tip at each corner; none where its sides are too short for it."""
    tips = [_tip(ring, int(corner), pitch) for corner in corners]
    shorter = np.minimum(length, np.roll(length, 1))
    return [
        tip if tip.taken_mm + pitch <= 0.5 * side else _Tip()
        for tip, side in zip(tips, shorter, strict=True)
    ]


def _tip(ring: Floats, corner: int, pitch: float) -> _Tip:
    """Return the points down the middle of a tip of less than 60 degrees.

    With the tip at 0, half its angle's tangent t and lengths in pitches, points stand at 1, 2, ..
    M down the middle, and the first pair on the sides at (x, x t) and (x, -x t) touches the last
    of them: (x - M)^2 + (x t)^2 = 1. The least M whose pair keeps its own distance is taken.
    """
    ahead, back = ring[(corner + 1) % (len(ring) - 1)], ring[(corner - 1) % (len(ring) - 1)]
    leave, arrive = ahead - ring[corner], back - ring[corner]
    leave, arrive = leave / np.hypot(*leave), arrive / np.hypot(*arrive)
    cos = float(leave @ arrive)
    if not 0.5 < cos < 0.9998:
        return _Tip()
    t = math.sqrt((1.0 - cos) / (1.0 + cos))
    for m in range(1, _LONGEST_TIP):
        root = 1.0 - t * t * (m * m - 1.0)
        if root < 0.0:
            break
        x = (m + math.sqrt(root)) / (1.0 + t * t)
        if x * t >= 0.5:
            middle = (leave + arrive) / np.hypot(*(leave + arrive))
            spots = ring[corner] + middle * (pitch * np.arange(1, m + 1))[:, None]
            return _Tip(pitch * x * math.sqrt(1.0 + t * t), spots)
    return _Tip()


def _no_row() -> Row:
    none = np.zeros(0)
    return Row(
        np.zeros((0, 2)), none, none.astype(np.int64), none.astype(np.bool_), np.zeros((0, 2))
    )


def _cleaned(ring: Floats) -> Floats:
    """Return the ring without repeated points."""
    keep = np.ones(len(ring), dtype=np.bool_)
    step = np.diff(ring, axis=0)
    keep[1:] = np.hypot(step[:, 0], step[:, 1]) > 1e-9
    keep[-1] = True
    return ring[keep]


def _corners(ring: Floats) -> Ints:
    """Return the vertices where the ring turns sharply at one point."""
    step = np.diff(ring, axis=0)
    before = np.roll(step, 1, axis=0)
    cross = before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0]
    dot = (before * step).sum(axis=1)
    # |turn| > limit, without an arctangent.
    return np.flatnonzero((dot <= 0.0) | (np.abs(cross) > _CORNER_TAN * dot))


def _round_row(drawn: Drawn, half_mm: Floats, first: int) -> Row:
    """Return the row round a ring without corners: whole sequences, where it is long enough."""
    line = drawn.line
    arc = lengths_along(line)
    total = float(arc[-1])
    k = len(half_mm)
    gaps = int(total / (2.0 * float(half_mm.mean())) + 1.0)
    gaps -= gaps % k if gaps >= 3 * k else 0
    while gaps >= 2:
        need, size = needs_of(half_mm, first, gaps, wrap=True)
        if need.sum() <= total + EVEN_MM:
            at, spare = equal_gaps(line, need, wrap=True)
            if spare >= -EVEN_MM:
                corner = np.zeros(gaps, dtype=np.bool_)
                xy, u = points_at(line, at[:-1]), np.interp(at[:-1], arc, drawn.arc) / drawn.arc[-1]
                return Row(xy, u, size[:-1], corner, drawn.as_laid(xy, u))
            gaps = fewer(gaps, need, total, spare)
        else:
            gaps -= 1
        gaps -= gaps % k if gaps >= 3 * k else 0
    return _no_row()
