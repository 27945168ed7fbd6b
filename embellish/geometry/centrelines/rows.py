"""Rows side by side where a stroke is wide enough for two or three, and the sizes to use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.centrelines.tracks import Track

_SHORTEST: Final = 4.0
"""A run of rows is at least so many pieces long."""
_HAIR: Final = 1e-3
_SPREAD: Final = 1.25
"""How far rows spread in a wide stroke, in the least distance between them."""
_CONVERGE: Final = 0.08
"""How fast spread rows draw together where a stroke narrows, a share of the way along."""


@dataclass(frozen=True)
class Run:
    """A stretch of a track with rows side by side: its samples, how many rows, of which size."""

    first: int
    last: int
    rows: int
    size: int


def row_runs(track: Track, radii: Floats, gap_mm: float, most: int, barred: Bools) -> list[Run]:
    """Return where rows side by side fill a stroke better than one row down its middle.

    Parameters
    ----------
    track
        The middle of the stroke.
    radii : array of shape (k,)
        Radius of each size, the largest first.
    gap_mm
        Gap between pieces.
    most
        Most rows side by side.
    barred : bool array of shape (m,)
        Samples that keep a single row, about joints.
    """
    covered = np.zeros(len(track))
    rows, size = np.ones(len(track), dtype=np.int64), np.zeros(len(track), dtype=np.int64)
    # One row first: more rows must truly cover more.
    for n in range(1, most + 1):
        for index, radius in enumerate(radii.tolist()):
            wide = radius + (n - 1) * (radius + gap_mm / 2.0)
            fits = track.side_mm >= wide + (n - 1) * 2.0 * _HAIR * radius
            better = fits & (n * radius > covered * (1.0 + 1e-9))
            covered[better], rows[better], size[better] = n * radius, n, index
    rows[barred] = 1
    code = np.where(rows > 1, rows * len(radii) + size, 0)
    edge = np.flatnonzero(np.diff(code)) + 1
    starts, stops = np.append(0, edge), np.append(edge, len(code))
    runs = []
    for start, stop in zip(starts.tolist(), stops.tolist(), strict=True):
        n, index = divmod(int(code[start]), len(radii))
        length = (stop - start) * track.step_mm
        if n > 1 and length >= _SHORTEST * (2.0 * float(radii[index]) + gap_mm):
            runs.append(Run(start, stop - 1, n, index))
    return runs


def side_lines(track: Track, run: Run, radius_mm: float, gap_mm: float) -> list[Floats]:
    """Return the lines of a run's rows, evenly spread over the stroke.

    Parameters
    ----------
    track
        The middle of the stroke.
    run
        The run.
    radius_mm
        Radius of its pieces.
    gap_mm
        Gap between them.
    """
    part = track.part(run.first, run.last)
    # A hair more, so that the curve of the line between two samples never eats gap or edge.
    hair = _HAIR * radius_mm
    least = 2.0 * radius_mm + gap_mm + hair
    apart = 2.0 * (part.side_mm - radius_mm - hair) / (run.rows - 1)
    apart = _gently(np.clip(apart, least, _SPREAD * least), _CONVERGE * part.step_mm)
    k = max(1, round(radius_mm / max(track.step_mm, 1e-12)))
    at = np.arange(len(part))
    way = part.xy[np.minimum(at + k, len(part) - 1)] - part.xy[np.maximum(at - k, 0)]
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1)
    offsets = np.arange(run.rows) - (run.rows - 1) / 2.0
    return [part.xy + (offset * apart)[:, None] * normal for offset in offsets.tolist()]


def _gently(values: Floats, most: float) -> Floats:
    """Return the greatest values below some that change by at most so much from one to the next."""
    drop = most * np.arange(len(values))
    ahead = np.minimum.accumulate(values - drop) + drop
    back = (np.minimum.accumulate((values + drop)[::-1]))[::-1] - drop
    gentle: Floats = np.minimum(ahead, back)
    return gentle


def best_sizes(order: Ints, reach: Floats, tracks: list[Track], most: int | None) -> Ints:
    """Return the sizes, at most so many, that cover most of some tracks.

    Parameters
    ----------
    order : array of shape (k,)
        Sizes, the largest first.
    reach : array of shape (s,)
        Radius of each size.
    tracks
        The tracks.
    most
        How many sizes at most, None for all.
    """
    if most is None or most >= len(order):
        return order
    room = np.concatenate([track.room_mm for track in tracks])
    step = np.concatenate([np.full(len(track), track.step_mm) for track in tracks])
    # Length of centreline where each size fits.
    fits = np.array([step[room >= reach[size]].sum() for size in order])
    k = len(order)
    # best[m, j]: most area covered by m sizes of which j is the smallest.
    best = np.full((most + 1, k), -np.inf)
    came = np.zeros((most + 1, k), dtype=np.int64)
    best[1] = reach[order] * fits
    for m in range(2, most + 1):
        for j in range(m - 1, k):
            gain = best[m - 1, :j] + reach[order[j]] * (fits[j] - fits[:j])
            came[m, j] = int(np.argmax(gain))
            best[m, j] = gain[came[m, j]]
    flat = int(np.argmax(np.round(best, 9)))
    m, j = divmod(flat, k)
    chosen = [j]
    while m > 1:
        j, m = int(came[m, j]), m - 1
        chosen.append(j)
    return order[np.array(chosen[::-1], dtype=np.int64)]
