"""Acute tips: how a row goes into a point too narrow for two pieces abreast, and out again.

With a piece on the tip, its two neighbours would stand in each other's way wherever the sides open
by less than about 60 degrees. Leaving one of them out makes a hole on one side. Instead the row
stays even on both: from the tip one or more pieces stand on the middle line between the sides,
each its gap from the last, until the sides have opened so far that two pieces stand abreast, each
its gap from the last middle piece. Where that last step is small anyway, the two sides start
alike at the first place where they keep their gap to each other, with no middle piece.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.rows.track import Track, first_root

_WIDER = 0.25
"""A gap at a tip wider by at most this share of the pitch is left without a middle piece."""
_CLOSE_MM = 1e-7
"""A distance found by narrowing is met: a small part of the slack that ways lay to."""
_MOST_MIDDLE = 24
"""Longer needles than this are left to the clash pass."""


@dataclass(frozen=True, eq=False)
class Pitches:
    """Centre distances that hold at tips: gap and radii added up, in mm."""

    tip_before: float
    tip_after: float
    tip_middle: float
    middle_middle: float
    middle_before: float
    middle_after: float


@dataclass(frozen=True, eq=False)
class Rays:
    """Pairs of ways that leave one pinned place and may stay too near together.

    At a corner they are the way back and the way on; where a path crosses itself, two neighbours
    of its four ways.

    Parameters
    ----------
    s_a, s_b : arrays of shape (k,)
        Where each way starts.
    to_a, to_b : arrays of shape (k,)
        +1 where it runs with the path, -1 against it.
    room_a, room_b : arrays of shape (k,)
        Arc that is free along it.
    wider : array of shape (k,)
        Added to each pitch, so that the tip is as wide as the row that goes into it.
    abreast : array of shape (k,)
        How far apart pieces of the two ways have to be.
    """

    s_a: Floats
    to_a: Floats
    room_a: Floats
    s_b: Floats
    to_b: Floats
    room_b: Floats
    wider: Floats
    abreast: Floats

    def __len__(self) -> int:
        return len(self.s_a)

    def taken(self, which: Ints | Bools) -> Rays:
        """Return some of the pairs."""
        return Rays(*(getattr(self, field.name)[which] for field in fields(self)))

    def a(self, track: Track, way: Floats) -> Floats:
        """Return points on the first ways; ``way`` is (k,) or (k, j)."""
        return _along(track, self.s_a, self.to_a, way)

    def b(self, track: Track, way: Floats) -> Floats:
        """Return points on the second ways."""
        return _along(track, self.s_b, self.to_b, way)

    def leave_a(self, track: Track, way: Floats, centre: Floats, distance: Floats) -> Floats:
        """Return the arc on the first ways, from ``way`` on, at a distance from points."""
        s = self.s_a + self.to_a * way
        return way + track.first_beyond(s, self.to_a, centre, distance, self.room_a - way)

    def leave_b(self, track: Track, way: Floats, centre: Floats, distance: Floats) -> Floats:
        """Return the arc on the second ways, from ``way`` on, at a distance from points."""
        s = self.s_b + self.to_b * way
        return way + track.first_beyond(s, self.to_b, centre, distance, self.room_b - way)


@dataclass(frozen=True, eq=False)
class Tips:
    """How the row goes at each acute tip.

    Parameters
    ----------
    acute : array of shape (k,)
        Whether the pair of ways needs help; the rest says nothing where it does not.
    way_a, way_b : arrays of shape (k,)
        Arc from the tip to the first piece on each way.
    middle_of : array of shape (j,)
        Which tip each middle piece stands at.
    middle_xy : array of shape (j, 2)
        Where it stands.
    middle_way : array of shape (j,)
        The arc from the tip at which it stands abreast.
    """

    acute: Bools
    way_a: Floats
    way_b: Floats
    middle_of: Ints
    middle_xy: Floats
    middle_way: Floats


def tips_of(track: Track, rays: Rays, pitches: Pitches) -> Tips:
    """Work out how a row goes where two ways leave one place.

    Parameters
    ----------
    track
        The path.
    rays
        The pairs of ways.
    pitches
        Centre distances to keep.
    """
    k = len(rays)
    acute, way_a, way_b = np.zeros(k, dtype=bool), np.zeros(k), np.zeros(k)
    left = _crowded(track, rays, pitches)
    tip = track.at(rays.s_a)
    tried: list[tuple[Ints, Floats, Floats]] = []
    a, b, wider = _open_start(track, rays.taken(left), pitches)
    plain = wider <= _WIDER
    acute[left[plain]] = True
    way_a[left[plain]], way_b[left[plain]] = a[plain], b[plain]
    left = left[~plain]
    centre, way = tip[left], np.zeros(len(left))
    pitch = pitches.tip_middle
    for _ in range(_MOST_MIDDLE):
        if not len(left):
            break
        way = _next_middle(track, rays.taken(left), way, centre, pitch)
        pitch = pitches.middle_middle
        going = ~np.isnan(way)
        left, way = left[going], way[going]
        mine = rays.taken(left)
        centre = 0.5 * (mine.a(track, way) + mine.b(track, way))
        tried.append((left, centre, way))
        a = mine.leave_a(track, way, centre, pitches.middle_before + mine.wider)
        b = mine.leave_b(track, way, centre, pitches.middle_after + mine.wider)
        done = _norm(mine.a(track, a) - mine.b(track, b)) >= mine.abreast - _CLOSE_MM
        acute[left[done]] = True
        way_a[left[done]], way_b[left[done]] = a[done], b[done]
        left, way, centre = left[~done], way[~done], centre[~done]
    middles = [(of[acute[of]], xy[acute[of]], way[acute[of]]) for of, xy, way in tried]
    middles.append((left[:0], np.zeros((0, 2)), np.zeros(0)))
    of, xy, ways = (np.concatenate(column) for column in zip(*middles, strict=True))
    return Tips(acute, way_a, way_b, of, xy, ways)


def _crowded(track: Track, rays: Rays, pitches: Pitches) -> Ints:
    """Return the pairs of ways whose first pieces, each at its pitch, would be too near."""
    # Most corners are wide open: a look at equal arcs settles those.
    way_a = np.minimum(pitches.tip_before + rays.wider, rays.room_a)
    way_b = np.minimum(pitches.tip_after + rays.wider, rays.room_b)
    at_a, at_b, tip = rays.a(track, way_a), rays.b(track, way_b), track.at(rays.s_a)
    straight = (_norm(at_a - tip) > 0.97 * way_a) & (_norm(at_b - tip) > 0.97 * way_b)
    near = np.flatnonzero(~straight | (_norm(at_a - at_b) < 1.1 * rays.abreast))
    some, tip = rays.taken(near), tip[near]
    none = np.zeros(len(near))
    a = some.leave_a(track, none, tip, pitches.tip_before + some.wider)
    b = some.leave_b(track, none, tip, pitches.tip_after + some.wider)
    apart = _norm(some.a(track, a) - some.b(track, b))
    # Where there is no room for a first piece (nan) there is no tip to mend.
    return near[apart < some.abreast - _CLOSE_MM]


def _open_start(track: Track, rays: Rays, pitches: Pitches) -> tuple[Floats, Floats, Floats]:
    """Start both ways alike where they keep their gap; also by how much wider the gap gets."""
    len(rays)

    def abreast(way: Floats) -> Floats:
        return _norm(rays.a(track, way) - rays.b(track, way)) - rays.abreast[:, None]

    base = max(pitches.tip_before, pitches.tip_after)
    step = rays.abreast / 16.0
    most = np.minimum(np.minimum(rays.room_a, rays.room_b), 4.0 * base)
    a = first_root(abreast, 0.5 * rays.abreast, step, most)
    wider = _norm(rays.a(track, a) - track.at(rays.s_a)) / base - 1.0
    wider = np.where(np.isnan(wider), np.inf, wider)
    near = np.flatnonzero(wider <= 2.0 * _WIDER)
    b = a.copy()
    a[near], b[near], wider[near] = _alike(track, rays.taken(near), a[near], pitches)
    return a, b, wider


def _alike(
    track: Track, rays: Rays, way: Floats, pitches: Pitches
) -> tuple[Floats, Floats, Floats]:
    """Make the two gaps from a tip equal: ways that bend differently take turns."""
    base = max(pitches.tip_before, pitches.tip_after)
    less_a, less_b = base - pitches.tip_before, base - pitches.tip_after
    tip = track.at(rays.s_a)
    a, b = way, way
    none, far = np.zeros(len(rays)), np.zeros(len(rays))
    for _ in range(12):
        reach_a = _norm(rays.a(track, a) - tip) + less_a
        reach_b = _norm(rays.b(track, b) - tip) + less_b
        far = np.maximum(np.maximum(reach_a, reach_b), base)
        a = rays.leave_a(track, none, tip, far - less_a)
        b = rays.leave_b(track, none, tip, far - less_b)
        apart = _norm(rays.a(track, a) - rays.b(track, b))
        short = apart < rays.abreast - _CLOSE_MM
        if not short.any():
            break
        grow = np.where(short, rays.abreast / apart + 1e-12, 1.0)
        a, b = a * grow, b * grow
    lost = np.isnan(far) | np.isnan(a) | np.isnan(b)
    return a, b, np.where(lost, np.inf, far / base - 1.0)


def _next_middle(track: Track, rays: Rays, way: Floats, centre: Floats, pitch: float) -> Floats:
    def short(more: Floats) -> Floats:
        w = way[:, None] + more
        middle = 0.5 * (rays.a(track, w) + rays.b(track, w))
        return _norm(middle - centre[:, None, :]) - pitch - rays.wider[:, None]

    most = np.minimum(rays.room_a, rays.room_b) - way
    return way + first_root(short, pitch + rays.wider, np.full(len(rays), pitch / 16.0), most)


def _along(track: Track, s: Floats, to: Floats, way: Floats) -> Floats:
    if way.ndim == 1:
        return track.at(s + to * way)
    return track.at(s[:, None] + to[:, None] * way)


def _norm(xy: Floats) -> Floats:
    return np.hypot(xy[..., 0], xy[..., 1])
