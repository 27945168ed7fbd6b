"""Laying a stretch anew around what stands in its way, so that no holes are left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from embellish.arrays import Bools, Floats
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Lined
from embellish.geometry.rows.count import count_most, line_up
from embellish.geometry.rows.spans import Course, Spans
from embellish.geometry.rows.track import Track, first_root
from embellish.units import LAY_SLACK_MM

_LOOKS = 4
"""Look-out steps a pitch while searching for what stands in the way."""
_FINER = 8
"""Each step near something is cut into this many."""
_MOST_STEPS = 60
_MOST_CUTS = 400
"""A span that comes near itself more often is left to dropping."""
_LEAST = 0.125 * LAY_SLACK_MM
"""Room may be short by this much: what rounding costs is laid for."""
_NEAR_ENOUGH_MM = 1e-8
"""An edge is found when its piece clears its gap by no more."""


def lay_clear(course: Course, span: Spans, others: Standing, own: Standing) -> tuple[Lined, Floats]:
    """Lay one span around others.

    Pieces stand at the very edge of each blocked stretch, so that the gap to what blocks it is
    the one asked, and evenly between.

    Parameters
    ----------
    course
        Path, pieces and gap.
    span
        The one span.
    others
        What stands in the way.
    own
        What stands pinned at the span's own ends: it blocks only where the path comes back to it.

    Returns
    -------
    pieces, blocked
        The span's pieces, and the stretches (j, 2) of arc length that carry none of them.
    """
    look = _Look(course, span)
    start, end = float(span.start[0]), float(span.end[0])
    blocked, back = look.blocked(others), look.blocked(own)
    if len(blocked):
        # Past the first blocked stretch a span has left its own pins: there they count in full.
        left, right = blocked[0, 0], blocked[-1, 1]
        back[:, 0] = np.where(back[:, 0] <= start, np.maximum(back[:, 0], left), back[:, 0])
        back[:, 1] = np.where(back[:, 1] >= end, np.minimum(back[:, 1], right), back[:, 1])
        back = back[back[:, 1] > back[:, 0]]
    else:
        back = back[(back[:, 0] > start) & (back[:, 1] < end)]
    blocked = _merged(np.concatenate([blocked, back]))
    blocked = _merged(_widened(course.track, blocked, look.pitch, start, end))
    return _lay_between(course, span, blocked), blocked


def lay_in_parts(
    course: Course, span: Spans, fixed: Lined, clear: Callable[[Spans, Lined], tuple[Lined, Floats]]
) -> tuple[Lined, Floats]:
    """Lay one span, cutting it wherever it comes near itself.

    Parameters
    ----------
    course
        Path, pieces and gap.
    span
        The one span.
    fixed
        Pieces of it that stand already.
    clear
        Lays a part of the span around the pieces that stand, as `lay_clear` does.

    Returns
    -------
    pieces, blocked
        As of `lay_clear`.
    """
    left: list[Floats] = [np.zeros((0, 2))]
    for _ in range(_MOST_CUTS):
        laid, blocked = clear(span, fixed)
        pairs = course.bodies.clashes(laid, course.asked)
        pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
        if not len(pairs):
            left.append(blocked)
            break
        # The part before the first piece that comes near an earlier one has no clash in itself.
        first = pairs[np.argmin(pairs[:, 1])]
        cut = int(first.sum()) // 2
        fixed = fixed.joined(laid.taken(np.arange(len(laid)) <= cut))
        s = laid.s[cut : cut + 1]
        left.append(blocked[blocked[:, 1] <= s[0]])
        span = replace(
            span,
            start=s,
            first=np.zeros(1, dtype=np.int64),
            pinned_start=np.ones(1, dtype=bool),
            own_start=np.zeros(1, dtype=bool),
        )
    return fixed.joined(laid), np.concatenate(left)


@dataclass(frozen=True, eq=False)
class _Look:
    """Looks along a span for places where a piece would stand in another's way."""

    course: Course
    span: Spans

    @property
    def pitch(self) -> float:
        return 2.0 * float(self.course.sequence.radius.max()) + self.course.asked

    def room(self, s: Floats, others: Standing, within: float) -> Floats:
        """By how much the largest piece would clear its gap at positions."""
        n = len(s)
        low, high = np.full(n, self.span.low[0]), np.full(n, self.span.high[0])
        track, bodies = self.course.track, self.course.bodies
        tangent = track.tangent_deg(s, low, high, self.course.sequence.window)
        largest = int(np.argmax(bodies.reach))
        tried = Lined(
            s, track.at(s), tangent, np.full(n, largest), np.zeros(n), np.zeros(n, dtype=int)
        )
        return bodies.room(tried, others, self.course.asked, within)

    def blocked(self, others: Standing) -> Floats:
        """Return the stretches where a piece would come too near, in order, shape (j, 2)."""
        start, end = float(self.span.start[0]), float(self.span.end[0])
        none = np.zeros((0, 2))
        if not len(others) or end <= start:
            return none
        steps = max(2, int(np.ceil((end - start) / self.pitch * _LOOKS)))
        s = np.linspace(start, end, steps + 1)
        step = (end - start) / steps
        room = self.room(s, others, 2.0 * step)
        # A piece moves no farther than its place: cells with room enough at both ends are clear.
        near = np.minimum(room[:-1], room[1:]) < step
        if not near.any():
            return none
        cell = np.flatnonzero(near)
        fine = (s[cell][:, None] + step * np.arange(1, _FINER) / _FINER).ravel()
        seen = np.concatenate([s, fine])
        order = np.argsort(seen, kind="stable")
        seen = seen[order]
        free = self._free(np.concatenate([room, self.room(fine, others, 2.0 * step)])[order])
        edge = np.flatnonzero(free[1:] != free[:-1])
        bounds = self._edges(seen[edge], seen[edge + 1], free[edge], others, step)
        opens, closes = bounds[free[edge]], bounds[~free[edge]]
        if not free[0]:
            opens = np.concatenate([[start], opens])
        if not free[-1]:
            closes = np.concatenate([closes, [end]])
        return np.stack([opens, closes], axis=1)

    def _free(self, room: Floats) -> Bools:
        return room >= -_LEAST

    def _edges(
        self, low: Floats, high: Floats, low_free: Bools, others: Standing, step: float
    ) -> Floats:
        """Narrow the edges of blocked stretches down to their free side."""
        if not len(low):
            return low
        local = _nearby(others, self.course.track.at(low), self.pitch + self._reach(others) + step)
        good, bad = np.where(low_free, low, high), np.where(low_free, high, low)
        ends = self.room(np.concatenate([good, bad]), local, 2.0 * step) + _LEAST
        over, under = ends[: len(good)], ends[len(good) :]
        left = over
        for turn in range(_MOST_STEPS):
            if (np.minimum(left, np.abs(good - bad)) <= _NEAR_ENOUGH_MM).all():
                break
            # Room changes nearly evenly there, so a straight line finds the edge in a few steps;
            # every third step halves, so that nothing keeps it from coming nearer.
            share = 0.5 if turn % 3 == 2 else over / np.maximum(over - under, _NEAR_ENOUGH_MM)
            tried = good + (bad - good) * np.clip(share, 0.0, 1.0)
            room = self.room(tried, local, 2.0 * step) + _LEAST
            free = room >= 0.0
            left = np.where(free, room, left)
            # The end that stays counts half, so that it too is given up in time (Illinois).
            over = np.where(free, room, over / 2.0)
            under = np.where(free, under / 2.0, room)
            good, bad = np.where(free, tried, good), np.where(free, bad, tried)
        return good

    def _reach(self, others: Standing) -> float:
        return float(others.reach_mm.max()) + float(self.course.bodies.reach.max())


def _nearby(others: Standing, xy: Floats, within: float) -> Standing:
    """Return what stands near any of some places."""
    return others.within(xy.min(axis=0) - within, xy.max(axis=0) + within)


def _merged(blocked: Floats) -> Floats:
    """Join stretches that overlap, in order."""
    if len(blocked) < 2:
        return blocked
    blocked = blocked[np.argsort(blocked[:, 0], kind="stable")]
    reach = np.maximum.accumulate(blocked[:, 1])
    fresh = np.concatenate([[True], blocked[1:, 0] > reach[:-1]])
    last = np.concatenate([np.flatnonzero(fresh)[1:] - 1, [len(blocked) - 1]])
    return np.stack([blocked[fresh, 0], reach[last]], axis=1)


def _widened(track: Track, blocked: Floats, pitch: float, start: float, end: float) -> Floats:
    """Widen short blocked stretches, alike on both sides, until pieces stand abreast of them."""
    inner = (blocked[:, 0] > start) & (blocked[:, 1] < end)
    if not inner.any():
        return blocked
    before = np.concatenate([[start], blocked[:-1, 1]])
    after = np.concatenate([blocked[1:, 0], [end]])
    most = np.minimum(blocked[:, 0] - before, after - blocked[:, 1])[inner]
    p, q = blocked[inner, 0], blocked[inner, 1]

    def short(way: Floats) -> Floats:
        apart = track.at(p[:, None] - way) - track.at(q[:, None] + way)
        return np.hypot(apart[..., 0], apart[..., 1]) - pitch

    close = short(np.zeros((len(p), 1)))[:, 0] < 0.0
    way = np.where(
        close, first_root(short, np.zeros(len(p)), np.full(len(p), pitch / 16.0), most), 0.0
    )
    way = np.where(np.isnan(way), most, way)
    blocked = blocked.copy()
    blocked[inner] = np.stack([p - way, q + way], axis=1)
    return blocked


def _lay_between(course: Course, span: Spans, blocked: Floats) -> Lined:
    """Lay the free stretches of a span, each evenly from edge to edge."""
    start = np.concatenate([span.start, blocked[:, 1]])
    end = np.concatenate([blocked[:, 0], span.end])
    n = len(start)
    at_start, at_end = np.arange(n) == 0, np.arange(n) == n - 1
    free = Spans(
        start,
        end,
        np.where(at_start, span.first[0], 0),
        np.where(at_end, span.last[0], 0),
        ~at_start | span.pinned_start[0],
        ~at_end | span.pinned_end[0],
        np.full(n, span.bare[0]),
        np.full(n, span.low[0]),
        np.full(n, span.high[0]),
        ~at_start | span.own_start[0],
        ~at_end | span.own_end[0],
    )
    # Where an end of the span is itself blocked its stretch is empty.
    some = end - start > 1e-9
    free, at_start, at_end = free.taken(some), at_start[some], at_end[some]
    if not len(free):
        return Lined.none()
    counted = count_most(course, free)
    laid = line_up(course, free, counted)
    return laid.joined(_single(course, free, ~counted.held, at_start, at_end))


def _single(course: Course, free: Spans, few: Bools, at_start: Bools, at_end: Bools) -> Lined:
    """Place one piece in each stretch too short for two: in its middle, or at its own end."""
    inner = few & ~at_start & ~at_end
    # A stretch that begins with the span's own piece keeps that one.
    first = few & at_start & free.own_start & (free.first >= 0)
    last = few & at_end & free.own_end & (free.last >= 0) & ~first
    which = inner | first | last
    some = free.taken(which)
    n = len(some)
    s = np.where(
        inner[which],
        0.5 * (some.start + some.end),
        np.where(first[which], some.start, some.end),
    )
    track = course.track
    tangent = track.tangent_deg(s, some.low, some.high, course.sequence.window)
    k = len(course.sequence.radius)
    choice = np.where(first[which], some.first % k, np.where(last[which], -some.last % k, 0))
    zero = np.zeros(n)
    return Lined(s, track.at(s), tangent, choice, zero, np.zeros(n, dtype=np.int64))
