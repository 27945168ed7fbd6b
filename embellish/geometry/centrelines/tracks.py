"""Tracks: the middle of a stroke as even samples, with the room beside it, and its stretches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.centrelines.centreline import Branch

_FINEST: Final = 0.03
"""Step of a track's samples, in radii of the smallest piece."""
_MOST_SAMPLES: Final = 200_000
_BLUNT: Final = 1.25
"""An end is blunt as far as it is at most so much longer than its room: a tip over 106 degrees."""


@dataclass(frozen=True, eq=False)
class Track:
    """A line of even samples with the room beside it.

    Parameters
    ----------
    xy : array of shape (m, 2)
        Points at even steps.
    room_mm : array of shape (m,)
        The largest radius that fits about each.
    side_mm : array of shape (m,)
        The same, were it not for the track's blunt ends: what the stroke's width allows.
    """

    xy: Floats
    room_mm: Floats
    side_mm: Floats

    def __len__(self) -> int:
        return len(self.xy)

    @property
    def step_mm(self) -> float:
        """Distance of two samples."""
        return float(np.hypot(*(self.xy[1] - self.xy[0]))) if len(self) > 1 else 0.0

    def part(self, first: int, last: int) -> Track:
        """Return the part between two samples, both with it, reversed where last is before."""
        way = slice(first, last + 1)
        if last < first:
            way = slice(first, last - 1 if last else None, -1)
        return Track(self.xy[way], self.room_mm[way], self.side_mm[way])

    def from_sample(self, first: int) -> Track:
        """Return a closed track that starts, and ends, at another sample."""
        way = np.append(np.roll(np.arange(len(self) - 1), -first), first)
        return Track(self.xy[way], self.room_mm[way], self.side_mm[way])

    def at(self, place: Floats) -> Floats:
        """Return the points at places counted in samples, fractions between them."""
        low = np.clip(np.floor(place).astype(np.int64), 0, max(len(self) - 2, 0))
        share = (place - low)[:, None]
        return self.xy[low] * (1.0 - share) + self.xy[np.minimum(low + 1, len(self) - 1)] * share


def even_samples(xy: Floats, values: Floats, radius_mm: float) -> tuple[Floats, Floats]:
    """Return a line at even steps, fine enough for pieces of a radius, and values along it.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The line.
    values : array of shape (n,)
        What is known at its points.
    radius_mm
        Radius of the smallest piece.

    Returns
    -------
    xy : array of shape (m, 2)
    values : array of shape (m,)
    """
    step = np.diff(xy, axis=0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])
    count = int(np.ceil(along[-1] / (_FINEST * radius_mm))) + 1
    count = min(max(count, 2), _MOST_SAMPLES)
    u = np.linspace(0.0, along[-1], count)
    line = np.stack([np.interp(u, along, xy[:, 0]), np.interp(u, along, xy[:, 1])], axis=1)
    return line, np.interp(u, along, values)


def with_sides(track: Track, branch: Branch) -> Track:
    """Return a track whose blunt ends count as wide as the stroke that runs into them."""
    side = track.room_mm.copy()
    way = np.arange(len(side)) * track.step_mm
    for end, tail in enumerate(branch.tails_mm):
        room = track.room_mm[:: -1 if end else 1]
        blunt = room + _BLUNT * track.step_mm < way / _BLUNT
        k = max(
            int(np.ceil(tail / max(track.step_mm, 1e-12))), int(np.argmax(blunt)) if tail else 0
        )
        k = min(k, len(side) - 1)
        if k and end == 0:
            side[:k] = np.maximum(side[:k], side[k])
        elif k:
            side[-k:] = np.maximum(side[-k:], side[-k - 1])
    return Track(track.xy, track.room_mm, side)


def widest(room_mm: Floats) -> int:
    """Return the middle of the widest stretch."""
    most = float(room_mm.max())
    wide = room_mm >= most - 0.02 * abs(most)
    edge = np.flatnonzero(np.diff(np.concatenate([[0], wide.astype(np.int64), [0]])))
    starts, stops = edge[::2], edge[1::2]
    longest = int(np.argmax(stops - starts))
    return int((starts[longest] + stops[longest] - 1) // 2)


def between(track: Track, pins: Ints) -> list[tuple[int, int]]:
    """Return from where to where to fill: between pins, and from pins to ends.

    Parameters
    ----------
    track
        The track.
    pins : array of shape (k,)
        Samples that carry a piece, in order.
    """
    last = len(track) - 1
    if last < 1 or not len(pins):
        return []
    inner = [(int(a), int(b)) for a, b in pairwise(pins)]
    # From the wider end, so that what is left over falls where it shows least.
    inner = [(a, b) if track.room_mm[a] >= track.room_mm[b] else (b, a) for a, b in inner]
    ends = [(int(pins[0]), 0), (int(pins[-1]), last)]
    return inner + [(a, b) for a, b in ends if a != b]


def beside(track: Track, pins: Ints, runs: Sequence[tuple[int, int]]) -> list[Track]:
    """Return the stretches that runs leave over, each from a run or a pin on.

    Parameters
    ----------
    track
        The track.
    pins : array of shape (k,)
        Samples that carry a piece, in order.
    runs
        First and last sample of each run of rows, in order.
    """
    out: list[Track] = []
    start = 0
    for first, last in [*runs, (len(track) - 1, len(track) - 1)]:
        inner = pins[(pins >= start) & (pins <= first)]
        if len(inner):
            part = track.part(start, first)
            out.extend(part.part(a, b) for a, b in between(part, inner - start))
        elif first > start:
            out.append(track.part(start, first) if start else track.part(first, start))
        start = last
    return out
