"""Pinned places of a row, and the spans between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.geometry.arrays import Bools, Floats, Ints
from embellish.geometry.rows_bodies import Lined
from embellish.geometry.rows_corners import corners_of
from embellish.geometry.rows_spans import Counted, Sequence, Spans
from embellish.geometry.rows_tips import Pitches, Rays, Tips, tips_of
from embellish.geometry.rows_track import Track

_MOST_WIDER = 0.5
"""A tip follows the gaps of its row up to this share of the pitch."""


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
    track: Track,
    sequence: Sequence,
    corner_deg: float,
    asked: float,
    start: float,
    crossings: Floats | None = None,
) -> Pins:
    """Find the pinned places: corners, and crossings (k, 2) where given."""
    pitch = 2.0 * float(sequence.radius[0]) + asked
    corner, _ = corners_of(track, corner_deg, sequence.window, pitch)
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
        s = np.where(s < base - 1e-9, s + track.length, s)
    order = np.argsort(s, kind="stable")
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    twin = np.where(twin < 0, -1, place[np.maximum(twin, 0)])[order] if len(order) else twin
    return Pins(s[order], (twin < 0) | (np.arange(len(s)) < twin), twin.astype(np.int64))


def spans_between(
    track: Track, pins: Pins, sequence: Sequence, bare: float | None, start: float
) -> Spans:
    """Cut a track at its pins.

    Parameters
    ----------
    track, pins, sequence
        What to cut, where, and for what.
    bare
        Open tracks: the share of a gap that its ends get where nothing stands on them, or None:
        a piece stands on each.
    start
        Where a closed track without pins starts, as a fraction of its length.
    """
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
        pinned_end=~(loose & tail) | ((k == 0) & sequence.mirrored),
        bare=np.full(n, 1.0 if bare is None else bare),
        low=edges[:-1] if loose or k else edges[:-1] - length,
        high=edges[1:] if loose or k else edges[1:] + length,
        own_start=(loose & head) | (track.closed and k == 0),
        own_end=loose & tail,
        loop=track.closed and k == 0,
    )


def rays_of(track: Track, pins: Pins, spans: Spans) -> tuple[Rays, Ints, Ints]:
    """Return the pairs of ways that may be too near, and the span end each belongs to.

    Returns
    -------
    rays, end_a, end_b
        Ends are told as 2 * span for its start and 2 * span + 1 for its end.
    """
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
    rays = Rays(
        pins.s[pin_a], to_a, room[span_a], pins.s[pin_b], to_b, room[span_b], np.zeros(len(pin_a))
    )
    return rays, 2 * span_a + (to_a < 0.0), 2 * span_b + (to_b < 0.0)


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


def tipped(track: Track, pins: Pins, spans: Spans, sequence: Sequence, asked: float) -> Tipped:
    """Work out the tips of spans and set the spans back from them."""
    rays, end_a, end_b = rays_of(track, pins, spans)
    tips = tips_of(track, rays, _pitches(sequence.radius, asked))
    return _set_back(spans, tips, rays, end_a, end_b, asked + 2.0 * float(sequence.radius.min()))


def evened(
    track: Track, base: Spans, now: Tipped, counted: Counted, sequence: Sequence, asked: float
) -> Tipped:
    """Give each tip the gap of the row that goes into it."""
    gap = np.full(len(base), asked)
    gap[counted.held] = counted.solved.gap
    both = np.minimum(gap[now.end_a // 2], gap[now.end_b // 2])
    pitch = 2.0 * float(sequence.radius.mean()) + asked
    wider = np.clip(both - asked, 0.0, _MOST_WIDER * pitch)
    mine = np.flatnonzero(now.tips.acute)
    rays = now.rays.taken(mine)
    rays = Rays(rays.s_a, rays.to_a, rays.room_a, rays.s_b, rays.to_b, rays.room_b, wider[mine])
    tips = tips_of(track, rays, _pitches(sequence.radius, asked))
    return _set_back(
        base,
        tips,
        rays,
        now.end_a[mine],
        now.end_b[mine],
        asked + 2.0 * float(sequence.radius.min()),
    )


def _set_back(
    spans: Spans, tips: Tips, rays: Rays, end_a: Ints, end_b: Ints, least: float
) -> Tipped:
    n = len(spans)
    acute = tips.acute.copy()
    while True:
        way = np.zeros(2 * n)
        np.maximum.at(way, end_a[acute], tips.way_a[acute])
        np.maximum.at(way, end_b[acute], tips.way_b[acute])
        way = way.reshape(n, 2)
        # Where the tips of one span leave no room between them they are left to the clash pass.
        full = (way.max(axis=1) > 0.0) & (spans.end - spans.start - way.sum(axis=1) < least)
        crowded = acute & (full[end_a // 2] | full[end_b // 2])
        if not crowded.any():
            break
        acute &= ~crowded
    back = way > 0.0
    k_first = np.where(back[:, 0], 1, spans.first)
    k_last = np.where(back[:, 1], 1, spans.last)
    moved = Spans(
        spans.start + way[:, 0],
        spans.end - way[:, 1],
        k_first,
        k_last,
        spans.pinned_start,
        spans.pinned_end,
        spans.bare,
        spans.low,
        spans.high,
        spans.own_start | back[:, 0],
        spans.own_end | back[:, 1],
        spans.loop,
    )
    kept = acute[tips.middle_of]
    tips = Tips(
        acute,
        tips.way_a,
        tips.way_b,
        tips.middle_of[kept],
        tips.middle_xy[kept],
        tips.middle_way[kept],
    )
    return Tipped(moved, tips, rays, end_a, end_b)


def pinned_pieces(track: Track, pins: Pins, found: Tipped, sequence: Sequence) -> Lined:
    """Return what stands on the pins and between the sides of tips, in path order."""
    s = pins.s[pins.stands]
    n = len(s)
    none = np.zeros(n, dtype=np.int64)
    on = Lined(
        s,
        track.at(s),
        track.corner_deg(s, sequence.window),
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


def _pitches(radius: Floats, asked: float) -> Pitches:
    tip, after, before = radius[0], radius[1 % len(radius)], radius[-1]
    middle = radius.min()
    return Pitches(
        tip_before=float(tip + before + asked),
        tip_after=float(tip + after + asked),
        tip_middle=float(tip + middle + asked),
        middle_middle=float(2.0 * middle + asked),
        middle_before=float(middle + before + asked),
        middle_after=float(middle + after + asked),
        abreast=float(before + after + asked),
    )
