"""Arc-and-line outlines as drawing formats want them: as short arcs and as Béziers.

A bulge is tan(sweep / 4), positive clockwise as seen; see ``embellish.geometry.outlines``.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.outlines import Outline
from embellish.geometry.segments import arc_frames

_MAX_BULGE: Final = 0.5
"""Arcs of more than 4·atan(0.5) = 106° are halved: near a half circle the centre that an end
point form implies hangs on the last digits of the radius, and past it on a flag."""


def short_arcs(outline: Outline) -> tuple[Floats, Floats]:
    """Return points (n, 2) and bulges (n,) of the same outline, with no arc over 106°."""
    points, bulges = np.asarray(outline.points), np.asarray(outline.bulges)
    while (np.abs(bulges) > _MAX_BULGE).any():
        ends = np.roll(points, -1, axis=0)
        halves = np.tan(np.arctan(bulges) / 2.0)
        keep = np.abs(bulges) <= _MAX_BULGE
        middles = apexes(points, ends, bulges)
        counts = np.where(keep, 1, 2)
        first = np.cumsum(counts) - counts
        new_points = np.repeat(points, counts, axis=0)
        new_bulges = np.repeat(np.where(keep, bulges, halves), counts)
        new_points[first[~keep] + 1] = middles[~keep]
        points, bulges = new_points, new_bulges
    return points, bulges


def apexes(starts: Floats, ends: Floats, bulges: Floats) -> Floats:
    """Return the middle of each arc, shape (n, 2)."""
    along = ends - starts
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    return (starts + ends) / 2.0 + across * (bulges[:, None] / 2.0)


def steps_for(radius: float, sweep_rad: float, tolerance_mm: float) -> int:
    """Return how many equal chords keep an arc within the tolerance."""
    if radius <= tolerance_mm:
        return max(1, math.ceil(abs(sweep_rad) / (math.pi / 2.0)))
    step = 2.0 * math.acos(1.0 - tolerance_mm / radius)
    return max(1, math.ceil(abs(sweep_rad) / step))


def circle_ring(x: float, y: float, radius: float, tolerance_mm: float) -> Floats:
    """Return a circle as a ring of chord points, shape (m, 2), clockwise as seen."""
    count = max(8, steps_for(radius, 2.0 * math.pi, tolerance_mm))
    turns = 2.0 * math.pi * np.arange(count) / count
    return np.stack([x + radius * np.cos(turns), y + radius * np.sin(turns)], axis=1)


def beziers(outline: Outline, tolerance_mm: float) -> Floats:
    """Return the outline as cubic Bézier segments, shape (m, 4, 2), within the tolerance."""
    points, bulges = short_arcs(outline)
    ends = np.roll(points, -1, axis=0)
    mids, rads, _ = arc_frames(points, bulges)
    chains: list[Floats] = []
    for start, end, bulge, mid, rad in zip(
        points, ends, bulges.tolist(), mids, rads.tolist(), strict=True
    ):
        if not math.isfinite(rad):
            thirds = np.array([0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0])[:, None]
            chains.append((start + (end - start) * thirds)[None])
            continue
        sweep = 4.0 * math.atan(bulge)
        chain = arc_beziers(start - mid, sweep, tolerance_mm) + mid
        chain[-1, 3] = end
        chains.append(chain)
    return np.concatenate(chains)


def arc_beziers(start: Floats, sweep_rad: float, tolerance_mm: float) -> Floats:
    """Return an arc about the origin as cubic segments, shape (m, 4, 2).

    The error of one cubic over an angle t is r · 2/27 · sin(t/4)⁶ / cos(t/4)² (Goldapp 1991,
    the usual form with both ends and tangents kept).
    """
    radius = float(np.hypot(start[0], start[1]))
    count = max(1, math.ceil(abs(sweep_rad) / (math.pi / 2.0) - 1e-12))
    while radius * 2.0 / 27.0 * math.sin(abs(sweep_rad) / count / 4.0) ** 6 * 1.2 > tolerance_mm:
        count += 1
    step = sweep_rad / count
    froms = _turned(start, step * np.arange(count, dtype=np.float64))
    tos = _turned(start, step * np.arange(1, count + 1, dtype=np.float64))
    handle = 4.0 / 3.0 * math.tan(step / 4.0)
    # The tangent of a clockwise turn (y down) is the radius turned by +90°: (-y, x).
    out = np.stack([-froms[:, 1], froms[:, 0]], axis=1) * handle
    back = np.stack([-tos[:, 1], tos[:, 0]], axis=1) * handle
    return np.stack([froms, froms + out, tos - back, tos], axis=1)


def _turned(vector: Floats, turns_rad: Floats) -> Floats:
    cos, sin = np.cos(turns_rad), np.sin(turns_rad)
    return np.stack([cos * vector[0] - sin * vector[1], sin * vector[0] + cos * vector[1]], axis=1)
