"""Even gaps: points along a drawn line whose straight distances exceed their needs alike."""

from __future__ import annotations

from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints

EVEN_MM: Final = 1e-9
"""How far gaps may differ and still count as equal."""
_MOST_ROUNDS: Final = 60


def lengths_along(line: Floats) -> Floats:
    """Return the length of a line up to each of its points."""
    step = np.diff(line, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])


def points_at(line: Floats, at: Floats) -> Floats:
    """Return the points at given lengths along a line."""
    arc = lengths_along(line)
    return np.stack([np.interp(at, arc, line[:, 0]), np.interp(at, arc, line[:, 1])], axis=1)


def equal_gaps(line: Floats, need: Floats, *, wrap: bool) -> tuple[Floats, float]:
    """Return lengths along a line whose chords exceed their needs by one equal gap, and that gap.

    Parameters
    ----------
    line : array of shape (m, 2)
        The line, one point of it at either end.
    need : array of shape (n,)
        What each of the n chords must be at least.
    wrap
        Whether the line closes, so that its end is its start.
    """
    arc = lengths_along(line)
    total = float(arc[-1])
    at = np.concatenate([[0.0], np.cumsum(need)]) * (total / float(need.sum()))
    spare = 0.0
    for _ in range(_MOST_ROUNDS):
        spot = np.where(at >= total, 0.0, at) if wrap else at
        xy = np.stack([np.interp(spot, arc, line[:, 0]), np.interp(spot, arc, line[:, 1])], axis=1)
        step = np.diff(xy, axis=0)
        chord = np.hypot(step[:, 0], step[:, 1])
        over = chord - need
        spare = float(over.min())
        if float(over.max()) - spare <= EVEN_MM or not chord.all():
            break
        # Each arc is drawn out by its own chord's share of it, with one gap for all.
        share = chord / np.diff(at)
        gap = (total - float((need / share).sum())) / float((1.0 / share).sum())
        grown = np.maximum((need + gap) / share, 0.1 * need)
        at = np.concatenate([[0.0], np.cumsum(grown)]) * (total / float(grown.sum()))
    return at, spare


def needs_of(half_mm: Floats, first: int, gaps: int, *, wrap: bool) -> tuple[Floats, Ints]:
    """Return what each chord of a run of the sequence needs, and the sizes of its points."""
    size = (first + np.arange(gaps + 1)) % len(half_mm)
    if wrap:
        size[-1] = size[0]
    return half_mm[size[:-1]] + half_mm[size[1:]], size


def fewer(gaps: int, need: Floats, total: float, spare: float) -> int:
    """Return how many gaps to try next, where so many left too little."""
    mean = float(need.mean())
    return min(gaps - 1, int(gaps * (mean + spare) / mean) + 1, int(total / mean) + 1)


def open_side(side: Floats, half_mm: Floats, first: int) -> Floats:
    """Return lengths along a side, both ends included."""
    total = float(lengths_along(side)[-1])
    gaps = max(1, int(total / (2.0 * float(half_mm.mean())) + 1.0))
    while gaps > 1:
        need, _ = needs_of(half_mm, first, gaps, wrap=False)
        if need.sum() <= total + EVEN_MM:
            at, spare = equal_gaps(side, need, wrap=False)
            if spare >= -EVEN_MM:
                return at
            gaps = fewer(gaps, need, total, spare)
        else:
            gaps -= 1
    return np.array([0.0, total])
