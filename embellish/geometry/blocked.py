"""Where along a line a piece would stand in the way of what is there."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.rows.track import Track

Room = Callable[[Floats], Floats]
"""By how much a piece at arc lengths, shape (n,), clears all that stands; below 0 it does not.

It changes by no more than the piece moves.
"""

_FINER = 8
_HALVINGS = 40
_WIDENINGS = 30
_NEAR_ENOUGH_MM = 1e-8


def blocked_stretches(room: Room, start: float, end: float, step: float) -> Floats:
    """Return the stretches of a line that no piece may stand on, in order, shape (j, 2).

    Parameters
    ----------
    room
        What is free.
    start, end
        Arc lengths between which to look.
    step
        How far apart to look first, mm; where something is near, eight times as often.
    """
    if end <= start:
        return np.zeros((0, 2))
    s = np.linspace(start, end, max(2, int(np.ceil((end - start) / step))) + 1)
    step = float(s[1] - s[0])
    clear = room(s)
    near = np.flatnonzero(np.minimum(clear[:-1], clear[1:]) < step)
    if not len(near):
        return np.zeros((0, 2))
    fine = (s[near][:, None] + step * np.arange(1, _FINER) / _FINER).ravel()
    seen = np.concatenate([s, fine])
    order = np.argsort(seen, kind="stable")
    seen = seen[order]
    free = np.concatenate([clear, room(fine)])[order] >= 0.0
    edge = np.flatnonzero(free[1:] != free[:-1])
    opens = free[edge]
    good = np.where(opens, seen[edge], seen[edge + 1])
    bad = np.where(opens, seen[edge + 1], seen[edge])
    for _ in range(_HALVINGS):
        if not len(good) or np.abs(good - bad).max() <= _NEAR_ENOUGH_MM:
            break
        middle = (good + bad) / 2.0
        clears = room(middle) >= 0.0
        good, bad = np.where(clears, middle, good), np.where(clears, bad, middle)
    first = np.concatenate([[] if free[0] else [start], good[opens]])
    last = np.concatenate([good[~opens], [] if free[-1] else [end]])
    return np.stack([first, last], axis=1)


def widened(track: Track, blocked: Floats, start: float, end: float, apart_mm: float) -> Floats:
    """Widen blocked stretches within a line, alike on both sides, until pieces stand so far apart.

    Stretches that then meet are one.
    """
    stretches = blocked.copy()
    inner = (blocked[:, 0] > start) & (blocked[:, 1] < end)
    for _ in range(_WIDENINGS):
        between = track.at(stretches[inner, 0]) - track.at(stretches[inner, 1])
        short = apart_mm - np.hypot(between[:, 0], between[:, 1])
        if not (short > 0.0).any():
            break
        more = np.maximum(short / 2.0 + _NEAR_ENOUGH_MM, 0.0) * (short > 0.0)
        stretches[inner] += np.stack([-more, more], axis=1)
    stretches = np.clip(stretches, start, end)
    merged: list[list[float]] = []
    for low, high in stretches.tolist():
        if merged and low <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], high)
        else:
            merged.append([low, high])
    return np.array(merged).reshape(-1, 2)
