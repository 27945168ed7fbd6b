"""Offsets of outlines: every point at one distance, again a chain of arcs and lines.

Each segment is moved along its normal and each corner that opens gets an arc about it. For a
convex outline moved outward that is the offset. Otherwise these pieces are cut where they cross,
and those that keep the distance from the whole outline are joined up again (the trimming of raw
offset curves, as in Tiller & Hanson 1984, "Offsets of two-dimensional profiles").
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.gaps.chains import signed_distance
from embellish.geometry.outlines import (
    Outline,
    OutlineError,
    area,
    bounds,
    circle,
    corners,
    tangents,
)
from embellish.geometry.segments import (
    STRAIGHT_BULGE,
    Arcs,
    Lines,
    arc_arc_crossings,
    arc_frames,
    line_arc_crossings,
    line_line_crossings,
)
from embellish.units import EPS_MM

_KEEPS_MM: Final = 1e-8
"""How far a piece of an offset may fall short of the distance: the digits lost in crossings."""

_JOIN_MM: Final = 1e-7
"""Ends nearer than this are one vertex."""


_SMOOTH: Final = 1e-9
"""Sine of the turn below which a corner is a smooth join."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """A run of an offset from p to q with its bulge."""

    p: tuple[float, float]
    q: tuple[float, float]
    bulge: float


def offset(outline: Outline, distance_mm: float) -> Outline:
    """Return the outline at a distance outside (positive) or inside (negative) of another.

    Outward, corners become arcs about them; where an inlet closes, what it shut off is filled.

    Raises
    ------
    OutlineError
        Where nothing is left inside, or it falls into several.
    """
    if distance_mm == 0.0:
        return outline
    if outline.round_radius_mm is not None:
        if outline.round_radius_mm + distance_mm <= EPS_MM:
            raise _nothing_left(outline, distance_mm)
        return circle(2.0 * (outline.round_radius_mm + distance_mm))
    pieces = _raw(outline, distance_mm)
    if distance_mm > 0.0 and outline.convex:
        return _chained(pieces)
    kept = [part for piece in _cut(pieces) for part in _if_clear(piece, outline, distance_mm)]
    loops = [loop for loop in _loops(kept) if area(loop) > EPS_MM]
    if not loops:
        raise _nothing_left(outline, distance_mm)
    if distance_mm > 0.0:
        return max(loops, key=area)
    if len(loops) > 1:
        raise OutlineError(
            f"{-distance_mm:g} mm inside, the outline falls into {len(loops)}",
            mend="Ask a smaller distance.",
        )
    return loops[0]


def _nothing_left(outline: Outline, distance_mm: float) -> OutlineError:
    x0, y0, x1, y1 = bounds(outline)
    return OutlineError(
        f"nothing is left {-distance_mm:g} mm inside an outline of {x1 - x0:g} × {y1 - y0:g} mm",
        mend="Ask a smaller distance, or take a larger piece.",
    )


def _raw(outline: Outline, distance: float) -> list[_Piece]:
    """Return the moved segments and the arcs about corners that open, in order."""
    count = len(outline)
    arriving, leaving = tangents(outline)
    sin, cos = corners(outline)
    _, radius, _ = arc_frames(outline.points, outline.bulges)
    pieces = []
    for i in range(count):
        j = (i + 1) % count
        p = outline.points[i] + distance * _outward(leaving[i])
        q = outline.points[j] + distance * _outward(arriving[j])
        bulge = float(outline.bulges[i])
        straight = abs(bulge) < STRAIGHT_BULGE
        # Beyond its own centre an arc has no offset.
        if straight or radius[i] + math.copysign(distance, distance * bulge) > EPS_MM:
            pieces.append(_Piece(_pair(p), _pair(q), 0.0 if straight else bulge))
        smooth = abs(sin[j]) <= _SMOOTH and cos[j] > 0.0
        if not smooth and np.signbit(sin[j]) == (distance < 0.0):
            # tan(turn / 4), from the half angle, without an inverse function.
            half_cos = math.sqrt(max(0.0, (1.0 + float(cos[j])) / 2.0))
            half_sin = math.sqrt(max(0.0, (1.0 - float(cos[j])) / 2.0))
            end = outline.points[j] + distance * _outward(leaving[j])
            bulge = math.copysign(half_sin / (1.0 + half_cos), distance)
            pieces.append(_Piece(_pair(q), _pair(end), bulge))
    return pieces


def _outward(tangent: Floats) -> Floats:
    return np.array([tangent[1], -tangent[0]])


def _pair(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _chained(pieces: list[_Piece]) -> Outline:
    return Outline(
        np.array([piece.p for piece in pieces]), np.array([piece.bulge for piece in pieces])
    )


def _segment(piece: _Piece) -> Lines | Arcs:
    """Return a piece as arrays of shape ()."""
    p, q = np.array(piece.p), np.array(piece.q)
    step = q - p
    span = np.hypot(step[0], step[1])
    if piece.bulge == 0.0:
        return Lines(p[0], p[1], step[0] / span, step[1] / span, span)
    centre, radius, middle = arc_frames(np.stack([p, q]), np.array([piece.bulge, 0.0]))
    cos_half = (1.0 - piece.bulge**2) / (1.0 + piece.bulge**2)
    return Arcs(
        centre[0, 0], centre[0, 1], radius[0], middle[0, 0], middle[0, 1], np.array(cos_half)
    )


def _crossings(first: Lines | Arcs, second: Lines | Arcs) -> list[tuple[float, float]]:
    if isinstance(first, Lines):
        if isinstance(second, Lines):
            x, y = line_line_crossings(first, second)
        else:
            x, y = line_arc_crossings(first, second)
    elif isinstance(second, Lines):
        x, y = line_arc_crossings(second, first)
    else:
        x, y = arc_arc_crossings(first, second)
    return [(a, b) for a, b in zip(x.tolist(), y.tolist(), strict=True) if math.isfinite(a)]


def _cut(pieces: list[_Piece]) -> list[_Piece]:
    """Return the pieces cut where they cross each other."""
    long = [piece for piece in pieces if math.dist(piece.p, piece.q) > _JOIN_MM]
    segments = [_segment(piece) for piece in long]
    cuts: list[list[tuple[float, float]]] = [[] for _ in long]
    for i, first in enumerate(segments):
        for j in range(i + 1, len(segments)):
            for point in _crossings(first, segments[j]):
                cuts[i].append(point)
                cuts[j].append(point)
    return [
        part
        for piece, segment, points in zip(long, segments, cuts, strict=True)
        for part in _split(piece, segment, points)
    ]


def _split(piece: _Piece, segment: Lines | Arcs, points: list[tuple[float, float]]) -> list[_Piece]:
    """Return a piece split at points on it."""
    if isinstance(segment, Lines):
        ends = [piece.p, *sorted(points, key=lambda point: math.dist(point, piece.p)), piece.q]
        bulges = [0.0] * (len(ends) - 1)
    else:
        centre = (float(segment.x), float(segment.y))
        turns = sorted((_turn(piece, centre, point), point) for point in points)
        ends = [piece.p, *(point for _, point in turns), piece.q]
        at = [0.0, *(turn for turn, _ in turns), 4.0 * math.atan(abs(piece.bulge))]
        bulges = [
            math.copysign(math.tan((end - start) / 4.0), piece.bulge) for start, end in pairwise(at)
        ]
    parts = zip(ends[:-1], ends[1:], bulges, strict=True)
    return [_Piece(p, q, bulge) for p, q, bulge in parts if math.dist(p, q) > _JOIN_MM]


def _turn(piece: _Piece, centre: tuple[float, float], point: tuple[float, float]) -> float:
    """Return the angle from the start of an arc to a point on it, along the arc, in radians."""
    ax, ay = piece.p[0] - centre[0], piece.p[1] - centre[1]
    bx, by = point[0] - centre[0], point[1] - centre[1]
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    turn = turn if piece.bulge > 0.0 else -turn
    # A crossing at the very start may come out a hair before it.
    return turn if turn > -1e-7 else turn + 2.0 * math.pi


def _if_clear(piece: _Piece, outline: Outline, distance: float) -> list[_Piece]:
    """Return the piece if its middle keeps the distance from the outline, else nothing."""
    (px, py), (qx, qy) = piece.p, piece.q
    # The middle of an arc lies bulge × half the chord off the chord's middle, on its outer side.
    x = (px + qx) / 2.0 + piece.bulge * (qy - py) / 2.0
    y = (py + qy) / 2.0 - piece.bulge * (qx - px) / 2.0
    away = float(signed_distance(outline, np.array([x]), np.array([y]))[0])
    clear = away >= distance - _KEEPS_MM if distance > 0.0 else away <= distance + _KEEPS_MM
    return [piece] if clear else []


def _loops(pieces: list[_Piece]) -> list[Outline]:
    """Return the closed chains that pieces make up, end to start."""
    loops, left = [], _without_there_and_back(pieces)
    while left:
        run = [left.pop(0)]
        while math.dist(run[-1].q, run[0].p) > _JOIN_MM:
            following = [piece for piece in left if math.dist(run[-1].q, piece.p) <= _JOIN_MM]
            if not following:
                break
            left.remove(following[0])
            run.append(following[0])
        else:
            if len(run) > 1:
                loops.append(_chained(run))
    return loops


def _without_there_and_back(pieces: list[_Piece]) -> list[_Piece]:
    """Return the pieces without those that run the same way there and back: a closed inlet."""

    def same(a: _Piece, b: _Piece) -> bool:
        ends = max(math.dist(a.p, b.q), math.dist(a.q, b.p))
        return ends <= _JOIN_MM and abs(a.bulge + b.bulge) <= _JOIN_MM

    return [a for a in pieces if not any(same(a, b) for b in pieces)]
