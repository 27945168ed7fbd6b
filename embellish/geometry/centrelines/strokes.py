"""Strokes: branches of a centreline joined where a pen would have run on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.centrelines.centreline import Branch, Centrelines

_STRAIGHT: Final = -0.9
"""Cosine of the angle between two branches that count as one stroke: more than 154 deg."""
_CLEAR: Final = 0.3
_AS_WIDE: Final = 0.9
_BEYOND: Final = 1.6
"""How far beyond a joint, in its radii, a branch has its own direction and width."""


@dataclass(frozen=True, eq=False)
class Strokes:
    """Strokes, and the joints at which they only meet.

    Parameters
    ----------
    branches
        The strokes; their joints are numbered as before.
    meeting : array of shape (k,)
        Numbers of the joints no stroke runs through.
    """

    branches: tuple[Branch, ...]
    meeting: Ints


def strokes(lines: Centrelines) -> Strokes:
    """Join branches that go straight on through a joint, and are the widest there.

    Where strokes meet the middle line swerves toward the third one; there the joined line is
    drawn anew as an even curve.

    Parameters
    ----------
    lines
        Centrelines of a region.
    """
    branches = list(lines.branches)
    meeting = []
    for joint, radius in enumerate(lines.joints_radius_mm.tolist()):
        pair = _pair(branches, joint, _BEYOND * radius)
        if pair is None:
            meeting.append(joint)
            continue
        (a, end_a), (b, end_b) = pair
        joined = _joined(branches[a], end_a, branches[b], end_b, _BEYOND * radius)
        branches = [branch for index, branch in enumerate(branches) if index not in (a, b)]
        branches.append(joined)
    branches.sort(key=lambda branch: (-round(branch.length_mm, 6), *branch.xy[0].tolist()))
    return Strokes(tuple(branches), np.array(meeting, dtype=np.int64))


_End = tuple[int, int]


def _pair(branches: list[Branch], joint: int, beyond_mm: float) -> tuple[_End, _End] | None:
    """Return the two branches that go straight on through a joint, None where none do."""
    ends = [
        (index, end)
        for index, branch in enumerate(branches)
        for end in (0, 1)
        if branch.joints[end] == joint
    ]
    way, wide = [], []
    for index, end in ends:
        line = _outward(branches[index], end)
        at = _index_at(line.xy, beyond_mm)
        step = line.xy[at] - line.xy[at // 2]
        way.append(step / max(float(np.hypot(step[0], step[1])), 1e-12))
        wide.append(float(line.radius_mm[at]))
    pairs = sorted(
        (round(float(way[i] @ way[j]), 6), i, j)
        for i in range(len(ends))
        for j in range(i + 1, len(ends))
    )
    if not pairs or pairs[0][0] > _STRAIGHT:
        return None
    cosine, i, j = pairs[0]
    others = [k for k in range(len(ends)) if k not in (i, j)]
    broad = min(wide[i], wide[j]) >= _AS_WIDE * max((wide[k] for k in others), default=0.0)
    # Where another pair runs on nearly as well, as in the waist of an 8, neither does.
    clear = all(float(way[k] @ way[m]) > cosine + _CLEAR for k in others for m in (i, j))
    return (ends[i], ends[j]) if broad and clear and ends[i][0] != ends[j][0] else None


def _outward(branch: Branch, end: int) -> Branch:
    """Return a branch so that it starts at one of its ends."""
    if end == 0:
        return branch
    return replace(
        branch,
        xy=branch.xy[::-1],
        radius_mm=branch.radius_mm[::-1],
        joints=branch.joints[::-1],
        tails_mm=branch.tails_mm[::-1],
    )


def _along(xy: Floats) -> Floats:
    step = np.diff(xy, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])


def _index_at(xy: Floats, length_mm: float) -> int:
    """Return the first point so far along a line, or its last."""
    return min(int(np.searchsorted(_along(xy), length_mm)), len(xy) - 1)


def _joined(a: Branch, end_a: int, b: Branch, end_b: int, window_mm: float) -> Branch:
    """Return two branches as one, drawn anew within a window about their joint."""
    first, second = _outward(a, end_a), _outward(b, end_b)
    cut_a, cut_b = _index_at(first.xy, window_mm), _index_at(second.xy, window_mm)
    bend = _curve(first.xy, cut_a, second.xy, cut_b)
    share = np.linspace(0.0, 1.0, len(bend) + 2)[1:-1]
    wide = first.radius_mm[cut_a] * (1.0 - share) + second.radius_mm[cut_b] * share
    return Branch(
        np.concatenate([first.xy[: cut_a - 1 if cut_a else None : -1], bend, second.xy[cut_b:]]),
        np.concatenate(
            [first.radius_mm[: cut_a - 1 if cut_a else None : -1], wide, second.radius_mm[cut_b:]]
        ),
        (first.joints[1], second.joints[1]),
        closed=False,
        tails_mm=(first.tails_mm[1], second.tails_mm[1]),
    )


def _curve(a: Floats, cut_a: int, b: Floats, cut_b: int) -> Floats:
    """Return points of the cubic that leaves one line and enters the other in their directions."""
    start, stop = a[cut_a], b[cut_b]
    span = float(np.hypot(*(stop - start)))
    leave, enter = -_direction(a, cut_a, span / 2.0), _direction(b, cut_b, span / 2.0)
    t = np.linspace(0.0, 1.0, 24)[1:-1, None]
    return np.asarray(
        (2 * t**3 - 3 * t**2 + 1) * start
        + (t**3 - 2 * t**2 + t) * span * leave
        + (3 * t**2 - 2 * t**3) * stop
        + (t**3 - t**2) * span * enter
    )


def _direction(line: Floats, at: int, over_mm: float) -> Floats:
    """Return the direction of a line from a point on, taken over a length."""
    along = _along(line[at:])
    ahead = at + min(int(np.searchsorted(along, over_mm)), len(along) - 1)
    step = line[ahead] - line[at] if ahead > at else line[at] - line[max(at - 1, 0)]
    return np.asarray(step / max(float(np.hypot(step[0], step[1])), 1e-12))
