"""Runs: the cut lengths of strung goods, told from where their links stand.

A run is whatever links of one row stand one pitch after the other: where a link is missing, it is
two runs. So a layout needs to remember nothing but the pitch, which holds in the state of the cloth
in which they are set.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from embellish.arrays import Bools, Ints
from embellish.layout.layout import Layout

_NEXT: Final = 1.25
"""Links further apart than so many pitches are not of one length."""


def runs_of(layout: Layout) -> Ints:
    """Return for each seat the number of its run, -1 where nothing strung stands."""
    pitch = np.array([lay.pitch_mm for lay in layout.lays])[layout.lay]
    if not pitch.any():
        return np.full(len(layout), -1, dtype=np.int64)
    step = np.hypot(*np.diff(layout.to_set(layout.xy), axis=0).T)
    on = step <= _NEXT * pitch[1:]
    for column in (layout.lay, layout.shape, layout.row):
        on &= column[1:] == column[:-1]
    number = np.concatenate([[0], np.cumsum(~on)])
    return np.where(pitch > 0.0, number, -1)


def short_runs(layout: Layout) -> Bools:
    """Tell which links are of runs too short to be cut, such as what a clash has left over."""
    run = runs_of(layout)
    out = np.zeros(len(layout), dtype=np.bool_)
    on = np.flatnonzero(run >= 0)
    if not len(on):
        return out
    _, back, links = np.unique(run[on], return_inverse=True, return_counts=True)
    least = np.array([piece.strung.least_links if piece.strung else 1 for piece in layout.pieces])
    out[on] = links[back] < least[layout.piece[on]]
    return out


def strung_together(layout: Layout, pairs: Ints) -> Bools:
    """Tell which pairs of seats, shape (m, 2), are near links of one run: no gap holds there."""
    pitch = np.array([lay.pitch_mm for lay in layout.lays])
    if not pitch.any() or not len(pairs):
        return np.zeros(len(pairs), dtype=np.bool_)
    run = runs_of(layout)
    i, j = pairs[:, 0], pairs[:, 1]
    lay = layout.lay[i]
    gap = np.array([each.gap_mm for each in layout.lays])[lay]
    reach = 2.0 * layout.reach_mm[i] + gap
    # Where the cloth draws back links come nearer together.
    _, most = layout.to_set.stretches()
    near = np.ceil(max(1.0, most) * reach / np.maximum(pitch[lay], 1e-9)) + 1.0
    together: Bools = (run[i] >= 0) & (run[i] == run[j]) & (np.abs(i - j) <= near)
    return together
