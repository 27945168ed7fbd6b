"""Circular arcs and straight lines as arrays: distances, crossings and sides in closed form.

An arc is kept by its centre, its radius, the unit vector from the centre to its middle and the
cosine of half its sweep, so that 'is this direction within the arc' is one dot product and no
decision here hangs on an inverse trigonometric function. All arrays broadcast.
"""

from __future__ import annotations

from typing import Final, NamedTuple, TypeVar

import numpy as np

from embellish.arrays import Bools, Floats, Ints

STRAIGHT_BULGE: Final = 1e-7
"""A flatter segment is a line: it rises less than 5e-8 of its chord, an arc would lose digits."""

_END_SLACK: Final = 1e-12
"""Crossings at the very end of a segment count, so that none slips between two neighbours."""

_COS_SIGN: Final = np.array([1.0, -1.0, -1.0, 1.0])
_SIN_SIGN: Final = np.array([1.0, 1.0, -1.0, -1.0])
"""Signs of cosine and sine after so many quarter turns."""


class Lines(NamedTuple):
    """Line segments: start, unit direction, length."""

    x: Floats
    y: Floats
    ux: Floats
    uy: Floats
    length: Floats


class Arcs(NamedTuple):
    """Arcs: centre, radius, unit vector to the arc's middle, cosine of half the sweep."""

    x: Floats
    y: Floats
    radius: Floats
    mx: Floats
    my: Floats
    cos_half: Floats


Segments = TypeVar("Segments", Lines, Arcs, Lines | Arcs)


class Chain(NamedTuple):
    """Vertices in order, and the lines and arcs between them."""

    x: Floats
    y: Floats
    lines: Lines
    arcs: Arcs


class Circled(NamedTuple):
    """The segments of a chain, lines first and arcs behind, and the circles that hold them.

    A circle is about its segment's middle; x and y are where the segment starts. All but the
    lines and the arcs themselves have shape (k,).
    """

    x: Floats
    y: Floats
    middle_x: Floats
    middle_y: Floats
    radius: Floats
    lines: Lines
    arcs: Arcs

    @property
    def first_arc(self) -> int:
        """Index of the first arc."""
        return len(self.lines.x)

    @property
    def kinds(self) -> tuple[bool, ...]:
        """Of each kind of segments there are, lines first, whether it is arcs."""
        return (False,) * bool(len(self.lines.x)) + (True,) * bool(len(self.arcs.x))


class Sides(NamedTuple):
    """What decides on which side of a chain a point lies: each field of shape (k, 1).

    Chords from their lower end, how far they go, and whether they are level; arcs by the index of
    their chords, their centres, their squared radii, and whether they bulge left of their chords.
    """

    x: Floats
    y: Floats
    high_y: Floats
    dx: Floats
    dy: Floats
    level: Bools
    arc: Ints
    centre_x: Floats
    centre_y: Floats
    radius_squared: Floats
    bulges_left: Bools


def arc_frames(points: Floats, bulges: Floats) -> tuple[Floats, Floats, Floats]:
    """Return centre (n, 2), radius (n,) and unit vector to the middle (n, 2) of each segment.

    Lines have centre nan, radius inf and the outward normal.
    """
    chord = np.roll(points, -1, axis=0) - points
    normal = np.stack([-chord[:, 1], chord[:, 0]], axis=1)
    span = np.hypot(chord[:, 0], chord[:, 1])
    arc = np.abs(bulges) >= STRAIGHT_BULGE
    b = np.where(arc, bulges, 1.0)
    centre = points + chord / 2.0 + normal * ((1.0 - b * b) / (4.0 * b))[:, None]
    radius = span * (1.0 + b * b) / (4.0 * np.abs(b))
    middle = -np.where(b > 0.0, 1.0, -1.0)[:, None] * normal / span[:, None]
    return np.where(arc[:, None], centre, np.nan), np.where(arc, radius, np.inf), middle


def chain(points: Floats, bulges: Floats) -> Chain:
    """Return the closed chain of vertices (n, 2) and bulges (n,) as arrays for distances."""
    centre, radius, middle = arc_frames(points, bulges)
    step = np.roll(points, -1, axis=0) - points
    length = np.hypot(step[:, 0], step[:, 1])
    arc = np.isfinite(radius)
    at, line = np.flatnonzero(arc), np.flatnonzero(~arc)
    unit = step[line] / length[line][:, None]
    lines = Lines(points[line, 0], points[line, 1], unit[:, 0], unit[:, 1], length[line])
    b = bulges[at]
    arcs = Arcs(
        centre[at, 0],
        centre[at, 1],
        radius[at],
        middle[at, 0],
        middle[at, 1],
        (1.0 - b * b) / (1.0 + b * b),
    )
    return Chain(points[:, 0], points[:, 1], lines, arcs)


def circled(points: Floats, bulges: Floats) -> Circled:
    """Return the segments of the closed chain of vertices (n, 2) and the circles about them."""
    _, radius, outward = arc_frames(points, bulges)
    arc = np.isfinite(radius)
    order = np.argsort(arc, kind="stable")
    step = np.roll(points, -1, axis=0) - points
    half = np.hypot(step[:, 0], step[:, 1]) / 2.0
    rise = np.where(arc, np.abs(bulges), 0.0) * half
    middle = points + step / 2.0 + rise[:, None] * outward
    # No point of an arc is further from its middle than its ends.
    reach = np.hypot(half, rise)
    every = chain(points, bulges)
    return Circled(
        points[order, 0],
        points[order, 1],
        middle[order, 0],
        middle[order, 1],
        reach[order],
        every.lines,
        every.arcs,
    )


def sides(points: Floats, bulges: Floats) -> Sides:
    """Return what decides on which side of a closed chain of vertices (n, 2) a point lies."""
    p, q = points, np.roll(points, -1, axis=0)
    swap = (p[:, 1] > q[:, 1]) | ((p[:, 1] == q[:, 1]) & (p[:, 0] > q[:, 0]))
    low, high = np.where(swap[:, None], q, p), np.where(swap[:, None], p, q)
    dx, dy = (high - low).T
    centre, radius, middle = arc_frames(points, bulges)
    bulges_left = dx * middle[:, 1] - dy * middle[:, 0] > 0.0
    arc = np.flatnonzero(np.isfinite(radius))
    return Sides(
        low[:, :1],
        low[:, 1:],
        high[:, 1:],
        dx[:, None],
        dy[:, None],
        dy[:, None] == 0.0,
        arc,
        centre[arc, :1],
        centre[arc, 1:],
        radius[arc, None] ** 2,
        bulges_left[arc, None],
    )


def directions(angle_deg: Floats) -> tuple[Floats, Floats]:
    """Return cosine and sine of angles in degrees; quarter turns are exact."""
    quarter = np.round(np.asarray(angle_deg, dtype=np.float64) / 90.0)
    rest = np.radians(angle_deg - 90.0 * quarter)
    cos, sin = np.cos(rest), np.sin(rest)
    turn: Ints = quarter.astype(np.int64) & 3
    odd = (turn & 1).astype(np.bool_)
    return (
        _COS_SIGN[turn] * np.where(odd, sin, cos),
        _SIN_SIGN[turn] * np.where(odd, cos, sin),
    )


def column(given: Segments) -> Segments:
    """Return the same segments with a last axis to broadcast against another set's."""
    return type(given)(*(values[..., None] for values in given))


def taken(given: Segments, which: Ints) -> Segments:
    """Return some of the segments."""
    return type(given)(*(values.take(which) for values in given))


def point_line_squared(x: Floats, y: Floats, lines: Lines) -> Floats:
    """Return squared distances from points to line segments."""
    dx, dy = x - lines.x, y - lines.y
    along = np.clip(dx * lines.ux + dy * lines.uy, 0.0, lines.length)
    dx -= along * lines.ux
    dy -= along * lines.uy
    return dx * dx + dy * dy


def point_arc(x: Floats, y: Floats, arcs: Arcs) -> Floats:
    """Return distances from points to arcs, inf where an end of the arc is nearest."""
    dx, dy = x - arcs.x, y - arcs.y
    away = np.sqrt(dx * dx + dy * dy)
    within = dx * arcs.mx + dy * arcs.my >= away * arcs.cos_half
    return np.where(within, np.abs(away - arcs.radius), np.inf)


def arc_line(arcs: Arcs, lines: Lines) -> Floats:
    """Return the distance on the normal of a line through an arc's centre, inf where none."""
    dx, dy = arcs.x - lines.x, arcs.y - lines.y
    along = dx * lines.ux + dy * lines.uy
    across = dx * lines.uy - dy * lines.ux
    # From the centre to its foot on the line: (-uy, ux) where `across` is positive.
    facing = np.copysign(1.0, across) * (lines.ux * arcs.my - lines.uy * arcs.mx)
    within = (along >= 0.0) & (along <= lines.length) & (facing >= arcs.cos_half)
    return np.where(within, np.abs(np.abs(across) - arcs.radius), np.inf)


def arc_arc(a: Arcs, b: Arcs, *, hollow: bool) -> Floats:
    """Return the distance on the line through two arcs' centres, inf where it meets not both.

    Where no arc is hollow, arcs of outlines that do not overlap can only face each other.
    """
    dx, dy = b.x - a.x, b.y - a.y
    apart = np.sqrt(dx * dx + dy * dy)
    at_a, at_b = dx * a.mx + dy * a.my, dx * b.mx + dy * b.my
    limit_a, limit_b = a.cos_half * apart, b.cos_half * apart
    within = (at_a >= limit_a) & (-at_b >= limit_b) & (apart > 0.0)
    least = np.where(within, np.abs(apart - a.radius - b.radius), np.inf)
    if hollow:
        for sign in (1.0, -1.0):
            within = (sign * at_a >= limit_a) & (sign * at_b >= limit_b) & (apart > 0.0)
            gap = np.abs(apart + sign * (b.radius - a.radius))
            least = np.where(within, np.minimum(least, gap), least)
    return least


def line_line_crossings(a: Lines, b: Lines) -> tuple[Floats, Floats]:
    """Return where lines cross, shape (..., 1) each of x and y; nan where they do not."""
    turn = a.ux * b.uy - a.uy * b.ux
    dx, dy = b.x - a.x, b.y - a.y
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        on_a = (dx * b.uy - dy * b.ux) / turn
        on_b = (dx * a.uy - dy * a.ux) / turn
        meets = _on(on_a, a.length) & _on(on_b, b.length) & (turn != 0.0)
        x, y = a.x + on_a * a.ux, a.y + on_a * a.uy
    return _where(meets, x)[..., None], _where(meets, y)[..., None]


def line_arc_crossings(lines: Lines, arcs: Arcs) -> tuple[Floats, Floats]:
    """Return where lines cross arcs, shape (..., 2) each of x and y; nan where they do not."""
    dx, dy = arcs.x - lines.x, arcs.y - lines.y
    along = dx * lines.ux + dy * lines.uy
    across = dx * lines.uy - dy * lines.ux
    with np.errstate(invalid="ignore"):
        half = np.sqrt(arcs.radius**2 - across**2)
    x, y = [], []
    for t in (along - half, along + half):
        px, py = lines.x + t * lines.ux, lines.y + t * lines.uy
        meets = _on(t, lines.length) & _on_arc(px, py, arcs)
        x.append(_where(meets, px))
        y.append(_where(meets, py))
    return np.stack(x, axis=-1), np.stack(y, axis=-1)


def arc_arc_crossings(a: Arcs, b: Arcs) -> tuple[Floats, Floats]:
    """Return where arcs cross, shape (..., 2) each of x and y; nan where they do not."""
    dx, dy = b.x - a.x, b.y - a.y
    apart = np.sqrt(dx * dx + dy * dy)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        along = (apart**2 + a.radius**2 - b.radius**2) / (2.0 * apart)
        half = np.sqrt(a.radius**2 - along**2)
        ux, uy = dx / apart, dy / apart
        # Circles about one centre cross nowhere.
        along = np.where(np.isfinite(half), along, np.nan)
    x, y = [], []
    for h in (half, -half):
        px, py = a.x + along * ux - h * uy, a.y + along * uy + h * ux
        meets = _on_arc(px, py, a) & _on_arc(px, py, b)
        x.append(_where(meets, px))
        y.append(_where(meets, py))
    return np.stack(x, axis=-1), np.stack(y, axis=-1)


def _on(t: Floats, length: Floats) -> Bools:
    slack = _END_SLACK * length
    on: Bools = (t >= -slack) & (t <= length + slack)
    return on


def _on_arc(x: Floats, y: Floats, arcs: Arcs) -> Bools:
    """Whether points on the circle lie within the arc; nan does not."""
    facing = (x - arcs.x) * arcs.mx + (y - arcs.y) * arcs.my
    on: Bools = facing >= arcs.radius * (arcs.cos_half - _END_SLACK)
    return on


def _where(meets: Bools, values: Floats) -> Floats:
    return np.where(meets, values, np.nan)
