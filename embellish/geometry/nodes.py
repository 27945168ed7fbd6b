"""Nodes of a chain of curves, which way the chain runs through them, and which way shapes lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats
from embellish.geometry.curves import segment_lengths
from embellish.units import EPS_MM

_ROUND: Final = 1e-3
"""A shape whose spread differs less than this share between directions lies no way."""


@dataclass(frozen=True, eq=False)
class Nodes:
    """The nodes of one chain, in its order.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Where they are, in mm.
    heading_deg : array of shape (n,)
        Which way the chain runs there, degrees clockwise as seen: half-way between coming and
        going, square to the way in where it turns right back, 0 where it runs nowhere.
    u : array of shape (n,)
        Fraction of the chain's length from its start.
    """

    xy: Floats
    heading_deg: Floats
    u: Floats

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, keep: Bools | slice) -> Nodes:
        """Return some of the nodes."""
        return Nodes(self.xy[keep], self.heading_deg[keep], self.u[keep])


def nodes_of(segments: Floats, *, closed: bool) -> Nodes:
    """Return the nodes of a chain of cubic segments.

    Segments that go nowhere add no node, and the node where a closed chain joins counts once.

    Parameters
    ----------
    segments : array of shape (n, 4, 2)
        The chain, each segment starting where the last one ended.
    closed
        Whether its end is its start.
    """
    moves = np.abs(segments - segments[:, :1]).max(axis=(1, 2)) > EPS_MM
    moving = segments[moves]
    if not len(moving):
        return Nodes(segments[:1, 0], np.zeros(len(segments[:1])), np.zeros(len(segments[:1])))
    goes, comes = _away(moving), -_away(moving[:, ::-1])
    lengths = segment_lengths(moving)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    xy = np.concatenate([moving[:, 0], moving[-1:, 3]])
    if closed:
        before, after = np.roll(comes, 1, axis=0), goes
        xy, along_here = xy[:-1], along[:-1]
    else:
        before = np.concatenate([goes[:1], comes])
        after = np.concatenate([goes, comes[-1:]])
        along_here = along
    both = before + after
    back = np.hypot(both[:, 0], both[:, 1]) < EPS_MM
    both[back] = np.stack([-before[back, 1], before[back, 0]], axis=1)
    heading = np.mod(np.degrees(np.arctan2(both[:, 1], both[:, 0])), 360.0)
    return Nodes(xy, heading, along_here / along[-1])


def _away(segments: Floats) -> Floats:
    """Return the unit direction in which segments leave their start, shape (n, 2)."""
    steps = segments[:, 1:] - segments[:, :1]
    length = np.hypot(steps[..., 0], steps[..., 1])
    # A control that lies on the start says nothing: the next one does.
    first = np.argmax(length > EPS_MM, axis=1)
    at = np.arange(len(segments))
    unit: Floats = steps[at, first] / length[at, first][:, None]
    return unit


def long_axis_deg(lines: list[Floats]) -> float | None:
    """Return which way lines lie: the direction in which their length spreads most.

    Parameters
    ----------
    lines : arrays of shape (m, 2)
        Flattened lines, taken together.

    Returns
    -------
    float or None
        In [0, 180), clockwise as seen; None for what is as wide as it is long, such as circles,
        squares and points.
    """
    a = np.concatenate([line[:-1] for line in lines])
    b = np.concatenate([line[1:] for line in lines])
    length = np.hypot(*(b - a).T)
    total = float(length.sum())
    if total <= EPS_MM:
        return None
    middle = (length[:, None] * (a + b)).sum(axis=0) / (2.0 * total)
    a, b = a - middle, b - middle
    # Second moments of each straight piece, exactly.
    xx, yy = (length[:, None] * (a * a + b * b + a * b)).sum(axis=0) / 3.0
    cross = a[:, 0] * b[:, 1] + b[:, 0] * a[:, 1] + 2.0 * (a[:, 0] * a[:, 1] + b[:, 0] * b[:, 1])
    xy = float((length * cross).sum()) / 6.0
    if np.hypot(xx - yy, 2.0 * xy) <= _ROUND * (xx + yy):
        return None
    axis = np.degrees(np.arctan2(2.0 * xy, xx - yy)) / 2.0
    # A level shape lies at 0 whatever its last bits, never just below 180.
    return float(np.mod(np.round(axis, 9), 180.0))
