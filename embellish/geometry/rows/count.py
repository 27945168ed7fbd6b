"""How many pieces the spans of a row take, and where those stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from heapq import heapify, heappop, heappush
from typing import Literal

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.rows.bodies import Lined
from embellish.geometry.rows.solve import Chains, Solved, equal_gaps
from embellish.geometry.rows.spans import Course, Sequence, Spans

_TRUE_SPREAD_MM = 1e-9
_TRUE_ROUNDS = 20
"""Rounds in which the gaps of true outlines are evened out; straight paths take two."""

_WHOLE_REPEATS = 0.5
"""Whole repeats between corners may widen the gap by this share of the mean piece, not more."""

Fit = Literal["least", "about"]


@dataclass(frozen=True, eq=False)
class Counted:
    """How many gaps each span got, and where its points stand.

    Parameters
    ----------
    gaps : array of shape (k,)
        Gaps of each span; 0 where it holds not even one, so that its ends clash.
    solved
        Places of the points of the spans that hold any, in order.
    """

    gaps: Ints
    solved: Solved

    @property
    def held(self) -> Bools:
        """Whether each span holds at least one gap."""
        return self.gaps > 0


def count_most(course: Course, spans: Spans, fit: Fit = "least") -> Counted:
    """Give each span the most pieces whose equal gap is at least the one asked.

    With ``fit`` 'about' a span takes one more (or one repeat more) where that comes nearer.
    """
    sequence = course.sequence
    # A bare end adds a gap of its own, and a loop joins its one piece to itself.
    least = (2 if spans.loop else 1) + (spans.first < 0) + (spans.last < 0)
    gaps = np.maximum(_upper_bound(spans, sequence, course.asked), least)
    gaps, s = _lower_until_held(course, spans, gaps, least)
    if s is not None and len(sequence.radius) == 1 and course.bodies.every_round and fit == "least":
        return Counted(gaps, equal_gaps(course.track, sequence.chains(spans, gaps), s=s))
    counted = None
    if not course.bodies.every_round:
        counted = _held_in_truth(course, spans, gaps, least)
        gaps = counted.gaps
    if len(sequence.radius) > 1 and not sequence.mirrored:
        gaps = _whole_where_even(course, spans, gaps, least)
    if fit == "about":
        gaps = _nearest(course, spans, gaps)
    if counted is not None and np.array_equal(gaps, counted.gaps):
        return counted
    return solve(course, spans, gaps)


def count_given(course: Course, spans: Spans, most: Counted, wanted: int) -> Counted:
    """Take pieces out of spans that hold the most, until so many are left between their pins.

    Each is taken where the gaps stay smallest, so that the row stays as even as its corners let.
    """
    ends = spans.own_start.astype(np.int64) * (spans.first >= 0)
    ends += spans.own_end * (spans.last >= 0)
    least = (2 if spans.loop else 1) + (spans.first < 0) + (spans.last < 0)
    gaps = most.gaps.copy()
    held = np.flatnonzero(most.held)
    excess = int((gaps - 1 + ends)[held].sum()) - wanted
    chains = course.sequence.chains(spans.taken(held), gaps[held])
    chords = np.zeros(len(gaps))
    chords[held] = np.add.reduceat(
        chains.extent + chains.share * most.solved.gap[chains.of_gap],
        np.concatenate([[0], np.cumsum(gaps[held])[:-1]]),
    )
    queue = [(chords[k] / (gaps[k] - 1), k) for k in held.tolist() if gaps[k] > least[k]]
    heapify(queue)
    for _ in range(excess):
        if not queue:
            break
        _, k = heappop(queue)
        gaps[k] -= 1
        if gaps[k] > least[k]:
            heappush(queue, (chords[k] / (gaps[k] - 1), k))
    return solve(course, spans, gaps)


def solve(course: Course, spans: Spans, gaps: Ints) -> Counted:
    """Place the pieces of spans with so many gaps each (0: the span holds none)."""
    held = gaps > 0
    if not held.any():
        no = np.zeros(0)
        return Counted(gaps, Solved(no, no, no))
    mine, count = spans.taken(held), gaps[held]
    chains = course.sequence.chains(mine, count)
    solved = equal_gaps(course.track, chains)
    if not course.bodies.every_round:
        solved = _true_gaps(course, mine, count, chains, solved)
    return Counted(gaps, solved)


def _true_gaps(course: Course, spans: Spans, gaps: Ints, chains: Chains, solved: Solved) -> Solved:
    """Even out the gaps between true outlines: each takes of its chord what it is seen to take."""
    chosen, of = course.sequence.choice(spans, gaps)
    last = np.cumsum(gaps + 1) - 1
    back = np.ones(len(of), dtype=bool)
    back[last] = False
    at = np.flatnonzero(back)
    both = (chosen[at] >= 0) & (chosen[at + 1] >= 0)
    pairs = np.stack([at, at + 1], axis=1)[both]
    edges = np.concatenate([[0], np.cumsum(gaps)[:-1]])
    for _ in range(_TRUE_ROUNDS):
        pieces = _every_point(course, spans, solved.s, np.maximum(chosen, 0), of)
        chord = np.hypot(*(pieces.xy[at + 1] - pieces.xy[at]).T)
        seen = np.where(both, np.inf, 0.0)
        seen[both] = course.bodies.next_gaps(pieces, pairs)
        least = np.minimum.reduceat(np.where(both, seen, np.inf), edges)
        most = np.maximum.reduceat(np.where(both, seen, -np.inf), edges)
        solved = Solved(solved.s, np.where(np.isfinite(least), least, solved.gap), most - least)
        if (most - least <= _TRUE_SPREAD_MM).all():
            break
        extent = np.where(both, chord - seen, chains.extent)
        moved = equal_gaps(course.track, replace(chains, extent=extent), s=solved.s)
        solved = Solved(moved.s, solved.gap, solved.spread)
    return solved


def _every_point(course: Course, spans: Spans, s: Floats, chosen: Ints, of: Ints) -> Lined:
    """Return the pieces of all points of spans, pins included."""
    track, window = course.track, course.sequence.window
    tangent = track.tangent_deg(s, spans.low[of], spans.high[of], window)
    if not spans.loop:
        pinned = (s == spans.low[of]) & ~spans.own_start[of]
        pinned |= (s == spans.high[of]) & ~spans.own_end[of]
        tangent[pinned] = course.pin_tangent(s[pinned])
    return Lined(s, track.at(s), tangent, chosen, np.zeros(len(s)), of)


def _held_in_truth(course: Course, spans: Spans, gaps: Ints, least: Ints) -> Counted:
    """Correct counts found with pieces' halves along the path by the gaps of true outlines."""
    counted = solve(course, spans, gaps)
    some = counted.held
    count = gaps[some]
    length = (spans.end - spans.start)[some] / np.maximum(count, 1)
    taken = np.maximum(length - counted.solved.gap + course.asked, 1e-9)
    # Turned pieces may take less of the path than it seemed: then more of them fit.
    more = np.clip(np.floor(count * length / taken).astype(np.int64), count, 2 * count)
    if (more > count).any():
        gaps = gaps.copy()
        gaps[some] = more
        counted = solve(course, spans, gaps)
    while True:
        held = np.flatnonzero(counted.held)
        short = held[counted.solved.gap < course.asked]
        if not len(short):
            return counted
        gaps = counted.gaps.copy()
        gaps[short] = np.where(gaps[short] > least[short], gaps[short] - 1, 0)
        counted = solve(course, spans, gaps)


def _upper_bound(spans: Spans, sequence: Sequence, asked: float) -> Ints:
    """No chord is longer than its arc, so no span holds more than this."""
    k = len(sequence.radius)
    mean = 2.0 * float(sequence.radius.mean()) + asked
    # What a sequence of unequal pieces may gain by ending on small ones, and bare ends.
    play = 0.0 if k == 1 else 2.0 * float(np.ptp(sequence.radius)) * k
    bare = np.where(spans.first < 0, 1, 0) + np.where(spans.last < 0, 1, 0)
    length = spans.end - spans.start + play
    # A whole count that only the last bits of a length decide is counted in.
    most: Ints = np.floor(length / mean + bare + 1e-9).astype(np.int64)
    return most


def _lower_until_held(
    course: Course, spans: Spans, gaps: Ints, least: Ints
) -> tuple[Ints, Floats | None]:
    """Lower counts until every gap is held; also the points, where all were placed at once."""
    asked = course.asked
    pitch = 2.0 * float(course.sequence.radius.max()) + asked
    gaps = gaps.copy()
    open_: Ints = np.arange(len(spans))
    while len(open_):
        mine = spans.taken(open_)
        count = gaps[open_]
        chains = course.sequence.chains(mine, count)
        solved = equal_gaps(course.track, chains, asked)
        short = solved.gap < asked
        edges = np.concatenate([[0], np.cumsum(count)[:-1]])
        shares = np.add.reduceat(chains.share, edges)
        # Fewer pieces cut corners more, so they have no more to share: each one less gives back
        # a pitch at most.
        lacking = shares * (asked - solved.gap - solved.spread)
        steps = np.ceil(lacking / pitch - 1e-9).astype(np.int64)
        fewer = np.maximum(count - np.maximum(steps, 1), 0)
        none = short & (fewer < least[open_])
        # One step down at a time below the least, so that a span of one gap is still tried.
        none &= count <= least[open_]
        gaps[open_] = np.where(none, 0, np.where(short, np.maximum(fewer, least[open_]), count))
        if not short.any() and len(open_) == len(spans):
            return gaps, solved.s
        open_ = open_[short & ~none]
    return gaps, None


def _whole_where_even(course: Course, spans: Spans, gaps: Ints, least: Ints) -> Ints:
    """Take whole repeats between corners where that hardly widens the gap; always round loops."""
    radius = course.sequence.radius
    k = len(radius)
    over = (gaps + spans.first + spans.last) % k
    fewer = gaps - over
    able = spans.pinned_start & spans.pinned_end & (over > 0) & (fewer >= least)
    if not able.any():
        return gaps
    some = solve(course, spans.taken(able), fewer[able])
    limit = course.asked + _WHOLE_REPEATS * 2.0 * float(radius.mean())
    # Round a hairpin fewer pieces may stand nearer across it than more did.
    good = (some.solved.gap >= course.asked) & (spans.loop | (some.solved.gap <= limit))
    gaps = gaps.copy()
    gaps[np.flatnonzero(able)[good]] = fewer[able][good]
    return gaps


def _nearest(course: Course, spans: Spans, gaps: Ints) -> Ints:
    k, asked = len(course.sequence.radius), course.asked
    held = gaps > 0
    if not held.any():
        return gaps
    mine = spans.taken(held)
    both = mine.pinned_start & mine.pinned_end
    step = np.where(both & ((gaps[held] + mine.first + mine.last) % k == 0), k, 1)
    now = solve(course, mine, gaps[held]).solved.gap
    more = solve(course, mine, gaps[held] + step).solved.gap
    nearer = (np.abs(more - asked) < np.abs(now - asked)) & (more > 0.0)
    gaps = gaps.copy()
    gaps[np.flatnonzero(held)[nearer]] += step[nearer]
    return gaps


def line_up(course: Course, spans: Spans, counted: Counted) -> Lined:
    """Return the pieces that belong to spans, in path order."""
    if not counted.held.any():
        return Lined.none()
    held, gaps = spans.taken(counted.held), counted.gaps[counted.held]
    chosen, of = course.sequence.choice(held, gaps)
    stands = chosen >= 0
    last = np.cumsum(gaps + 1) - 1
    stands[(last - gaps)[~held.own_start]] = False
    stands[last[~held.own_end]] = False
    s, of = counted.solved.s[stands], of[stands]
    track = course.track
    tangent = np.zeros(len(s))
    if not course.bodies.every_round:
        tangent = track.tangent_deg(s, held.low[of], held.high[of], course.sequence.window)
    index = np.flatnonzero(counted.held)[of]
    return Lined(s, track.at(s), tangent, chosen[stands], np.zeros(len(s)), index)
