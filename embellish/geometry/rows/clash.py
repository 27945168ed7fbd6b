"""Clashes within a row, and with what stands already: where paths cross or nearly touch.

Corners stay. Of two spans the later one is laid anew around the earlier; a span that comes near
itself is cut between the two places and its later part laid around the earlier. Only then is
anything dropped.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Lined
from embellish.geometry.rows.clear import lay_clear, lay_in_parts
from embellish.geometry.rows.near import Near, all_standing, some_standing
from embellish.geometry.rows.spans import Course, Spans
from embellish.geometry.rows.track import Track

_SAME_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Settled:
    """Pieces without clashes, and the stretches that carry none of their own: x, y, length."""

    pieces: Lined
    left_out: Floats
    changed: bool = False


def settle(course: Course, spans: Spans, pieces: Lined, others: Standing, pairs: Ints) -> Settled:
    """Settle the clashes of a row.

    Parameters
    ----------
    course
        Path, pieces and gap.
    spans
        The row's spans.
    pieces
        The row's pieces; ``span`` tells which span each belongs to.
    others
        What stands already and stays.
    pairs : array of shape (j, 2)
        The pairs of pieces that clash.
    """
    track, bodies, asked = course.track, course.bodies, course.asked
    none = np.zeros((0, 3))
    hit = bodies.room(pieces, others, asked, asked) < -_SAME_MM / 2.0
    if not len(pairs) and not hit.any():
        return Settled(pieces, none)

    # Corners first: the sharpest stay; a lost one leaves its spans to be laid anew.
    pinned = pieces.weight > 0.0
    lost = pinned & hit
    lost |= _beaten(pieces, pairs[pinned[pairs].all(axis=1)], lost)
    again = np.zeros(len(spans), dtype=bool)
    again[_spans_at(track, spans, pieces.xy[lost])] = True
    mine = pieces.span
    again[mine[hit & ~pinned]] = True
    live = pairs[~lost[pairs].any(axis=1)]
    mixed = live[pinned[live].any(axis=1)]
    again[mine[mixed[~pinned[mixed]]]] = True
    both = live[~pinned[live].any(axis=1)]
    again[np.maximum(mine[both[:, 0]], mine[both[:, 1]])] = True

    kept = pieces.taken(~lost & (pinned | ~again[mine]))
    left: list[Floats] = [none]
    kept_more: list[Lined] = []
    near = Near.of(bodies, kept, others)
    for index in np.flatnonzero(again).tolist():
        span = spans.taken(np.array([index]))
        laid, blocked = _lay_again(course, span, near.around(course, span))
        near.add(laid)
        kept_more.append(replace(laid, span=np.full(len(laid), index)))
        middle = track.at(blocked.mean(axis=1)) if len(blocked) else np.zeros((0, 2))
        left.append(np.column_stack([middle, blocked[:, 1] - blocked[:, 0]]))
    kept = kept.joined(*kept_more)
    pairs = bodies.clashes(kept, asked)
    hit = bodies.room(kept, others, asked, asked) < -_SAME_MM / 2.0
    dropped = hit | _beaten(kept, pairs, hit)
    return Settled(kept.taken(~dropped), np.concatenate(left), changed=True)


def _beaten(pieces: Lined, pairs: Ints, gone: Bools) -> Bools:
    """Say who has to go: of each pair the lighter, then the later, unless its rival has gone."""
    rank = np.lexsort((np.arange(len(pieces)), -pieces.weight))
    place = np.empty(len(rank), dtype=np.int64)
    place[rank] = np.arange(len(rank))
    gone = gone.copy()
    before = gone.copy()
    ahead, behind = place[pairs].min(axis=1), place[pairs].max(axis=1)
    for a, b in sorted(zip(ahead.tolist(), behind.tolist(), strict=True)):
        if not gone[rank[a]]:
            gone[rank[b]] = True
    return gone & ~before


def _spans_at(track: Track, spans: Spans, xy: Floats) -> Ints:
    """Return the spans that start or end at any of some places."""
    if not len(xy):
        return np.zeros(0, dtype=np.int64)
    near = np.zeros(len(spans), dtype=bool)
    for ends in (spans.low, spans.high):
        apart = track.at(ends)[:, None, :] - xy
        near |= (np.hypot(apart[..., 0], apart[..., 1]) < _SAME_MM).any(axis=1)
    return np.flatnonzero(near)


def _lay_again(course: Course, span: Spans, around: Standing) -> tuple[Lined, Floats]:
    """Lay a span around all that stays, cutting it wherever it comes near itself."""
    track, bodies, asked = course.track, course.bodies, course.asked
    fixed = Lined.none()
    if span.loop:
        # A loop is cut where it starts; the piece there stands for both its ends.
        s = span.start
        low, high = s - track.length, s + track.length
        tangent = track.tangent_deg(s, low, high, course.sequence.window)
        zero = np.zeros(1)
        fixed = Lined(s, track.at(s), tangent, np.zeros(1, dtype=np.int64), zero, zero.astype(int))
        if (bodies.room(fixed, around, asked, asked) < -_SAME_MM / 2.0)[0]:
            fixed = Lined.none()
        span = replace(span, own_start=np.zeros(1, dtype=bool), loop=False)

    def clear(span: Spans, fixed: Lined) -> tuple[Lined, Floats]:
        standing = all_standing(bodies, fixed, around)
        ends = np.concatenate([track.at(span.start), track.at(span.end)])
        apart = standing.xy[:, None, :] - ends
        own = (np.hypot(apart[..., 0], apart[..., 1]) < _SAME_MM).any(axis=1)
        return lay_clear(course, span, some_standing(standing, ~own), some_standing(standing, own))

    return lay_in_parts(course, span, fixed, clear)
