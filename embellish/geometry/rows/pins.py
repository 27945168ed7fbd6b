"""Pinned places of a row, and the spans between them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.rows.bodies import Lined
from embellish.geometry.rows.corners import corners_of, hairpins_of
from embellish.geometry.rows.count import Counted
from embellish.geometry.rows.spans import Course, Spans
from embellish.geometry.rows.tips import Pitches, Rays, Tips, tips_of

_SAME_MM = 1e-7
MOST_WIDER = 0.5
"""A tip follows the gaps of its row up to this share of the pitch."""
_WIDENED = (0.08, 0.16, 0.24)
"""How much wider, in pitches, a tip is tried that leaves no room beyond it as it is."""
_MOST_BETWEEN = 3
"""A tip with more pieces between its sides is a needle, which widening does not mend."""


@dataclass(frozen=True, eq=False)
class Pins:
    """Places of a track where a piece is pinned.

    Parameters
    ----------
    s : array of shape (k,)
        Arc length, in order from the row's start; it may run on past a closed track's joint.
    stands : array of shape (k,)
        Whether a piece stands there: a crossing is passed twice and has one.
    twin : array of shape (k,)
        For a crossing's two passes, the index of the other; else -1.
    """

    s: Floats
    stands: Bools
    twin: Ints

    def __len__(self) -> int:
        return len(self.s)


def pins_of(
    course: Course, corner_deg: float, start: float, crossings: Floats | None = None
) -> Pins:
    """Find the pinned places: corners, and crossings (k, 2) where given."""
    track, sequence = course.track, course.sequence
    pitch = 2.0 * float(sequence.radius[0]) + course.asked
    corner, _ = corners_of(track, corner_deg, sequence.window, pitch)
    back = hairpins_of(track, pitch, pitch, corner)
    corner = np.sort(np.concatenate([corner, back]))
    crossed = np.zeros((0, 2)) if crossings is None else crossings
    if len(crossed) and len(corner):
        away = np.abs(crossed[:, :, None] - corner)
        if track.closed:
            away = np.minimum(away, track.length - away)
        crossed = crossed[(away >= pitch).all(axis=(1, 2))]
    s = np.concatenate([corner, crossed.T.ravel()])
    k, c = len(corner), len(crossed)
    twin = np.concatenate([np.full(k, -1), k + c + np.arange(c), k + np.arange(c)])
    if track.closed:
        base = start % 1.0 * track.length
        on = np.mod(s - base, track.length)
        # What only the last bits put before the start stands on it.
        s = base + np.where(on > track.length - _SAME_MM, 0.0, on)
    order = np.argsort(s, kind="stable")
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    twin = np.where(twin < 0, -1, place[np.maximum(twin, 0)])[order] if len(order) else twin
    return Pins(s[order], (twin < 0) | (np.arange(len(s)) < twin), twin.astype(np.int64))


def spans_between(course: Course, pins: Pins, bare: float | None, start: float) -> Spans:
    """Cut a track at its pins.

    Parameters
    ----------
    course, pins
        What to cut, and where.
    bare
        Open tracks: the share of a gap that its ends get where nothing stands on them, or None:
        a piece stands on each.
    start
        Where a closed track without pins starts, as a fraction of its length.
    """
    track = course.track
    k, length = len(pins), track.length
    if track.closed:
        first = pins.s[0] if k else start % 1.0 * length
        edges = np.append(pins.s if k else [first], first + length)
    else:
        edges = np.concatenate([[0.0], pins.s, [length]])
    n = len(edges) - 1
    head, tail = np.arange(n) == 0, np.arange(n) == n - 1
    loose = not track.closed
    index = 0 if bare is None else -1
    return Spans(
        start=edges[:-1],
        end=edges[1:],
        first=np.where(loose & head, index, 0),
        last=np.where(loose & tail, index, 0),
        pinned_start=~(loose & head) | (k == 0),
        pinned_end=~(loose & tail) | ((k == 0) & course.sequence.mirrored),
        bare=np.full(n, 1.0 if bare is None else bare),
        low=edges[:-1] if loose or k else edges[:-1] - length,
        high=edges[1:] if loose or k else edges[1:] + length,
        own_start=(loose & head) | (track.closed and k == 0),
        own_end=loose & tail,
        loop=track.closed and k == 0,
    )


def rays_of(course: Course, pins: Pins, spans: Spans) -> tuple[Rays, Ints, Ints]:
    """Return the pairs of ways that may be too near, and the span end each belongs to.

    Returns
    -------
    rays, end_a, end_b
        Ends are told as 2 * span for its start and 2 * span + 1 for its end.
    """
    track = course.track
    k, n = len(pins), len(spans)
    on = np.arange(k) if track.closed else np.arange(k) + 1
    back = (on - 1) % max(n, 1)
    corner = np.flatnonzero(pins.twin < 0)
    one = np.flatnonzero((pins.twin >= 0) & pins.stands)
    other = pins.twin[one]
    # Of a crossing's four ways the acute neighbours are those that head alike.
    alike = np.sum(
        track.heading(pins.s[one], ahead=True) * track.heading(pins.s[other], ahead=True), axis=1
    )
    sign = np.where(alike >= 0.0, 1.0, -1.0)
    pin_a = np.concatenate([corner, one, one])
    pin_b = np.concatenate([corner, other, other])
    to_a = np.concatenate([np.full(len(corner), -1.0), np.ones(len(one)), -np.ones(len(one))])
    to_b = np.concatenate([np.ones(len(corner)), sign, -sign])
    span_a = np.where(to_a > 0.0, on[pin_a], back[pin_a])
    span_b = np.where(to_b > 0.0, on[pin_b], back[pin_b])
    room = spans.high - spans.low
    none = np.zeros(len(pin_a))
    rays = Rays(pins.s[pin_a], to_a, room[span_a], pins.s[pin_b], to_b, room[span_b], none, none)
    rays = replace(rays, abreast=_abreast(course, rays))
    return rays, 2 * span_a + (to_a < 0.0), 2 * span_b + (to_b < 0.0)


def _abreast(course: Course, rays: Rays) -> Floats:
    """How far apart first pieces have to be: long ones that lean together need less than reach."""
    radius, asked = course.sequence.radius, course.asked
    plain = float(radius[-1] + radius[1 % len(radius)]) + asked
    if course.bodies.every_round:
        return np.full(len(rays), plain)
    far = np.minimum(plain, np.minimum(rays.room_a, rays.room_b))
    apart = rays.a(course.track, far) - rays.b(course.track, far)
    lean = np.minimum(1.0, np.hypot(apart[:, 0], apart[:, 1]) / np.maximum(2.0 * far, 1e-9))
    across = course.bodies.across
    wide = float(across[-1] + across[1 % len(across)])
    return wide * np.sqrt(1.0 - lean**2) + (plain - asked) * lean + asked


@dataclass(frozen=True, eq=False)
class Tipped:
    """Spans whose ends stand back from acute tips, and the pieces between the sides of those.

    Parameters
    ----------
    spans
        The spans.
    tips
        How the row goes at each pair of ways, only those that need help.
    end_a, end_b : arrays of shape (j,)
        The span ends of those pairs.
    rays
        Those pairs.
    """

    spans: Spans
    tips: Tips
    rays: Rays
    end_a: Ints
    end_b: Ints


def tipped(course: Course, pins: Pins, spans: Spans) -> Tipped:
    """Work out the tips of spans and set the spans back from them."""
    rays, end_a, end_b = rays_of(course, pins, spans)
    pitch = 2.0 * float(course.sequence.radius.mean()) + course.asked
    tips = tips_of(course.track, rays, _pitches(course))
    found = _set_back(course, spans, Tipped(spans, tips, rays, end_a, end_b))
    for share in _WIDENED:
        # Where the last of several pieces between the sides leaves no room beyond, fewer a little
        # further apart may.
        between = np.bincount(tips.middle_of, minlength=len(rays))
        lost = tips.acute & ~found.tips.acute & (between <= _MOST_BETWEEN)
        if not lost.any():
            break
        rays = replace(rays, wider=np.where(lost, share * pitch, rays.wider))
        tips = tips_of(course.track, rays, _pitches(course))
        found = _set_back(course, spans, Tipped(spans, tips, rays, end_a, end_b))
    return found


def evened(
    course: Course,
    base: Spans,
    now: Tipped,
    counted: Counted,
    *,
    share: float = 1.0,
    most: float = MOST_WIDER,
    every: bool = False,
) -> Tipped:
    """Give each tip the gap of the row that goes into it, or go a share of the way there.

    Parameters
    ----------
    course, base, now, counted
        The row, its spans without tips, its tips as they are and the pieces between them.
    share
        How far to go.
    most
        By how much wider at most, in pitches.
    every
        Whether corners that needed no help so far are looked at too.
    """
    gap = np.full(len(base), course.asked)
    gap[counted.held] = counted.solved.gap
    both = np.minimum(gap[now.end_a // 2], gap[now.end_b // 2])
    pitch = 2.0 * float(course.sequence.radius.mean()) + course.asked
    wider = np.clip(both - course.asked, 0.0, most * pitch)
    mine = np.flatnonzero(now.tips.acute | every)
    wider = now.rays.wider + share * (wider - now.rays.wider)
    rays = replace(now.rays.taken(mine), wider=wider[mine])
    tips = tips_of(course.track, rays, _pitches(course))
    return _set_back(course, base, Tipped(base, tips, rays, now.end_a[mine], now.end_b[mine]))


def _set_back(course: Course, spans: Spans, found: Tipped) -> Tipped:
    """Set spans back from their tips, where those leave room between them."""
    tips, end_a, end_b = found.tips, found.end_a, found.end_b
    least = 2.0 * float(course.sequence.radius.min()) + course.asked
    n = len(spans)
    acute = tips.acute.copy()
    while True:
        ways = np.zeros(2 * n)
        np.maximum.at(ways, end_a[acute], tips.way_a[acute])
        np.maximum.at(ways, end_b[acute], tips.way_b[acute])
        way = ways.reshape(n, 2)
        # Where the tips of one span leave no room between them they are left to the clash pass.
        full = (way.max(axis=1) > 0.0) & (spans.end - spans.start - way.sum(axis=1) < least)
        crowded = acute & (full[end_a // 2] | full[end_b // 2])
        if not crowded.any():
            break
        acute &= ~crowded
    back = way > 0.0
    moved = replace(
        spans,
        start=spans.start + way[:, 0],
        end=spans.end - way[:, 1],
        first=np.where(back[:, 0], 1, spans.first),
        last=np.where(back[:, 1], 1, spans.last),
        own_start=spans.own_start | back[:, 0],
        own_end=spans.own_end | back[:, 1],
    )
    kept = acute[tips.middle_of]
    tips = replace(
        tips,
        acute=acute,
        middle_of=tips.middle_of[kept],
        middle_xy=tips.middle_xy[kept],
        middle_way=tips.middle_way[kept],
    )
    return replace(found, spans=moved, tips=tips)


def pinned_pieces(course: Course, pins: Pins, found: Tipped) -> Lined:
    """Return what stands on the pins and between the sides of tips, in path order."""
    track, sequence = course.track, course.sequence
    s = pins.s[pins.stands]
    n = len(s)
    none = np.zeros(n, dtype=np.int64)
    on = Lined(
        s,
        track.at(s),
        course.pin_tangent(s),
        none,
        np.full(n, 2.0),
        np.full(n, -1),
    )
    tips, rays = found.tips, found.rays
    of = tips.middle_of
    toward = track.at(rays.s_a[of]) - tips.middle_xy
    m = len(of)
    between = Lined(
        rays.s_a[of] + rays.to_a[of] * tips.middle_way,
        tips.middle_xy,
        np.mod(np.degrees(np.arctan2(toward[:, 1], toward[:, 0])), 360.0),
        np.full(m, int(np.argmin(sequence.radius))),
        np.ones(m),
        np.full(m, -1),
    )
    return on.joined(between)


def _pitches(course: Course) -> Pitches:
    radius, asked = course.sequence.radius, course.asked
    tip, after, before = radius[0], radius[1 % len(radius)], radius[-1]
    middle = radius.min()
    return Pitches(
        tip_before=float(tip + before + asked),
        tip_after=float(tip + after + asked),
        tip_middle=float(tip + middle + asked),
        middle_middle=float(2.0 * middle + asked),
        middle_before=float(middle + before + asked),
        middle_after=float(middle + after + asked),
    )
