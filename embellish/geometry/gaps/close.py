"""Which segments of two outlines decide their distance: few pairs of them do.

Each segment lies within a circle about its middle. The nearest two middles bound the distance from
above, so that two segments whose circles are further apart than that decide nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple, TypeAlias

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.outlines import Outline
from embellish.geometry.segments import (
    Arcs,
    Circled,
    Lines,
    arc_arc,
    arc_arc_crossings,
    arc_line,
    line_arc_crossings,
    line_line_crossings,
    point_arc,
    point_line_squared,
    taken,
)
from embellish.units import EPS_MM

Places: TypeAlias = tuple[Floats, Floats, Floats, Floats]
"""x, y, cosine and sine of the turn, each of shape (m,)."""


class Side(NamedTuple):
    """One side of pairs of segments, all of a kind: where each starts, and the lines or arcs."""

    x: Floats
    y: Floats
    segments: Lines | Arcs

    def taken(self, which: Ints) -> Side:
        """Return this side of some of the pairs."""
        return Side(self.x.take(which), self.y.take(which), taken(self.segments, which))


class ClosePairs(NamedTuple):
    """Pairs of segments, one of either outline: the place of each, shape (n,), and both sides."""

    place: Ints
    a: Side
    b: Side

    def taken(self, which: Ints) -> ClosePairs:
        """Return some of the pairs."""
        return ClosePairs(self.place.take(which), self.a.taken(which), self.b.taken(which))


def close_pairs(a: Outline, b: Outline, at: Places, within_mm: float) -> Iterator[ClosePairs]:
    """Yield the pairs of segments that can decide how far outlines are apart, kind by kind.

    Parameters
    ----------
    a, b
        The outlines; ``a`` stands at the origin, unturned.
    at
        Places and turns of ``b``.
    within_mm
        Places where the outlines are further apart than this may have no pair at all.
    """
    here, there = a.circled, b.circled
    place, i, j = _met(here, there, at, within_mm)
    kinds = list(product(here.kinds, there.kinds))
    for arcs_here, arcs_there in kinds:
        if len(kinds) == 1:
            some, own, other = place, i, j
        else:
            alike = (i >= here.first_arc) == arcs_here
            alike &= (j >= there.first_arc) == arcs_there
            which = np.flatnonzero(alike)
            some, own, other = place.take(which), i.take(which), j.take(which)
        x, y, cos, sin = at
        turned = x.take(some), y.take(some), cos.take(some), sin.take(some)
        still = _side(here, own, arcs=arcs_here)
        yield ClosePairs(some, still, _moved(_side(there, other, arcs=arcs_there), turned))


def distances(pairs: ClosePairs, *, hollow: bool) -> Floats:
    """Return the distance of the two segments of each pair, where they do not cross.

    Ends of segments are left to the segments that start there.
    """
    a, b = pairs.a, pairs.b
    s, t = a.segments, b.segments
    least = np.minimum(_point(a.x, a.y, t), _point(b.x, b.y, s))
    if isinstance(s, Lines) and isinstance(t, Lines):
        return least
    dx, dy = a.x - b.x, a.y - b.y
    least = np.minimum(least, np.sqrt(dx * dx + dy * dy))
    if isinstance(s, Lines):
        normal = arc_line(t, s) if isinstance(t, Arcs) else least
    else:
        normal = arc_line(s, t) if isinstance(t, Lines) else arc_arc(s, t, hollow=hollow)
    return np.minimum(least, normal)


def crossing(pairs: ClosePairs) -> Bools:
    """Return whether the two segments of each pair cross."""
    s, t = pairs.a.segments, pairs.b.segments
    if isinstance(s, Lines):
        x, _ = line_line_crossings(s, t) if isinstance(t, Lines) else line_arc_crossings(s, t)
    else:
        x, _ = line_arc_crossings(t, s) if isinstance(t, Lines) else arc_arc_crossings(s, t)
    return np.asarray(np.isfinite(x).any(axis=-1))


def _met(a: Circled, b: Circled, at: Places, within_mm: float) -> tuple[Ints, Ints, Ints]:
    """Return place, and index of the segment of either, of the pairs whose circles come close."""
    x, y, cos, sin = at
    mx, my = b.middle_x[:, None], b.middle_y[:, None]
    apart = a.middle_x[:, None, None] - (cos * mx - sin * my + x)
    down = a.middle_y[:, None, None] - (sin * mx + cos * my + y)
    apart *= apart
    down *= down
    apart += down
    np.sqrt(apart, out=apart)
    # A hair more, so that rounding leaves out no pair of two equally near.
    # Segments that cross are wanted even where only deep overlaps are.
    nearest = np.minimum(apart.min(axis=(0, 1)), max(within_mm, 0.0)) + EPS_MM
    apart -= np.add.outer(a.radius, b.radius)[:, :, None]
    index = np.flatnonzero(apart <= nearest)
    both = index // len(x)
    i = both // len(b.radius)
    return index - both * len(x), i, both - i * len(b.radius)


def _side(given: Circled, which: Ints, *, arcs: bool) -> Side:
    segments = taken(given.arcs, which - given.first_arc) if arcs else taken(given.lines, which)
    return Side(given.x.take(which), given.y.take(which), segments)


def _moved(side: Side, at: Places) -> Side:
    """Return segments turned and moved, each to a place of its own."""
    x, y, cos, sin = at

    def turned(px: Floats, py: Floats) -> tuple[Floats, Floats]:
        return cos * px - sin * py, sin * px + cos * py

    def moved(px: Floats, py: Floats) -> tuple[Floats, Floats]:
        tx, ty = turned(px, py)
        return tx + x, ty + y

    given = side.segments
    sx, sy = moved(side.x, side.y)
    if isinstance(given, Lines):
        return Side(sx, sy, Lines(sx, sy, *turned(given.ux, given.uy), given.length))
    centre, middle = moved(given.x, given.y), turned(given.mx, given.my)
    return Side(sx, sy, Arcs(*centre, given.radius, *middle, given.cos_half))


def _point(x: Floats, y: Floats, segments: Lines | Arcs) -> Floats:
    """Return the distance of one point to one segment each, inf where an arc's end is nearest."""
    if isinstance(segments, Lines):
        return np.sqrt(point_line_squared(x, y, segments))
    return point_arc(x, y, segments)
