"""Rows: pieces along a path with equal straight gaps, full corners and even tips."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from embellish.geometry.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.outlines import circle
from embellish.geometry.rows_bodies import Bodies, Lined
from embellish.geometry.rows_clash import settle
from embellish.geometry.rows_cross import crossings_of
from embellish.geometry.rows_pins import (
    Pins,
    Tipped,
    evened,
    pinned_pieces,
    pins_of,
    spans_between,
    tipped,
)
from embellish.geometry.rows_spans import (
    Counted,
    Fit,
    Sequence,
    Spans,
    count_most,
    line_up,
    solve,
)
from embellish.geometry.rows_track import Track
from embellish.units import LAY_SLACK_MM

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
        Whether it closes.
    bodies
        The pieces of the sequence that repeats along the row, and how they turn.
    rule
        How to space.
    others
        What stands already: the row is laid around it.
    """
    track = Track.of(points[::-1] if rule.reverse else points, closed)
    around = Standing(np.zeros((0, 2)), np.zeros(0), np.zeros(0, dtype=np.int64))
    around = around if others is None else others
    sequence = Sequence(bodies, rule.mirrored)
    if not len(track.points):
        return _told(track, rule, bodies, Lined.none(), rule.gap_mm)
    if track.length <= 0.0:
        alone = _alone(track, sequence)
        return _told(track, rule, bodies, alone, rule.gap_mm, short=True)

    lay = _Lay(track, sequence, rule)
    laid = lay.between(pins_of(track, sequence, rule.corner_deg, rule.asked, rule.start))
    if laid is None:
        alone = _alone(track, sequence)
        return _told(track, rule, bodies, alone, rule.gap_mm, short=True)
    if len(bodies.clashes(laid.pieces, laid.asked)):
        # Only a path with clashes is worth a look for crossings: one piece then serves both ways.
        pitch = 2.0 * float(sequence.radius[0]) + rule.asked
        crossed = crossings_of(track, pitch)
        if len(crossed):
            pins = pins_of(track, sequence, rule.corner_deg, rule.asked, rule.start, crossed)
            laid = lay.between(pins) or laid
    settled = settle(track, laid.spans, laid.pieces, sequence, around, laid.asked)
    short = track.closed and len(settled.pieces) < 3 and not len(settled.left_out)
    gap = min(rule.gap_mm, laid.asked)
    return _told(track, rule, bodies, settled.pieces, gap, short, settled.left_out)


@dataclass(frozen=True, eq=False)
class _Laid:
    spans: Spans
    pieces: Lined
    asked: float


@dataclass(frozen=True, eq=False)
class _Lay:
    """One laying of a row: what is the same for any choice of pins."""

    track: Track
    sequence: Sequence
    rule: Rule

    def between(self, pins: Pins) -> _Laid | None:
        """Lay the row between pins, or return None where the path has room for one piece only."""
        track, sequence, asked = self.track, self.sequence, self.rule.asked
        base = spans_between(track, pins, sequence, _BARE[self.rule.ends], self.rule.start)
        found = tipped(track, pins, base, sequence, asked)
        counted = count_most(track, found.spans, sequence, asked, self.rule.fit)
        if not counted.held.any() and not len(pins):
            return None
        if found.tips.acute.any():
            found, counted = self._evened(base, found, counted)
        if self.rule.fit == "about" and counted.held.any():
            asked = min(asked, float(counted.solved.gap.min()))
        pieces = line_up(track, found.spans, counted, sequence)
        pieces = pieces.joined(pinned_pieces(track, pins, found, sequence))
        return _Laid(found.spans, pieces, asked)

    def _evened(self, base: Spans, found: Tipped, counted: Counted) -> tuple[Tipped, Counted]:
        """Widen tips to the gaps of their sides, as long as those keep theirs."""
        asked = self.rule.asked
        for _ in range(3):
            wide = evened(self.track, base, found, counted, self.sequence, asked)
            if wide.tips.acute.sum() != found.tips.acute.sum():
                break
            again = solve(self.track, wide.spans, self.sequence, counted.gaps)
            if (again.solved.gap < np.minimum(asked, counted.solved.gap)).any():
                break
            found, counted = wide, again
        return found, counted


_BARE = {"on": None, "inset": 0.0, "free": 0.5}


def _alone(track: Track, sequence: Sequence) -> Lined:
    """One piece that alone serves a path: in its middle, or a tiny ring's centre."""
    s = np.zeros(1)
    tangent = np.zeros(1)
    xy = track.points[:1]
    if track.length > 0.0 and not track.closed:
        s = np.array([0.5 * track.length])
        xy = track.at(s)
        tangent = track.tangent_deg(s, np.zeros(1), np.array([track.length]), sequence.window)
    elif track.length > 0.0:
        middles = 0.5 * (track.points[1:] + track.points[:-1])
        xy = (middles * np.diff(track.s)[:, None]).sum(axis=0, keepdims=True) / track.length
    none = np.zeros(1, dtype=np.int64)
    return Lined(s, xy, tangent, none, np.zeros(1), none)


def _told(
    track: Track,
    rule: Rule,
    bodies: Bodies,
    pieces: Lined,
    gap_mm: float,
    short: bool = False,
    left_out: Floats | None = None,
) -> Row:
    """Tell pieces by the path as it was given."""
    length = track.length
    s = track.wrapped(pieces.s)
    if track.closed:
        s = np.where(s >= length, 0.0, s)
    if rule.reverse:
        s = length - s
    return Row(
        s,
        pieces.xy,
        bodies.angle(pieces.tangent),
        s / length if length > 0.0 else np.zeros(len(s)),
        pieces.choice,
        pieces.weight > 1.5,
        gap_mm,
        short,
        np.zeros((0, 3)) if left_out is None else left_out,
    )
