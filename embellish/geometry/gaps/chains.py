"""Exact free distance between placed arc chains, many pairs of two outlines at once.

The nearest points of two chains that do not meet are two vertices, a vertex and the inside of a
segment, or lie on a common normal of two segments; all are tried in closed form, in the frame of
the first outline.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.outlines import Outline, contains_point, tangents
from embellish.geometry.segments import (
    Arcs,
    Chain,
    Lines,
    arc_arc,
    arc_arc_crossings,
    arc_line,
    directions,
    line_arc_crossings,
    line_line_crossings,
    moved,
    point_arc,
    point_line_squared,
)
from embellish.units import EPS_MM

_BLOCK = 40_000
"""Pairs of segments looked at together: the arrays stay in the processor's cache."""


Places: TypeAlias = tuple[Floats, Floats, Floats, Floats]
"""x, y, cosine and sine of the turn, each of shape (m,)."""


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
    if a.round_radius_mm is not None and b.round_radius_mm is not None:
        return np.sqrt(x_mm * x_mm + y_mm * y_mm) - (a.round_radius_mm + b.round_radius_mm)
    if b.round_radius_mm is not None:
        return signed_distance(a, x_mm, y_mm) - b.round_radius_mm
    cos, sin = directions(angle_deg)
    if a.round_radius_mm is not None:
        x, y = -(cos * x_mm + sin * y_mm), sin * x_mm - cos * y_mm
        return signed_distance(b, x, y) - a.round_radius_mm
    gaps = np.empty(len(x_mm))
    step = max(1, _BLOCK // (len(a) * len(b)))
    for start in range(0, len(gaps), step):
        part = slice(start, start + step)
        gaps[part] = _chain_gaps(a, b, (x_mm[part], y_mm[part], cos[part], sin[part]), within_mm)
    return gaps


def signed_distance(outline: Outline, x_mm: Floats, y_mm: Floats) -> Floats:
    """Return the distance of points (m,) to an outline, negative for points inside it."""
    distance = np.empty(len(x_mm))
    step = max(1, _BLOCK // len(outline))
    for start in range(0, len(distance), step):
        part = slice(start, start + step)
        x, y = x_mm[part], y_mm[part]
        away = _point_distance(outline, x[:, None], y[:, None])
        inside = contains_point(outline, np.stack([x, y], axis=-1))
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
    step = max(1, _BLOCK // len(outline))
    chain = outline.chain
    for start in range(0, count, step):
        part = slice(start, start + step)
        some = Lines(*(values[part, None] for values in lines))
        ends = [(some.x, some.y)]
        ends.append((some.x + some.length * some.ux, some.y + some.length * some.uy))
        squared = point_line_squared(chain.x, chain.y, some).min(axis=1)
        least = np.sqrt(squared)
        for x, y in ends:
            least = np.minimum(least, _point_distance(outline, x, y))
        if chain.arcs.radius.size:
            least = np.minimum(least, arc_line(chain.arcs, some).min(axis=1))
        meets = _any(line_line_crossings(some, chain.lines))
        meets |= _any(line_arc_crossings(some, chain.arcs))
        distance[part], crosses[part] = least, meets
    return distance, crosses


def _point_distance(outline: Outline, x: Floats, y: Floats) -> Floats:
    """Return the distance of points (m, 1) to a chain, shape (m,)."""
    chain = outline.chain
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
    placed = moved(b.chain, *at)
    least = _distance(a.chain, placed, hollow=a.hollow or b.hollow)
    unsure = np.flatnonzero(parted[near] <= 0.0)
    if len(unsure):
        over = _overlap(a, b, _taken(placed, unsure), _at(at, unsure))
        deep = unsure[over]
        if len(deep):
            least[deep] = -_depth(a, b, _at(at, deep))
    gaps = parted
    gaps[near] = least
    return gaps


def _distance(a: Chain, b: Chain, *, hollow: bool) -> Floats:
    """Return the distance between chains that do not meet: a (k,), b (m, l)."""
    far, near = _columns(a), _rows(b)
    squared = np.minimum(
        _least(point_line_squared(far.x, far.y, near.lines)),
        _least(point_line_squared(near.x, near.y, far.lines)),
    )
    if not (a.arcs.radius.size or b.arcs.radius.size):
        return np.sqrt(squared)
    dx, dy = far.x - near.x, far.y - near.y
    least = np.sqrt(np.minimum(squared, _least(dx * dx + dy * dy)))
    if b.arcs.radius.size:
        least = np.minimum(least, _least(point_arc(far.x, far.y, near.arcs)))
        least = np.minimum(least, _least(arc_line(near.arcs, far.lines)))
    if a.arcs.radius.size:
        least = np.minimum(least, _least(point_arc(near.x, near.y, far.arcs)))
        least = np.minimum(least, _least(arc_line(far.arcs, near.lines)))
    return np.minimum(least, _least(arc_arc(far.arcs, near.arcs, hollow=hollow)))


def _overlap(a: Outline, b: Outline, placed: Chain, at: Places) -> Bools:
    """Return where the chains cross, or one holds the other."""
    far, near = _columns(a.chain), _rows(placed)
    over = _any(line_line_crossings(far.lines, near.lines))
    over |= _any(line_arc_crossings(far.lines, near.arcs))
    over |= _any(line_arc_crossings(near.lines, far.arcs))
    over |= _any(arc_arc_crossings(far.arcs, near.arcs))
    # A point well inside, and not a vertex: two outlines may lie exactly on each other.
    x, y, cos, sin = at
    px, py = b.inner_point
    over |= contains_point(a, np.stack([cos * px - sin * py + x, sin * px + cos * py + y], axis=-1))
    dx, dy = a.inner_point[0] - x, a.inner_point[1] - y
    over |= contains_point(b, np.stack([cos * dx + sin * dy, cos * dy - sin * dx], axis=-1))
    return over


def _depth(a: Outline, b: Outline, at: Places) -> Floats:
    """Return the least move that parts the outlines along their centres or a normal of either."""
    x, y, cos, sin = at
    # Centres on each other have no line between them but what rounding makes up.
    least = np.where(np.hypot(x, y) > EPS_MM, -_parting(a, b, at, x, y), np.inf)
    for ux, uy in _normals(a):
        least = np.minimum(least, -_parting(a, b, at, np.full(len(x), ux), np.full(len(x), uy)))
    for ux, uy in _normals(b):
        direction = -(cos * ux - sin * uy), -(sin * ux + cos * uy)
        least = np.minimum(least, -_parting(a, b, at, *direction))
    return np.maximum(least, 0.0)


def _normals(outline: Outline) -> Floats:
    """Return the outward normal of each line, or of each arc's start, shape (n, 2)."""
    _, leaving = tangents(outline)
    return np.stack([leaving[:, 1], -leaving[:, 0]], axis=1)


def _parting(a: Outline, b: Outline, at: Places, ux: Floats, uy: Floats) -> Floats:
    """Return how far outlines are apart along directions (m,) of any length, from a to b."""
    x, y, cos, sin = at
    size = np.sqrt(ux * ux + uy * uy)
    still = size == 0.0
    size = np.where(still, 1.0, size)
    ux, uy = np.where(still, 1.0, ux / size), uy / size
    # Seen from b, in its own frame, a lies the other way.
    vx, vy = -(cos * ux + sin * uy), sin * ux - cos * uy
    reach = farthest(a.chain, ux[:, None], uy[:, None]) + farthest(
        b.chain, vx[:, None], vy[:, None]
    )
    return x * ux + y * uy - reach


def farthest(chain: Chain, ux: Floats, uy: Floats) -> Floats:
    """Return how far chains reach along unit directions of shape (m, 1)."""
    far: Floats = (chain.x * ux + chain.y * uy).max(axis=-1)
    arcs = chain.arcs
    if arcs.radius.size:
        bulged = arcs.mx * ux + arcs.my * uy >= arcs.cos_half
        reach = np.where(bulged, arcs.x * ux + arcs.y * uy + arcs.radius, -np.inf)
        far = np.maximum(far, reach.max(axis=-1))
    return far


def _any(crossings: tuple[Floats, Floats]) -> Bools:
    x, _ = crossings
    return np.asarray(np.isfinite(x).any(axis=tuple(range(1, x.ndim))))


def _least(values: Floats) -> Floats:
    """Return the least over all axes but the first; inf where they are empty."""
    least: Floats = values.min(axis=tuple(range(1, values.ndim)), initial=np.inf)
    return least


def _mapped(chain: Chain, function: Callable[[Floats], Floats]) -> Chain:
    return Chain(
        function(chain.x),
        function(chain.y),
        Lines(*(function(values) for values in chain.lines)),
        Arcs(*(function(values) for values in chain.arcs)),
    )


def _columns(chain: Chain) -> Chain:
    return _mapped(chain, lambda values: values[None, :, None])


def _rows(chain: Chain) -> Chain:
    return _mapped(chain, lambda values: values[:, None, :])


def _at(at: Places, rows: Ints) -> Places:
    x, y, cos, sin = at
    return x[rows], y[rows], cos[rows], sin[rows]


def _taken(chain: Chain, rows: Ints) -> Chain:
    """Return the chains of these rows; columns that all share (length, radius) stay shared."""
    return _mapped(chain, lambda values: values if len(values) == 1 else values[rows])
