"""Contours: the rows that run round a region, one inside the other, and points along them.

The first row is the edge of the region of centres; each further one is the offset of the last.
Offsets split, shrink and close; a row is simply each closed ring the offset leaves. Along a row the
straight distance between neighbours is made equal, corner by corner, since a hand and an eye judge
the gap between two pieces, not the length of the line between them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import areal

_CORNER_TAN: Final = math.tan(math.radians(25.0))
_QUAD_SEGS: Final = 32
_MOST_ROUNDS: Final = 60
_EVEN_MM: Final = 1e-9
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
    """

    xy: Floats
    u: Floats
    size: Ints
    corner: Bools


def contour_rings(
    centres: BaseGeometry, steps_mm: Callable[[int], float], most: int | None = None
) -> list[list[Floats]]:
    """Return the rings of every contour, from the edge inward.

    Parameters
    ----------
    centres
        Region of centres; its own edge is the first contour.
    steps_mm
        Distance from a contour, counted from 0, to the next.
    most
        How many contours to return, where not all.

    Returns
    -------
    list of lists of arrays of shape (m, 2)
        Closed rings (first point repeated at the end), the outer one of each part before those
        round its holes; a straight part too narrow for two rows is one open line down its middle.
    """
    found: list[list[Floats]] = []
    level = areal(centres)
    while not level.is_empty and len(found) != most:
        step = steps_mm(len(found))
        found.append([line for part in shapely.get_parts(level) for line in _lines(part, step)])
        level = areal(level.buffer(-step, quad_segs=_QUAD_SEGS))
    return found


def along_ring(ring: Floats, half_mm: Floats, first: int = 0) -> Row:
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

    Returns
    -------
    Row
        Empty where the ring is too short for two pieces. Neighbours along a side keep their
        distance; gaps across the ring are not looked at.
    """
    ring = _cleaned(ring)
    if len(ring) > 1 and np.any(ring[0] != ring[-1]):
        at = _open_side(ring, half_mm, first)
        size = (first + np.arange(len(at))) % len(half_mm)
        return Row(_at(ring, at), at / at[-1], size, np.zeros(len(at), dtype=np.bool_))
    if len(ring) < 4:
        return _no_row()
    corners = _corners(ring)
    if not len(corners):
        return _round_row(ring, half_mm, first)
    ring = np.concatenate([ring[corners[0] : -1], ring[: corners[0] + 1]])
    arc = _arc(ring)
    cuts = np.append(corners - corners[0], len(ring) - 1)
    length = np.diff(arc[cuts])
    tips = _tips(ring, cuts[:-1], length, 2.0 * float(half_mm.max()))
    parts: list[Row] = []
    piece = first
    for i, (a, b) in enumerate(pairwise(cuts)):
        side = ring[a : b + 1]
        lead, trail = tips[i].taken_mm, tips[(i + 1) % len(tips)].taken_mm
        # The corner's piece and the tip's middle ones; without a tip the side begins in the corner.
        before = np.concatenate([side[:1], tips[i].middle]) if lead else np.zeros((0, 2))
        within = _between(side, lead, float(length[i]) - trail)
        at = lead + _open_side(within, half_mm, piece + len(before))
        at = at if trail else at[:-1]
        n = len(before)
        u = np.concatenate([lead * np.arange(n) / max(n, 1), at])
        size = (piece + np.arange(len(u))) % len(half_mm)
        xy = np.concatenate([before, _at(side, at)])
        parts.append(Row(xy, (arc[a] + u) / arc[-1], size, np.arange(len(u)) < max(n, 1)))
        piece += len(u)
    columns = ("xy", "u", "size", "corner")
    return Row(*(np.concatenate([getattr(part, name) for part in parts]) for name in columns))


def _lines(part: Any, step: float) -> list[Floats]:
    """Return the rings of one part, or its middle where it is a straight sliver."""
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
    spine = part.intersection(shapely.LineString([middle, middle + along]))
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


def _between(line: Floats, start: float, stop: float) -> Floats:
    """Return the part of a line between two lengths along it."""
    arc = _arc(line)
    if start <= 0.0 and stop >= arc[-1]:
        return line
    inner = line[(arc > start) & (arc < stop)]
    return np.concatenate([_at(line, np.array([start])), inner, _at(line, np.array([stop]))])


def _no_row() -> Row:
    none = np.zeros(0)
    return Row(np.zeros((0, 2)), none, none.astype(np.int64), none.astype(np.bool_))


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


def _arc(line: Floats) -> Floats:
    """Return the length of a line up to each of its points."""
    step = np.diff(line, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])


def _at(line: Floats, at: Floats) -> Floats:
    """Return the points at given lengths along a line."""
    arc = _arc(line)
    return np.stack([np.interp(at, arc, line[:, 0]), np.interp(at, arc, line[:, 1])], axis=1)


def _equal_gaps(line: Floats, need: Floats, *, wrap: bool) -> tuple[Floats, float]:
    """Return lengths along a line whose chords exceed their needs by one equal gap, and that gap.

    Parameters
    ----------
    line : array of shape (m, 2)
        The line, one point of it at either end.
    need : array of shape (n,)
        What each of the n chords must be at least.
    wrap
        Whether the line closes, so that its end is its start.
    """
    arc = _arc(line)
    total = float(arc[-1])
    at = np.concatenate([[0.0], np.cumsum(need)]) * (total / float(need.sum()))
    spare = 0.0
    for _ in range(_MOST_ROUNDS):
        spot = np.where(at >= total, 0.0, at) if wrap else at
        xy = np.stack([np.interp(spot, arc, line[:, 0]), np.interp(spot, arc, line[:, 1])], axis=1)
        step = np.diff(xy, axis=0)
        chord = np.hypot(step[:, 0], step[:, 1])
        over = chord - need
        spare = float(over.min())
        if float(over.max()) - spare <= _EVEN_MM or not chord.all():
            break
        # Each arc is drawn out by its own chord's share of it, with one gap for all.
        share = chord / np.diff(at)
        gap = (total - float((need / share).sum())) / float((1.0 / share).sum())
        grown = np.maximum((need + gap) / share, 0.1 * need)
        at = np.concatenate([[0.0], np.cumsum(grown)]) * (total / float(grown.sum()))
    return at, spare


def _needs(half_mm: Floats, first: int, gaps: int, *, wrap: bool) -> tuple[Floats, Ints]:
    """Return what each chord of a run of the sequence needs, and the sizes of its points."""
    size = (first + np.arange(gaps + 1)) % len(half_mm)
    if wrap:
        size[-1] = size[0]
    return half_mm[size[:-1]] + half_mm[size[1:]], size


def _fewer(gaps: int, need: Floats, total: float, spare: float) -> int:
    """Return how many gaps to try next, where so many left too little."""
    mean = float(need.mean())
    return min(gaps - 1, int(gaps * (mean + spare) / mean) + 1, int(total / mean) + 1)


def _open_side(side: Floats, half_mm: Floats, first: int) -> Floats:
    """Return lengths along a side, both ends included."""
    total = float(_arc(side)[-1])
    gaps = max(1, int(total / (2.0 * float(half_mm.mean())) + 1.0))
    while gaps > 1:
        need, _ = _needs(half_mm, first, gaps, wrap=False)
        if need.sum() <= total + _EVEN_MM:
            at, spare = _equal_gaps(side, need, wrap=False)
            if spare >= -_EVEN_MM:
                return at
            gaps = _fewer(gaps, need, total, spare)
        else:
            gaps -= 1
    return np.array([0.0, total])


def _round_row(ring: Floats, half_mm: Floats, first: int) -> Row:
    """Return the row round a ring without corners: whole sequences, where it is long enough."""
    total = float(_arc(ring)[-1])
    k = len(half_mm)
    gaps = int(total / (2.0 * float(half_mm.mean())) + 1.0)
    gaps -= gaps % k if gaps >= 3 * k else 0
    while gaps >= 2:
        need, size = _needs(half_mm, first, gaps, wrap=True)
        if need.sum() <= total + _EVEN_MM:
            at, spare = _equal_gaps(ring, need, wrap=True)
            if spare >= -_EVEN_MM:
                corner = np.zeros(gaps, dtype=np.bool_)
                return Row(_at(ring, at[:-1]), at[:-1] / total, size[:-1], corner)
            gaps = _fewer(gaps, need, total, spare)
        else:
            gaps -= 1
        gaps -= gaps % k if gaps >= 3 * k else 0
    return _no_row()
