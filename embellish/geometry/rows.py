"""Rows: pieces along a path with equal straight gaps, full corners and even tips."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from embellish.geometry.arrays import Bools, Floats, Ints
from embellish.geometry.rows_clash import Standing, settle_clashes
from embellish.geometry.rows_corners import corners_of
from embellish.geometry.rows_spans import Counted, Fit, Sequence, Spans, count_most
from embellish.geometry.rows_tips import Pitches, Tips, tips_of
from embellish.geometry.rows_track import Track
from embellish.units import LAY_SLACK_MM

Ends = Literal["on", "inset", "free"]

_WINDOW = 0.25
"""A corner is looked at over this share of the smallest piece's radius on both sides."""


@dataclass(frozen=True, slots=True)
class Rule:
    """How a row is spaced.

    Parameters
    ----------
    gap_mm
        Least gap between outlines.
    ends
        Open paths: a piece's centre ``on`` each end, its outline ``inset`` to touch the end from
        inside, or ``free``: half a gap is left at each end.
    fit
        ``least``: the gap is never below the one asked; ``about``: the count whose gap is nearest.
    corner_deg
        A path that turns by more has a piece pinned there.
    mirrored
        Whether a sequence of sizes runs alike from both ends.
    start
        Where round a closed path the row starts, as a fraction of its length.
    reverse
        Whether the row runs against the path.
    """

    gap_mm: float
    ends: Ends = "on"
    fit: Fit = "least"
    corner_deg: float = 25.0
    mirrored: bool = False
    start: float = 0.0
    reverse: bool = False

    @property
    def asked(self) -> float:
        """The gap that ways lay to."""
        return self.gap_mm + LAY_SLACK_MM


@dataclass(frozen=True, eq=False)
class Row:
    """Where the pieces of a row stand, in path order.

    Parameters
    ----------
    s : array of shape (n,)
        Arc length along the path as given, in mm.
    xy : array of shape (n, 2)
        Centres.
    tangent_deg : array of shape (n,)
        Direction of the path there, clockwise as seen; at a corner half-way between both.
    u : array of shape (n,)
        Fraction of the path from its start.
    choice : array of shape (n,)
        Which piece of the sequence.
    corner : array of shape (n,)
        Whether it is pinned to a corner.
    gap_mm
        The least gap within the spans, inf where there is none: with ``about`` it may be below
        the one asked, and then stands for it.
    short
        Whether the path is too short for a row.
    left_out_mm : array of shape (j, 3)
        Where pieces are left out since the path runs too near to itself: x, y, arc length.
    """

    s: Floats
    xy: Floats
    tangent_deg: Floats
    u: Floats
    choice: Ints
    corner: Bools
    gap_mm: float = np.inf
    short: bool = False
    left_out_mm: Floats = field(default_factory=lambda: np.zeros((0, 3)))

    def __len__(self) -> int:
        return len(self.s)


def space_row(points: Floats, closed: bool, radius: Floats, rule: Rule) -> Row:
    """Space round pieces along a path.

    Parameters
    ----------
    points : array of shape (m, 2)
        The path in mm, flattened densely (to about 1e-4 mm); a closed one joins up by itself.
    closed
        Whether it closes.
    radius : array of shape (k,)
        Radii of the sequence that repeats along the row.
    rule
        How to space.
    """
    sequence = Sequence(np.asarray(radius, dtype=np.float64), rule.mirrored)
    track = Track.of(points[::-1] if rule.reverse else points, closed)
    if not len(track.points):
        return _row(track, rule, _Placed.none())
    if track.length <= 0.0:
        return replace(_row(track, rule, _Placed.one(0.0, track.points[0])), short=True)
    placed, gap, short = _place(track, sequence, rule)
    return replace(_row(track, rule, placed), gap_mm=gap, short=short)


@dataclass(frozen=True, eq=False)
class _Placed:
    """Pieces on a track, before they are told by the path as it was given."""

    s: Floats
    xy: Floats
    choice: Ints
    corner: Bools
    left_out: Floats

    @classmethod
    def none(cls) -> _Placed:
        no = np.zeros(0)
        return cls(no, np.zeros((0, 2)), no.astype(int), no.astype(bool), np.zeros((0, 3)))

    @classmethod
    def one(cls, s: float, xy: Floats) -> _Placed:
        return cls(
            np.array([s]),
            xy.reshape(1, 2),
            np.zeros(1, dtype=np.int64),
            np.zeros(1, dtype=bool),
            np.zeros((0, 3)),
        )


def _row(track: Track, rule: Rule, placed: _Placed) -> Row:
    length = track.length
    s = track.wrapped(placed.s)
    if track.closed:
        s = np.where(s >= length, 0.0, s)
    tangent = np.zeros(len(s))
    if length > 0.0 and len(s):
        heading = track.heading(s, ahead=True) + track.heading(s, ahead=False)
        # At a cusp the two headings cancel: there the row crosses the tip square to it.
        flat = np.hypot(heading[:, 0], heading[:, 1]) < 1e-6
        came = track.heading(s, ahead=False)
        heading = np.where(flat[:, None], np.stack([-came[:, 1], came[:, 0]], axis=1), heading)
        tangent = np.mod(np.degrees(np.arctan2(heading[:, 1], heading[:, 0])), 360.0)
    if rule.reverse:
        s = length - s
    return Row(
        s,
        placed.xy,
        tangent,
        s / length if length > 0.0 else s,
        placed.choice,
        placed.corner,
        left_out_mm=placed.left_out,
    )


def _place(track: Track, sequence: Sequence, rule: Rule) -> tuple[_Placed, float, bool]:
    radius = sequence.radius
    pin = 2.0 * float(radius[0]) + rule.asked
    window = _WINDOW * float(radius.min())
    corner, _ = corners_of(track, rule.corner_deg, window, pin)
    spans, tips, pins = _spans(track, corner, sequence, rule)
    counted = count_most(track, spans, sequence, rule.asked, rule.fit)
    if not counted.held.any() and not len(pins):
        return _Placed.one(*_middle(track)), np.inf, True
    standing = _standing(track, spans, counted, sequence, pins, tips)
    standing = settle_clashes(track, standing, radius, rule.asked)
    gap = float(counted.solved.gap.min()) if counted.held.any() else np.inf
    placed = _Placed(standing.s, standing.xy, standing.choice, standing.corner, standing.left_out)
    return placed, gap, bool(track.closed and len(placed.s) < 3)


def _middle(track: Track) -> tuple[float, Floats]:
    """Where one piece alone serves a path: its middle, or a tiny ring's centre."""
    half = 0.5 * track.length
    if not track.closed:
        return half, track.at(np.array([half]))[0]
    steps = np.diff(track.s)
    middles = 0.5 * (track.points[1:] + track.points[:-1])
    return 0.0, (middles * steps[:, None]).sum(axis=0) / track.length


_BARE = {"on": 1.0, "inset": 0.0, "free": 0.5}


def _spans(
    track: Track, corner: Floats, sequence: Sequence, rule: Rule
) -> tuple[Spans, Tips, Floats]:
    """Cut the track at its corners; tips move the ends of spans to their neighbours."""
    length = track.length
    k = len(corner)
    radius = sequence.radius
    base = rule.start % 1.0 * length if track.closed else 0.0
    if track.closed and k:
        corner = np.sort(np.where(corner < base - 1e-9, corner + length, corner))
        edges = np.append(corner, corner[0] + length)
    elif track.closed:
        edges = np.array([base, base + length])
    else:
        edges = np.concatenate([[0.0], corner, [length]])
    count = len(edges) - 1
    first = np.zeros(count, dtype=np.int64)
    last = np.zeros(count, dtype=np.int64)
    pinned_start, pinned_end = np.ones(count, dtype=bool), np.ones(count, dtype=bool)
    bare = np.full(count, _BARE[rule.ends])
    if not track.closed:
        bare_ends = 0 if rule.ends == "on" else -1
        first[0], last[-1] = bare_ends, bare_ends
        pinned_start[0] = k == 0
        pinned_end[-1] = k == 0 and rule.mirrored
    start, end = edges[:-1].copy(), edges[1:].copy()
    rooms = end - start
    before = np.roll(rooms, 1) if track.closed else rooms[:-1]
    after = rooms if track.closed else rooms[1:]
    tips = tips_of(
        track, corner, np.stack([before[:k], after[:k]], axis=1), _pitches(radius, rule.asked)
    )
    ahead = np.arange(k) if track.closed else np.arange(k) + 1
    behind = (ahead - 1) % count
    start[ahead] += np.where(tips.acute, tips.after, 0.0)
    end[behind] -= np.where(tips.acute, tips.before, 0.0)
    first[ahead] += tips.acute
    last[behind] += tips.acute
    spans = Spans(
        start, end, first, last, pinned_start, pinned_end, bare, bare, loop=track.closed and not k
    )
    return spans, tips, corner


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


def _standing(
    track: Track,
    spans: Spans,
    counted: Counted,
    sequence: Sequence,
    pins: Floats,
    tips: Tips,
) -> Standing:
    """Gather everything that stands: pins, middle pieces of tips, the points of spans."""
    held = spans.taken(counted.held)
    gaps = counted.gaps[counted.held]
    chosen, of = sequence.choice(held, gaps)
    first = np.concatenate([[0], np.cumsum(gaps + 1)[:-1]])[: len(gaps)]
    last = np.cumsum(gaps + 1) - 1
    stands = chosen >= 0
    # A pin's own piece is told once, by the pin; a loop's joint once, by its start.
    if len(pins) or spans.loop:
        pin_start = (held.first == 0) & (held.pinned_start | (len(pins) == 0))
        pin_end = (held.last == 0) & held.pinned_end
        if not spans.loop:
            stands[first[pin_start]] = False
        stands[last[pin_end]] = False
    span_of = np.flatnonzero(counted.held)[of]
    small = int(np.argmin(sequence.radius))
    s = [counted.solved.s[stands], pins, pins[tips.middle_of] - tips.middle_way]
    number = [
        span_of[stands],
        np.full(len(pins), -1),
        np.full(len(tips.middle_of), -1),
    ]
    xy = [track.at(s[0]), track.at(pins), tips.middle_xy]
    choice = [
        chosen[stands],
        np.zeros(len(pins), dtype=np.int64),
        np.full(len(tips.middle_of), small),
    ]
    weight = [np.zeros(len(s[0])), np.full(len(pins), 2.0), np.ones(len(tips.middle_of))]
    order = np.argsort(np.concatenate(s), kind="stable")
    w = np.concatenate(weight)[order]
    return Standing(
        np.concatenate(s)[order],
        np.concatenate(xy)[order],
        np.concatenate(choice)[order].astype(np.int64),
        w > 1.5,
        w,
        np.concatenate(number)[order].astype(np.int64),
        np.zeros((0, 3)),
    )
