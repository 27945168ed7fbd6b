"""A track: one line of points measured by arc length, and what can be asked of it in bulk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from embellish.arrays import Floats, Ints, frozen

_MANY = 4
_NARROWINGS = 60
_NARROW_MM = 1e-9
"""Far below the slack that ways lay to, above the last bits on a path of half a kilometre."""


@dataclass(frozen=True, eq=False)
class Track:
    """A polyline by arc length; a closed one repeats its first point at the end.

    Parameters
    ----------
    points : array of shape (m, 2)
        Vertices in mm, no two neighbours equal.
    s : array of shape (m,)
        Arc length at each vertex.
    closed
        Whether positions wrap round.
    """

    points: Floats
    s: Floats
    closed: bool

    @cached_property
    def _columns(self) -> tuple[Floats, Floats]:
        # Interpolation copies a strided column each time it is asked.
        return np.ascontiguousarray(self.points[:, 0]), np.ascontiguousarray(self.points[:, 1])

    @classmethod
    def of(cls, points: Floats, closed: bool) -> Track:
        """Measure a line; equal neighbours are dropped, a closed line's end is joined up."""
        line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        if closed and len(line):
            line = np.concatenate([line, line[:1]])
        steps = _lengths(line)
        if not steps.all():
            line = line[np.concatenate([[True], steps > 0.0])]
            steps = steps[steps > 0.0]
        if len(line) < 2:
            return cls(frozen(line[:1]), np.zeros(len(line[:1])), closed=False)
        s = np.zeros(len(line))
        np.cumsum(steps, out=s[1:])
        moves = np.concatenate([[True], s[1:] > s[:-1]])
        if not moves.all():
            # A step below the last bit of the length so far leads nowhere.
            line, s = line[moves], s[moves]
            line[-1] = line[0] if closed else line[-1]
        return cls(frozen(line), frozen(s), closed)

    @property
    def length(self) -> float:
        """Arc length of the whole, in mm."""
        return float(self.s[-1]) if len(self.s) else 0.0

    @cached_property
    def bends_deg(self) -> Floats:
        """An upper bound of the turn at each vertex, ends of an open track left out."""
        dx, dy = np.diff(self.points[:, 0]), np.diff(self.points[:, 1])
        if self.closed:
            dx, dy = np.append(dx[-1:], dx), np.append(dy[-1:], dy)
        return most_turned_deg(dx, dy)

    def wrapped(self, s: Floats) -> Floats:
        """Bring positions into 0 .. length: round a closed track, to the ends of an open one."""
        if not self.closed:
            return np.clip(s, 0.0, self.length)
        inside = (s >= 0.0) & (s <= self.length)
        return s if inside.all() else np.where(inside, s, np.mod(s, self.length))

    def at(self, s: Floats) -> Floats:
        """Return the points at positions of any shape, shape (..., 2)."""
        s = self.wrapped(s)
        if _MANY * s.size > len(self.s):
            places = np.empty((*s.shape, 2))
            for i, column in enumerate(self._columns):
                places[..., i] = np.interp(s, self.s, column)
            return places
        # For few places on a long track one search serves both coordinates.
        index = np.clip(np.searchsorted(self.s, s, side="right") - 1, 0, len(self.s) - 2)
        start = self.points[index]
        along = (s - self.s[index]) / (self.s[index + 1] - self.s[index])
        found: Floats = start + along[..., None] * (self.points[index + 1] - start)
        return found

    def vertices_between(self, start: float, end: float) -> Floats:
        """Return the vertices between two positions; the end may run on past the joint."""
        turns = [0.0, self.length] if self.closed else [0.0]
        parts = []
        for turn in turns:
            first, last = np.searchsorted(self.s, [start - turn, end - turn])
            parts.append(self.points[first:last])
        return np.concatenate(parts)

    def heading(self, s: Floats, *, ahead: bool) -> Floats:
        """Return the unit direction of travel just after (or before) positions, shape (n, 2)."""
        side: Literal["left", "right"] = "right" if ahead else "left"
        found = np.searchsorted(self.s, self.wrapped(s), side=side)
        index = np.clip(found - 1, 0, len(self.s) - 2)
        step = self.points[index + 1] - self.points[index]
        unit: Floats = step / (self.s[index + 1] - self.s[index])[:, None]
        return unit

    def tangent_deg(self, s: Floats, low: Floats, high: Floats, window: float) -> Floats:
        """Return the direction of the path at positions, degrees clockwise as seen, shape (n,).

        It is seen over up to ``window`` on both sides, as a hand sees it, but never beyond ``low``
        and ``high``: the corners or ends around each position.
        """
        reach = np.minimum(window, np.minimum(s - low, high - s))
        seen = self.at(s + reach) - self.at(s - reach)
        edge = reach < 1e-3 * window
        if edge.any():
            first = (s - low < high - s)[edge]
            at = s[edge]
            away = np.where(first, 1.0, -1.0)
            far = np.minimum(window, (high - low)[edge])
            seen[edge] = (self.at(at + away * far) - self.at(at)) * away[:, None]
        return _direction_deg(seen)

    def corner_deg(self, s: Floats, window: float) -> tuple[Floats, Floats, Floats]:
        """Return directions at corners, degrees clockwise as seen, and how far the path turns.

        Returns
        -------
        half_way, out, turn : arrays of shape (n,)
            The direction half-way between coming and going (at a cusp, where the two cancel,
            square to the way in), the direction out of the tip, and the turn, 180 at a cusp.
        """
        here = self.at(s)
        came, goes = here - self.at(s - window), self.at(s + window) - here
        came /= np.maximum(np.hypot(came[:, 0], came[:, 1]), 1e-12)[:, None]
        goes /= np.maximum(np.hypot(goes[:, 0], goes[:, 1]), 1e-12)[:, None]
        both, out = came + goes, came - goes
        flat = np.hypot(both[:, 0], both[:, 1]) < 1e-6
        both = np.where(flat[:, None], np.stack([-came[:, 1], came[:, 0]], axis=1), both)
        turn = np.degrees(2.0 * np.arcsin(np.minimum(1.0, 0.5 * np.hypot(out[:, 0], out[:, 1]))))
        return _direction_deg(both), _direction_deg(out), turn

    def first_beyond(
        self, s: Floats, toward: Floats, centre: Floats, distance: Floats, most: Floats
    ) -> Floats:
        """Return how far to go from positions until a distance from a point is first reached.

        Parameters
        ----------
        s, toward : arrays of shape (n,)
            Where each search starts, and +1 or -1: which way it goes.
        centre : array of shape (n, 2)
            The point to get away from.
        distance, most : arrays of shape (n,)
            The distance to reach, and the longest way to go.

        Returns
        -------
        array of shape (n,)
            The way gone, nan where the distance is not reached.
        """

        def short(way: Floats) -> Floats:
            apart = self.at(s[:, None] + toward[:, None] * way) - centre[:, None, :]
            return np.hypot(apart[..., 0], apart[..., 1]) - distance[:, None]

        # No point is reached sooner than in a straight line.
        least = np.maximum(-short(np.zeros((len(s), 1)))[:, 0], 0.0)
        return first_root(short, least, distance / 16.0, most)


def most_turned_deg(dx: Floats, dy: Floats) -> Floats:
    """Return an upper bound of the turn from each step to the next."""
    cross = np.abs(dx[:-1] * dy[1:] - dy[:-1] * dx[1:])
    dot = dx[:-1] * dx[1:] + dy[:-1] * dy[1:]
    # |turn| <= |tan turn| below a right angle, and never above a half turn.
    back = dot <= 0.0
    dot[back] = 1.0
    most: Floats = np.minimum(180.0, np.degrees(cross / dot))
    most[back] = 180.0
    return most


def _lengths(line: Floats) -> Floats:
    step = line[1:] - line[:-1]
    step *= step
    lengths: Floats = np.sqrt(step[:, 0] + step[:, 1])
    return lengths


def _direction_deg(xy: Floats) -> Floats:
    return np.mod(np.degrees(np.arctan2(xy[:, 1], xy[:, 0])), 360.0)


def first_root(
    function: Callable[[Floats], Floats], least: Floats, step: Floats, most: Floats
) -> Floats:
    """Return the first place where functions rise to 0, nan where they do not.

    Parameters
    ----------
    function
        Takes places (n, k) and returns values (n, k): one function a row.
    least : array of shape (n,)
        Where to start: before it no function is 0.
    step, most : arrays of shape (n,)
        Width of the look-out steps, and how far to look.
    """
    n = len(step)
    low, high = np.full(n, np.nan), np.full(n, np.nan)
    done = least * (1.0 - 1e-12)
    active: Ints = np.flatnonzero(most > done)
    # Look out in blocks of steps, so that near answers cost little and far ones are still found.
    block = np.arange(1, 9, dtype=np.float64)
    every = np.zeros((n, len(block)))
    while len(active):
        every[active] = np.minimum(
            done[active, None] + step[active, None] * block, most[active, None]
        )
        places = every[active]
        risen = function(every)[active] >= 0.0
        hit = risen.argmax(axis=1)
        found = risen.any(axis=1)
        rows, at = active[found], hit[found]
        high[rows] = places[found, at]
        low[rows] = np.where(at > 0, places[found, np.maximum(at - 1, 0)], done[rows])
        done[active] = places[:, -1]
        active = active[~found & (done[active] < most[active])]
    known = ~np.isnan(high)
    root = _narrowed(function, np.where(known, low, 0.0), np.where(known, high, 0.0))
    return np.where(known, root, np.nan)


def _narrowed(function: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Narrow brackets by secants kept inside them (Illinois; Dowell & Jarratt 1971)."""
    f_low, f_high = (function(end[:, None])[:, 0] for end in (low, high))
    root, side = high.copy(), np.zeros(len(low))
    for _ in range(_NARROWINGS):
        slope = f_high - f_low
        secant = high - f_high * (high - low) / np.where(slope == 0.0, 1.0, slope)
        inside = (secant > low) & (secant < high)
        root = np.where(inside, secant, 0.5 * (low + high))
        value = function(root[:, None])[:, 0]
        up = value >= 0.0
        f_low = np.where(up & (side > 0.0), 0.5 * f_low, f_low)
        f_high = np.where(~up & (side < 0.0), 0.5 * f_high, f_high)
        side = np.where(up, 1.0, -1.0)
        high, f_high = np.where(up, root, high), np.where(up, value, f_high)
        low, f_low = np.where(up, low, root), np.where(up, f_low, value)
        if (np.abs(value) < _NARROW_MM).all():
            break
    return root
