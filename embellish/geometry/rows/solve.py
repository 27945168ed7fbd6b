"""Equal straight gaps along a track: many stretches solved at once.

A hand judges the straight gap between neighbours, not the arc between them. Each gap i asks for a
chord of extent_i + share_i * gap, with one unknown gap a stretch. Two kinds of steps find it:
scaling each arc by its own chord/arc ratio, which hardly ever goes astray, and Newton's on the
bidiagonal system of chords, which ends it in a few steps where the path is wild.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import solve_banded

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.rows.track import Track

_SPREAD_MM = 2e-10
"""Chords that differ by less are equal: the last bits of an arc length of half a kilometre."""
_MOST_STEPS = 60
_LEAST_SLOPE = 0.15
"""A chord that hardly grows as its end moves on is taken to grow at least this fast."""


@dataclass(frozen=True, eq=False)
class Chains:
    """Stretches of a track with the pieces of each in a chain from its start to its end.

    Parameters
    ----------
    start, end : arrays of shape (k,)
        Arc length of each stretch's fixed ends; start < end.
    gaps : array of shape (k,)
        How many gaps each stretch has: one fewer than its points, ends counted.
    extent : array of shape (sum of gaps,)
        What the two pieces of each gap take of its chord, stretch after stretch.
    share : array of shape (sum of gaps,)
        How much of the stretch's gap each gap gets: 1, or less toward a bare end of the path.
    """

    start: Floats
    end: Floats
    gaps: Ints
    extent: Floats
    share: Floats

    @cached_property
    def of_gap(self) -> Ints:
        """The stretch of each gap."""
        return np.repeat(np.arange(len(self.gaps)), self.gaps)

    @cached_property
    def of_point(self) -> Ints:
        """The stretch of each point."""
        return np.repeat(np.arange(len(self.gaps)), self.gaps + 1)

    @cached_property
    def ahead(self) -> slice | Bools:
        """Which points are the far ends of gaps."""
        if len(self.gaps) == 1:
            return slice(1, None)
        ends = np.ones(len(self.extent) + len(self.gaps), dtype=bool)
        ends[self.first_point] = False
        return ends

    @cached_property
    def back(self) -> slice | Bools:
        """Which points are the near ends of gaps."""
        if len(self.gaps) == 1:
            return slice(None, -1)
        ends = np.ones(len(self.extent) + len(self.gaps), dtype=bool)
        ends[self.first_point + self.gaps] = False
        return ends

    def at_gaps(self, values: Floats) -> Floats:
        """Hand what stretches have (k,) to their gaps; one stretch's serves all."""
        return values if len(self.gaps) == 1 else values[self.of_gap]

    def at_points(self, values: Floats) -> Floats:
        """Hand what stretches have (k,) to their points; one stretch's serves all."""
        return values if len(self.gaps) == 1 else values[self.of_point]

    @cached_property
    def first_point(self) -> Ints:
        """Index of each stretch's first point."""
        return np.concatenate([[0], np.cumsum(self.gaps + 1)[:-1]]).astype(np.int64)

    def taken(self, which: Bools) -> Chains:
        """Return these stretches alone."""
        mine = which[self.of_gap]
        return Chains(
            self.start[which],
            self.end[which],
            self.gaps[which],
            self.extent[mine],
            self.share[mine],
        )


@dataclass(frozen=True, eq=False)
class Solved:
    """Where the points of chains stand.

    Parameters
    ----------
    s : array of shape (sum of gaps + 1,)
        Arc length of each point, ends included, stretch after stretch.
    gap : array of shape (k,)
        The equal gap of each stretch.
    spread : array of shape (k,)
        By how much the worst gap of each stretch is off.
    """

    s: Floats
    gap: Floats
    spread: Floats


def equal_gaps(
    track: Track, chains: Chains, asked: float | None = None, *, s: Floats | None = None
) -> Solved:
    """Place the points of chains so that the gaps of each stretch are equal.

    Parameters
    ----------
    track
        The path.
    chains
        The stretches.
    asked
        Where given, stop once it is clear for every stretch whether its gap reaches this.
    s
        Where given, places of the points to start from.
    """
    solved = _iterate(track, chains, _first_guess(chains) if s is None else s, asked, few=True)
    rough = solved.spread > _SPREAD_MM
    if asked is not None:
        rough &= ~_clear(solved, asked)
    if rough.any():
        mine = rough[chains.of_point]
        again = _iterate(track, chains.taken(rough), solved.s[mine], asked, few=False)
        solved.s[mine] = again.s
        solved.gap[rough] = again.gap
        solved.spread[rough] = again.spread
    return solved


def _clear(solved: Solved, asked: float) -> Bools:
    return np.abs(solved.gap - asked) > 3.0 * solved.spread + 1e-9


def _first_guess(chains: Chains) -> Floats:
    length = chains.end - chains.start
    whole = _per(chains, chains.extent)
    gap = (length - whole) / np.maximum(_per(chains, chains.share), 1e-9)
    arc = chains.extent + chains.share * chains.at_gaps(gap)
    arc = np.maximum(arc, chains.at_gaps(0.05 * length / chains.gaps))
    arc *= chains.at_gaps(length / _per(chains, arc))
    return _summed(chains, arc, chains.start, chains.end)


def _per(chains: Chains, of_gaps: Floats) -> Floats:
    """Add up what gaps have, stretch by stretch (a pairwise sum keeps the last bits)."""
    if len(chains.gaps) == 1:
        return np.array([of_gaps.sum()])
    return np.add.reduceat(of_gaps, np.concatenate([[0], np.cumsum(chains.gaps)[:-1]]))


def _summed(chains: Chains, arc: Floats, start: Floats, end: Floats) -> Floats:
    """Chain arcs into points from each start; the last point of each stretch is its end."""
    first = chains.first_point
    points = np.zeros(len(arc) + len(first))
    points[chains.ahead] = arc
    np.cumsum(points, out=points)
    points += chains.at_points(start - points[first])
    points[first + chains.gaps] = end
    return points


def _iterate(track: Track, chains: Chains, s: Floats, asked: float | None, *, few: bool) -> Solved:
    first = chains.first_point
    ahead, back = chains.ahead, chains.back
    no = np.zeros(len(first))
    best: Solved | None = None
    newton = False
    for _ in range(4 if few else _MOST_STEPS):
        xy = track.at(s)
        span = xy[ahead] - xy[back]
        chord = np.sqrt(span[:, 0] ** 2 + span[:, 1] ** 2)
        arc = s[ahead] - s[back]
        ratio = np.maximum(chord / np.maximum(arc, 1e-12), 1e-3)
        gap = (_per(chains, arc) - _per(chains, chains.extent / ratio)) / _per(
            chains, chains.share / ratio
        )
        off = chord - chains.extent - chains.share * chains.at_gaps(gap)
        spread = np.maximum.reduceat(np.abs(off), first - np.arange(len(first)))
        if best is None:
            best = Solved(s.copy(), gap, spread)
            worst = np.inf
        else:
            better = spread < best.spread
            kept = better[0] if len(better) == 1 else better[chains.of_point]
            np.copyto(best.s, s, where=kept)
            best.gap[better], best.spread[better] = gap[better], spread[better]
        if (best.spread <= _SPREAD_MM).all():
            break
        if asked is not None and (_clear(best, asked) | (best.spread <= _SPREAD_MM)).all():
            break
        if newton or spread.max() > 0.1 * worst:
            newton = True
            change = _newton(track, chains, s, span / np.maximum(chord, 1e-12)[:, None], off)
        else:
            grown = (chains.extent + chains.share * chains.at_gaps(gap)) / ratio - arc
            change = _summed(chains, grown, no, no)
        worst = spread.max()
        # No piece may pass its neighbour: a step is cut short where an arc would nearly vanish.
        most = 0.75 * arc / np.maximum(change[back] - change[ahead], np.maximum(0.75 * arc, 1e-300))
        cut = np.minimum.reduceat(most, first - np.arange(len(first)))
        s = s + change * chains.at_points(cut)
    if best is None:
        raise AssertionError("there is at least one step")
    return best


def _newton(track: Track, chains: Chains, s: Floats, along: Floats, off: Floats) -> Floats:
    """Newton's step: each chord changes by how its two ends move along it."""
    first = chains.first_point
    ahead, back = chains.ahead, chains.back
    leave = np.sum(track.heading(s[back], ahead=True) * along, axis=1)
    reach = np.sum(track.heading(s[ahead], ahead=False) * along, axis=1)
    reach = np.where(np.abs(reach) < _LEAST_SLOPE, np.copysign(_LEAST_SLOPE, reach), reach)
    bands = np.zeros((2, len(s)))
    bands[0] = 1.0
    bands[0, ahead] = reach
    bands[1, back] = -leave
    wanted = np.zeros((len(s), 2))
    wanted[ahead, 0] = -off
    wanted[ahead, 1] = chains.share
    moved = solve_banded((1, 0), bands, wanted, check_finite=False)
    last = first + chains.gaps
    slope = np.where(np.abs(moved[last, 1]) < 1e-12, 1.0, moved[last, 1])
    change = moved[:, 0] - chains.at_points(moved[last, 0] / slope) * moved[:, 1]
    change[first] = 0.0
    change[last] = 0.0
    return np.where(np.isfinite(change), change, 0.0)
