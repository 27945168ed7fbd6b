"""Outlines: one closed chain of circular arcs and straight lines.

A segment runs from vertex i to vertex i + 1 (the last one back to the first). Its bulge is
tan(sweep / 4): 0 is a straight line, 1 a half circle; positive turns clockwise as seen (y down).
A chain runs clockwise as seen, so its shoelace area in (x, y-down) is positive and a convex
arc has a positive bulge. Gap, containment, template holes and drawings all use this one truth.

The forms pieces come in are built in `outline_forms`, offsets in `outline_offsets`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, frozen
from embellish.errors import EmbellishError
from embellish.geometry.segments import (
    Chain,
    Circled,
    Sides,
    arc_frames,
    chain,
    circled,
    directions,
    sides,
)


class OutlineError(EmbellishError):
    """An outline cannot be: it is open, crosses itself, or has nothing left of it."""


class Arcs(NamedTuple):
    """The segments of an outline as arcs, for writers; a line has radius inf and sweep 0.

    Parameters
    ----------
    centre : array of shape (n, 2)
        Centres in mm, nan for lines.
    radius : array of shape (n,)
        Radii in mm.
    start_deg : array of shape (n,)
        Direction from the centre to the segment's start, degrees clockwise as seen from +x.
    sweep_deg : array of shape (n,)
        Signed turn from start to end, positive clockwise as seen.
    """

    centre: Floats
    radius: Floats
    start_deg: Floats
    sweep_deg: Floats


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed arc-and-line chain in its own frame, millimetres.

    Parameters
    ----------
    points : array of shape (n, 2)
        Vertices, clockwise as seen; n >= 2.
    bulges : array of shape (n,)
        tan(sweep / 4) of the segment that leaves each vertex.
    round_radius_mm
        The radius where the outline is a circle about the origin, else None: the fast way.
    """

    points: Floats
    bulges: Floats
    round_radius_mm: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        object.__setattr__(self, "bulges", frozen(self.bulges))

    def __len__(self) -> int:
        return len(self.points)

    @cached_property
    def chain(self) -> Chain:
        """The segments as arrays for distances."""
        return chain(self.points, self.bulges)

    @cached_property
    def circled(self) -> Circled:
        """The segments as arrays for telling which of them come close to others."""
        return circled(self.points, self.bulges)

    @cached_property
    def sides(self) -> Sides:
        """The segments as arrays for telling what lies inside."""
        return sides(self.points, self.bulges)

    @property
    def arcs(self) -> Arcs:
        """The segments as arcs for writers."""
        centre, radius, _ = arc_frames(self.points, self.bulges)
        spoke = self.points - centre
        straight = np.isinf(radius)
        start = np.degrees(np.arctan2(spoke[:, 1], spoke[:, 0]))
        sweep = np.degrees(4.0 * np.arctan(self.bulges))
        return Arcs(centre, radius, np.where(straight, 0.0, start), np.where(straight, 0.0, sweep))

    @cached_property
    def inner_point(self) -> tuple[float, float]:
        """A point well inside."""
        polygon = shapely.Polygon(sampled(self, 1e-3 * reach(self)))
        point = polygon.centroid
        if not polygon.contains(point):
            point = polygon.representative_point()
        return float(point.x), float(point.y)

    @property
    def hollow(self) -> bool:
        """Whether an arc bends inward."""
        return bool(np.any(self.bulges < 0.0))

    @property
    def convex(self) -> bool:
        """Whether no arc bends inward and no corner turns inward."""
        sin, cos = corners(self)
        back = (cos < 0.0) & (np.abs(sin) < 1e-9) & np.signbit(sin)
        return not self.hollow and bool(np.all(sin >= -1e-9)) and not np.any(back)


def circle(diameter_mm: float) -> Outline:
    """Return the circle of a round piece: two half circles about the origin."""
    r = diameter_mm / 2.0
    return Outline(np.array([[-r, 0.0], [r, 0.0]]), np.ones(2), round_radius_mm=r)


def tangents(outline: Outline) -> tuple[Floats, Floats]:
    """Return the unit directions arriving at and leaving each vertex, shape (n, 2) each."""
    step = np.roll(outline.points, -1, axis=0) - outline.points
    step = step / np.hypot(step[:, 0], step[:, 1])[:, None]
    b = outline.bulges[:, None]
    # Half the sweep lies between the chord and the tangent at either end.
    cos, sin = (1.0 - b * b) / (1.0 + b * b), 2.0 * b / (1.0 + b * b)
    across = np.stack([-step[:, 1], step[:, 0]], axis=1)
    leaving = cos * step - sin * across
    arriving = cos * step + sin * across
    return np.roll(arriving, 1, axis=0), leaving


def corners(outline: Outline) -> tuple[Floats, Floats]:
    """Return sine and cosine of the turn at each vertex, shape (n,), clockwise positive.

    Where the chain turns straight back, its arcs tell whether that is a tip (sine 0) or the
    bottom of an inlet (sine -0.0).
    """
    arriving, leaving = tangents(outline)
    sin = arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0]
    cos = (arriving * leaving).sum(axis=1)
    _, radius, _ = arc_frames(outline.points, outline.bulges)
    bend = np.sign(outline.bulges) / radius
    back = (cos < 0.0) & (np.abs(sin) < 1e-9)
    return np.where(back, np.copysign(0.0, -(bend + np.roll(bend, 1))), sin), cos


def placed(outline: Outline, x_mm: float, y_mm: float, angle_deg: float = 0.0) -> Outline:
    """Return the outline turned clockwise as seen about its origin, then moved by (x, y)."""
    cos, sin = (float(value) for value in directions(np.asarray(angle_deg, dtype=np.float64)))
    turn = np.array([[cos, sin], [-sin, cos]])
    still = x_mm == 0.0 and y_mm == 0.0
    return Outline(
        outline.points @ turn + np.array([x_mm, y_mm]),
        outline.bulges,
        outline.round_radius_mm if still else None,
    )


def mirrored(outline: Outline) -> Outline:
    """Return the outline mirrored left-right about its origin, clockwise again."""
    points = (outline.points * np.array([-1.0, 1.0]))[::-1]
    return Outline(points, np.roll(outline.bulges[::-1], -1), outline.round_radius_mm)


def scaled(outline: Outline, factor: float) -> Outline:
    """Return the outline scaled about its origin (one factor: an arc stays an arc)."""
    radius = outline.round_radius_mm
    return Outline(
        outline.points * factor, outline.bulges, None if radius is None else radius * factor
    )


def bounds(outline: Outline) -> tuple[float, float, float, float]:
    """Return the exact bounds (x0, y0, x1, y1) in mm."""
    low, high = outline.points.min(axis=0), outline.points.max(axis=0)
    arcs = outline.chain.arcs
    for axis, (middle, centre) in enumerate([(arcs.mx, arcs.x), (arcs.my, arcs.y)]):
        for sign, best in ((-1.0, low), (1.0, high)):
            reached = centre + sign * arcs.radius
            inside = sign * middle >= arcs.cos_half
            least = np.where(inside, sign * reached, -np.inf).max(initial=-np.inf)
            best[axis] = sign * max(sign * best[axis], least)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def recentred(outline: Outline) -> tuple[Outline, tuple[float, float]]:
    """Return the outline about the centre of its bounds, and where that centre was."""
    x0, y0, x1, y1 = bounds(outline)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    return placed(outline, -x, -y), (x, y)


def area(outline: Outline) -> float:
    """Return the signed area in mm², positive where the chain runs clockwise as seen."""
    p, q = outline.points, np.roll(outline.points, -1, axis=0)
    polygon = (p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]).sum() / 2.0
    _, radius, _ = arc_frames(outline.points, outline.bulges)
    arc = np.isfinite(radius)
    sweep = 4.0 * np.arctan(outline.bulges[arc])
    caps = (radius[arc] ** 2 * (sweep - np.sin(sweep))).sum() / 2.0
    return float(polygon + caps)


def length(outline: Outline) -> float:
    """Return the length of the outline in mm."""
    step = np.roll(outline.points, -1, axis=0) - outline.points
    span = np.hypot(step[:, 0], step[:, 1])
    b = np.abs(outline.bulges)
    arc = b >= 1e-7
    b = np.where(arc, b, 1.0)
    return float(np.where(arc, span * (1.0 + b * b) * np.arctan(b) / b, span).sum())


def reach(outline: Outline, x_mm: float = 0.0, y_mm: float = 0.0) -> float:
    """Return the greatest distance of the outline from (x, y), by default its origin, in mm."""
    far = float(np.hypot(outline.points[:, 0] - x_mm, outline.points[:, 1] - y_mm).max())
    arcs = outline.chain.arcs
    dx, dy = arcs.x - x_mm, arcs.y - y_mm
    away = np.hypot(dx, dy)
    inside = dx * arcs.mx + dy * arcs.my >= away * arcs.cos_half
    return max(far, float(np.where(inside, away + arcs.radius, 0.0).max(initial=0.0)))


def sampled(outline: Outline, tolerance_mm: float) -> Floats:
    """Return points of shape (k, 2) along the outline, chords within a tolerance of the arcs.

    For drawing, and for libraries that know no arcs; no check or cut is made from it.
    """
    arcs = outline.arcs
    pieces = []
    for index, point in enumerate(outline.points):
        radius, sweep = float(arcs.radius[index]), math.radians(float(arcs.sweep_deg[index]))
        count = 1
        if sweep:
            step = 2.0 * math.acos(max(0.0, 1.0 - tolerance_mm / radius))
            count = max(1, math.ceil(abs(sweep) / step))
        angle = math.radians(float(arcs.start_deg[index])) + sweep * np.arange(1, count) / count
        inner = arcs.centre[index] + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        pieces.append(np.concatenate([point[None, :], inner]))
    return np.concatenate(pieces)


def contains(outline: Outline, x_mm: Floats, y_mm: Floats) -> Bools:
    """Return for points of shape (m,) whether each lies inside the outline.

    The parity of the chord polygon and of the caps between chords and arcs. Both ask one and the
    same orientation of point and chord, so that a point on a chord is counted once.
    """
    sides = outline.sides
    side = sides.dx * (y_mm - sides.y) - sides.dy * (x_mm - sides.x)
    left = (side > 0.0) | ((side == 0.0) & sides.level)
    odd = (sides.y <= y_mm) & (y_mm < sides.high_y) & left
    inside: Bools = np.logical_xor.reduce(odd, axis=0)
    if len(sides.arc):
        near = (x_mm - sides.centre_x) ** 2 + (y_mm - sides.centre_y) ** 2 < sides.radius_squared
        inside ^= np.logical_xor.reduce(near & (left[sides.arc] == sides.bulges_left), axis=0)
    return inside
