"""Rows: pieces along a path with equal straight gaps, full corners and even tips."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.outlines import circle
from embellish.geometry.rows.bodies import Bodies, Lined
from embellish.geometry.rows.clash import settle
from embellish.geometry.rows.count import Counted, Fit, count_given, count_most, line_up, solve
from embellish.geometry.rows.cross import crossings_of
from embellish.geometry.rows.holes import filled
from embellish.geometry.rows.pins import (
    Pins,
    Tipped,
    evened,
    pinned_pieces,
    pins_of,
    spans_between,
    tipped,
)
from embellish.geometry.rows.spans import Course, Sequence, Spans
from embellish.geometry.rows.track import Track
from embellish.units import EPS_MM, LAY_SLACK_MM

Ends = Literal["on", "inset", "free"]


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
    count
        How many pieces to set, or None: as ``fit`` says. Never more than the gap allows.
    """

    gap_mm: float
    ends: Ends = "on"
    fit: Fit = "least"
    corner_deg: float = 25.0
    mirrored: bool = False
    start: float = 0.0
    reverse: bool = False
    count: int | None = None

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
    angle_deg : array of shape (n,)
        How each piece is turned, clockwise as seen.
    u : array of shape (n,)
        Fraction of the path from its start.
    choice : array of shape (n,)
        Which piece of the sequence.
    corner : array of shape (n,)
        Whether it is pinned to a corner or a crossing.
    gap_mm
        The gap that the row keeps: the one asked, or the lower one that ``about`` came to.
    short
        Whether the path is too short for a row.
    left_out_mm : array of shape (j, 3)
        Where pieces are left out since the path runs too near to itself or to others: x, y and
        the arc length without pieces of its own.
    """

    s: Floats
    xy: Floats
    angle_deg: Floats
    u: Floats
    choice: Ints
    corner: Bools
    gap_mm: float
    short: bool = False
    left_out_mm: Floats = field(default_factory=lambda: np.zeros((0, 3)))

    def __len__(self) -> int:
        return len(self.s)


def round_bodies(radius: Floats) -> Bodies:
    """Return round pieces of these radii."""
    return Bodies(tuple(Footprint.of(circle(2.0 * r)) for r in np.asarray(radius).tolist()))


def space_row(
    points: Floats, closed: bool, bodies: Bodies, rule: Rule, others: Standing | None = None
) -> Row:
    """Space pieces along a path.

    Parameters
    ----------
    points : array of shape (m, 2)
        The path in mm, flattened densely (to about 1e-4 mm); a closed one joins up by itself.
    closed
        Whether it closes; one that ends where it started closes too.
    bodies
        The pieces of the sequence that repeats along the row, and how they turn.
    rule
        How to space.
    others
        What stands already: the row is laid around it.
    """
    line = points[::-1] if rule.reverse else points
    meets = len(line) > 2 and float(np.abs(line[0] - line[-1]).max()) <= EPS_MM
    track = Track.of(line, closed or meets)
    around = Standing(np.zeros((0, 2)), np.zeros(0), np.zeros(0, dtype=np.int64))
    around = around if others is None else others
    course = Course(track, Sequence(bodies, rule.mirrored), rule.asked)
    if not len(track.points):
        return _told(course, rule, Lined.none())
    if track.length <= 0.0:
        return _told(course, rule, _alone(course), short=True)
    laid = _lay(course, rule, pins_of(course, rule.corner_deg, rule.start))
    if laid is None:
        return _told(course, rule, _alone(course), short=True)
    pairs = bodies.clashes(laid.pieces, laid.course.asked)
    if len(pairs):
        # Only a path with clashes is worth a look for crossings: one piece then serves both ways.
        crossed = crossings_of(track, 2.0 * float(bodies.along[0]) + rule.asked)
        if len(crossed):
            laid = _lay(course, rule, pins_of(course, rule.corner_deg, rule.start, crossed)) or laid
            pairs = bodies.clashes(laid.pieces, laid.course.asked)
    settled = settle(laid.course, laid.spans, laid.pieces, around, pairs)
    pieces = settled.pieces
    if rule.count is None:
        pieces = filled(laid.course, pieces, around, only_detours=not settled.changed)
    short = track.closed and len(pieces) < 3 and not len(settled.left_out)
    return _told(laid.course, rule, pieces, short=short, left_out=settled.left_out)


@dataclass(frozen=True, eq=False)
class _Laid:
    course: Course
    spans: Spans
    pieces: Lined


def _lay(course: Course, rule: Rule, pins: Pins) -> _Laid | None:
    """Lay a row between pins, or return None where the path has room for one piece only."""
    base = spans_between(course, pins, _BARE[rule.ends], rule.start)
    found = tipped(course, pins, base)
    counted = count_most(course, found.spans, rule.fit)
    if not counted.held.any() and not len(pins):
        return None
    if rule.count is not None:
        found, counted = _given(course, base, found, counted, rule.count - int(pins.stands.sum()))
    elif found.tips.acute.any():
        found, counted = _evened(course, base, found, counted)
    if rule.fit == "about" and counted.held.any():
        # The gap asked was a wish: from here on the one it came to is the law.
        course = replace(course, asked=min(course.asked, float(counted.solved.gap.min())))
    pieces = line_up(course, found.spans, counted)
    return _Laid(course, found.spans, pieces.joined(pinned_pieces(course, pins, found)))


def _given(
    course: Course, base: Spans, found: Tipped, most: Counted, wanted: int
) -> tuple[Tipped, Counted]:
    """Take pieces out until so many are left, tips as wide as the row that goes into them.

    Tips that so few pieces leave open need no help.
    """
    share = 1.0
    for _ in range(_GIVEN_ROUNDS):
        counted = count_given(course, found.spans, most, wanted - len(found.tips.middle_of))
        wide = evened(course, base, found, counted, share=share, most=np.inf, every=True)
        acute, was = wide.tips.acute, found.tips.acute
        change = np.abs(wide.rays.wider - found.rays.wider)[acute | was].max(initial=0.0)
        found, most = wide, count_most(course, wide.spans)
        if change < _SEEN_MM and np.array_equal(acute, was):
            break
        # A wider tip has fewer pieces and leaves more to its row: half steps come to rest.
        share = 0.5
    return found, count_given(course, found.spans, most, wanted - len(found.tips.middle_of))


def _evened(course: Course, base: Spans, found: Tipped, counted: Counted) -> tuple[Tipped, Counted]:
    """Widen tips to the gaps of their sides, as long as those keep theirs."""
    share = 1.0
    for _ in range(_EVENINGS):
        wide = evened(course, base, found, counted, share=share)
        if wide.tips.acute.sum() != found.tips.acute.sum():
            # So wide a tip leaves no room beyond it: half as far.
            share /= 2.0
            continue
        again = solve(course, wide.spans, counted.gaps)
        if (again.solved.gap < np.minimum(course.asked, counted.solved.gap)).any():
            break
        change = np.abs(wide.rays.wider - found.rays.wider[found.tips.acute]).max()
        found, counted = wide, again
        if change < _SEEN_MM:
            break
    return found, counted


_EVENINGS = 3
_GIVEN_ROUNDS = 16
_SEEN_MM = 0.005
"""Gaps that differ by less look alike."""

_BARE = {"on": None, "inset": 0.0, "free": 0.5}


def _alone(course: Course) -> Lined:
    """One piece that alone serves a path: in its middle, or a tiny ring's centre."""
    track, window = course.track, course.sequence.window
    s = np.zeros(1)
    tangent = np.zeros(1)
    xy = track.points[:1]
    if track.length > 0.0 and not track.closed:
        s = np.array([0.5 * track.length])
        xy = track.at(s)
        tangent = track.tangent_deg(s, np.zeros(1), np.array([track.length]), window)
    elif track.length > 0.0:
        middles = 0.5 * (track.points[1:] + track.points[:-1])
        xy = (middles * np.diff(track.s)[:, None]).sum(axis=0, keepdims=True) / track.length
    none = np.zeros(1, dtype=np.int64)
    return Lined(s, xy, tangent, none, np.zeros(1), none)


def _told(
    course: Course,
    rule: Rule,
    pieces: Lined,
    *,
    short: bool = False,
    left_out: Floats | None = None,
) -> Row:
    """Tell pieces by the path as it was given."""
    track = course.track
    length = track.length
    s = track.wrapped(pieces.s)
    if track.closed:
        s = np.where(s >= length, 0.0, s)
    if rule.reverse:
        s = length - s
    return Row(
        s,
        pieces.xy,
        course.bodies.angle(pieces.tangent),
        s / length if length > 0.0 else np.zeros(len(s)),
        pieces.choice,
        pieces.weight > 1.5,
        min(rule.gap_mm, course.asked),
        short,
        np.zeros((0, 3)) if left_out is None else left_out,
    )
