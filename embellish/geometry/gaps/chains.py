"""Exact free distance between placed arc chains, many pairs of two outlines at once.

The nearest points of two chains that do not meet are two vertices, a vertex and the inside of a
segment, or lie on a common normal of two segments; those of the segments that come close are tried
in closed form, in the frame of the first outline. The places stand along the last axis of every
array, so that each step runs over many of them in one sweep.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.gaps.close import Places, close_pairs, crossing, distances
from embellish.geometry.outlines import Outline, contains, tangents
from embellish.geometry.segments import (
    Chain,
    Lines,
    arc_line,
    column,
    directions,
    line_arc_crossings,
    line_line_crossings,
    point_arc,
    point_line_squared,
)
from embellish.units import EPS_MM

_BLOCK = 40_000
"""Pairs of segments looked at together: the arrays stay in the processor's cache."""


def outline_gaps(
    a: Outline,
    b: Outline,
    x_mm: Floats,
    y_mm: Floats,
    angle_deg: Floats,
    *,
    within_mm: float = np.inf,
) -> Floats:
    """Return the free distance between ``a`` at the origin and ``b`` at each place.

    Parameters
    ----------
    a, b
        The outlines; ``a`` stands at the origin, unturned.
    x_mm, y_mm, angle_deg : arrays of shape (m,)
        Places and turns of ``b``.
    within_mm
        Gaps at or above this may be given as any bound that is at or above it too.

    Returns
    -------
    array of shape (m,)
        The exact distance where the outlines are apart. Negative where they overlap or one holds
        the other: minus a distance that would part them (exact for two circles, for a circle
        whose centre stands outside, and for convex outlines of lines alone; else an upper bound
        of the least such distance).
    """
    return placed_gaps(a, b, (x_mm, y_mm, *directions(angle_deg)), within_mm)


def placed_gaps(a: Outline, b: Outline, at: Places, within_mm: float) -> Floats:
    """Return the free distance as `outline_gaps`, where directions of the turns are known."""
    x, y, cos, sin = at
    if a.round_radius_mm is not None and b.round_radius_mm is not None:
        return np.sqrt(x * x + y * y) - (a.round_radius_mm + b.round_radius_mm)
    if b.round_radius_mm is not None:
        return signed_distance(a, x, y) - b.round_radius_mm
    if a.round_radius_mm is not None:
        back_x, back_y = -(cos * x + sin * y), sin * x - cos * y
        return signed_distance(b, back_x, back_y) - a.round_radius_mm
    gaps = np.empty(len(x))
    for part in _blocks(len(gaps), len(a) * len(b)):
        gaps[part] = _chain_gaps(a, b, (x[part], y[part], cos[part], sin[part]), within_mm)
    return gaps


def signed_distance(outline: Outline, x_mm: Floats, y_mm: Floats) -> Floats:
    """Return the distance of points (m,) to an outline, negative for points inside it."""
    distance = np.empty(len(x_mm))
    for part in _blocks(len(distance), len(outline)):
        x, y = x_mm[part], y_mm[part]
        away = _point_distance(outline, x, y)
        inside = contains(outline, x, y)
        distance[part] = np.where(inside, -away, away)
    return distance


def line_distances(outline: Outline, lines: Lines) -> tuple[Floats, Bools]:
    """Return distance and crossing of an outline at the origin and each of m line segments.

    Returns
    -------
    distance, crosses : arrays of shape (m,)
        Distance between segment and chain, and whether they cross (the distance is then no use).
    """
    count = len(lines.x)
    distance, crosses = np.empty(count), np.empty(count, dtype=np.bool_)
    chain = _columns(outline.chain)
    for part in _blocks(count, len(outline)):
        some = Lines(*(values[part] for values in lines))
        ends = [(some.x, some.y)]
        ends.append((some.x + some.length * some.ux, some.y + some.length * some.uy))
        squared = point_line_squared(chain.x, chain.y, some).min(axis=0)
        least = np.sqrt(squared)
        for x, y in ends:
            least = np.minimum(least, _point_distance(outline, x, y))
        if chain.arcs.radius.size:
            least = np.minimum(least, arc_line(chain.arcs, some).min(axis=0))
        meets = _any(line_line_crossings(some, chain.lines))
        meets |= _any(line_arc_crossings(some, chain.arcs))
        distance[part], crosses[part] = least, meets
    return distance, crosses


def _point_distance(outline: Outline, x: Floats, y: Floats) -> Floats:
    """Return the distance of points (m,) to a chain."""
    chain = _columns(outline.chain)
    squared = _least(point_line_squared(x, y, chain.lines))
    if not chain.arcs.radius.size:
        return np.sqrt(squared)
    vertices = _least((x - chain.x) ** 2 + (y - chain.y) ** 2)
    return np.minimum(np.sqrt(np.minimum(squared, vertices)), _least(point_arc(x, y, chain.arcs)))


def _chain_gaps(a: Outline, b: Outline, at: Places, within_mm: float) -> Floats:
    # Apart along one line is apart by at least as much.
    parted = _parting(a, b, at, at[0], at[1])
    near = np.flatnonzero(parted < within_mm)
    if not len(near):
        return parted
    at = _at(at, near)
    least, over = np.full(len(near), within_mm), np.zeros(len(near), dtype=np.bool_)
    unsure = parted[near] <= 0.0
    some_unsure = bool(unsure.any())
    for pairs in close_pairs(a, b, at, within_mm):
        np.minimum.at(least, pairs.place, distances(pairs, hollow=a.hollow or b.hollow))
        if some_unsure:
            looked = pairs.taken(np.flatnonzero(unsure.take(pairs.place)))
            over[looked.place[crossing(looked)]] = True
    if some_unsure:
        rest = np.flatnonzero(unsure & ~over)
        over[rest] = _held(a, b, _at(at, rest))
        deep = np.flatnonzero(over)
        for part in _blocks(len(deep), max(len(a), len(b)) ** 2):
            least[deep[part]] = -_depth(a, b, _at(at, deep[part]))
    gaps = parted
    gaps[near] = least
    return gaps


def _held(a: Outline, b: Outline, at: Places) -> Bools:
    """Return where one outline holds the other, if they do not cross."""
    x, y, cos, sin = at
    # A point well inside, and not a vertex: two outlines may lie exactly on each other.
    px, py = b.inner_point
    held = contains(a, cos * px - sin * py + x, sin * px + cos * py + y)
    dx, dy = a.inner_point[0] - x, a.inner_point[1] - y
    held |= contains(b, cos * dx + sin * dy, cos * dy - sin * dx)
    return held


def _depth(a: Outline, b: Outline, at: Places) -> Floats:
    """Return the least move that parts the outlines along their centres or a normal of either."""
    x, y, cos, sin = at
    # Centres on each other have no line between them but what rounding makes up.
    least = np.where(np.hypot(x, y) > EPS_MM, -_parting(a, b, at, x, y), np.inf)
    ux, uy = _normals(a)
    least = np.minimum(least, _least(-_parting(a, b, at, ux, uy)))
    ux, uy = _normals(b)
    direction = -(cos * ux - sin * uy), -(sin * ux + cos * uy)
    least = np.minimum(least, _least(-_parting(a, b, at, *direction)))
    return np.maximum(least, 0.0)


def _normals(outline: Outline) -> tuple[Floats, Floats]:
    """Return the outward normal of each line, or of each arc's start: x and y, shape (n, 1)."""
    _, leaving = tangents(outline)
    return leaving[:, 1:], -leaving[:, :1]


def _parting(a: Outline, b: Outline, at: Places, ux: Floats, uy: Floats) -> Floats:
    """Return how far outlines are apart along directions of any length, from a to b.

    Directions have shape (m,), one a place; or (n, m) or (n, 1): several, or several for all.
    """
    x, y, cos, sin = at
    size = np.sqrt(ux * ux + uy * uy)
    still = size == 0.0
    size = np.where(still, 1.0, size)
    ux, uy = np.where(still, 1.0, ux / size), uy / size
    # Seen from b, in its own frame, a lies the other way.
    vx, vy = -(cos * ux + sin * uy), sin * ux - cos * uy
    return x * ux + y * uy - (farthest(a.chain, ux, uy) + farthest(b.chain, vx, vy))


def farthest(chain: Chain, ux: Floats, uy: Floats) -> Floats:
    """Return how far a chain reaches along unit directions of any shape."""
    times = np.multiply.outer
    far: Floats = (times(chain.x, ux) + times(chain.y, uy)).max(axis=0)
    arcs = chain.arcs
    if arcs.radius.size:
        each = (slice(None), *(None,) * ux.ndim)
        bulged = times(arcs.mx, ux) + times(arcs.my, uy) >= arcs.cos_half[each]
        reach = times(arcs.x, ux) + times(arcs.y, uy) + arcs.radius[each]
        far = np.maximum(far, np.where(bulged, reach, -np.inf).max(axis=0))
    return far


def _blocks(count: int, each: int) -> Iterator[slice]:
    """Yield slices of places, so many pairs of segments each, to look at together."""
    step = max(1, _BLOCK // each)
    for start in range(0, count, step):
        yield slice(start, start + step)


def _any(crossings: tuple[Floats, Floats]) -> Bools:
    """Return where any segments cross, of crossings (..., m, 1 or 2)."""
    x, _ = crossings
    meets = np.isfinite(x).any(axis=-1)
    return np.asarray(np.logical_or.reduce(meets, axis=tuple(range(meets.ndim - 1))))


def _least(values: Floats) -> Floats:
    """Return the least over all axes but the last; inf where they are empty."""
    least: Floats = values.min(axis=tuple(range(values.ndim - 1)), initial=np.inf)
    return least


def _columns(chain: Chain) -> Chain:
    """Return a chain to be met by many places: shape (k, 1)."""
    lines, arcs = column(chain.lines), column(chain.arcs)
    return Chain(chain.x[:, None], chain.y[:, None], lines, arcs)


def _at(at: Places, rows: Ints) -> Places:
    x, y, cos, sin = at
    return x[rows], y[rows], cos[rows], sin[rows]
