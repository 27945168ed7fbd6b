"""Filling tracks: round pieces along the middle of strokes, each as large as its place allows.

Pieces of a few sizes stand on a track, each of the largest
size that fits where it touches its neighbour's gap; then the gaps are opened, all alike, until the
row reaches its end. What stands already on other tracks counts as taken room.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.geometry.centrelines.tracks import Track

_OPENINGS: Final = 14
"""Halvings in the search for the gap that fills a track."""
_SMALLER: Final = 0.8
_FILLER: Final = 0.4
_SHORT: Final = 4.0
"""On a track of so many pieces a filler among large ones shows as much as smaller ones all along;
on longer ones it shows less and they show more."""
_SCANS: Final = 24
_LOOSE: Final = 0.3
"""Half of how far gaps may open, in radii, before smaller pieces are tried."""
_LATER: Final = 1.6
"""How much later than a smaller piece a larger one may touch, in differences of their radii."""


@dataclass(eq=False)
class Standing:
    """What stands already, grown piece by piece.

    Parameters
    ----------
    radii_mm : array of shape (k,)
        Radius of each size, the largest first.
    gap_mm
        The gap that holds.
    """

    radii_mm: Floats
    gap_mm: float
    xy: list[Floats] = field(default_factory=list)
    size: list[int] = field(default_factory=list)

    def __len__(self) -> int:
        return len(self.size)

    def put(self, xy: Floats, size: int) -> None:
        """Let a piece stand."""
        self.xy.append(xy)
        self.size.append(size)

    def free(self, spots: Floats) -> Floats:
        """Return how far each spot is from the nearest outline that stands."""
        free = np.full(len(spots), np.inf)
        if self.size:
            xy, size = np.array(self.xy), np.array(self.size)
            for each in np.unique(size).tolist():
                near, _ = cKDTree(xy[size == each]).query(spots)
                free = np.minimum(free, near - self.radii_mm[each])
        return free

    def largest_at(self, track: Track, index: int, limit: int = 0) -> int | None:
        """Return the largest size, from a limit on, that fits at a sample; None where none does."""
        free = float(self.free(track.xy[[index]])[0]) - self.gap_mm
        for size in range(limit, len(self.radii_mm)):
            if self.radii_mm[size] <= min(free, float(track.room_mm[index])):
                return size
        return None


def fill(
    track: Track,
    standing: Standing,
    first: int | None,
    largest: int = 0,
    smallest: int | None = None,
) -> tuple[Floats, Ints]:
    """Fill a track from its start, gaps opened alike until the last piece reaches the end.

    Each piece is of the largest size the stroke is wide enough for. Only where that leaves a hole
    (short tracks between two pieces that stand) smaller ones are taken: all alike, or one.

    Parameters
    ----------
    track
        The track; where its start carries a piece, that stands already.
    standing
        What stands, the pieces at the track's ends among it.
    first
        Size of the piece that stands on the track's first sample, or None.
    largest, smallest
        Larger and smaller sizes than these are left out.

    Returns
    -------
    xy : array of shape (n, 2)
        New pieces in order.
    size : array of shape (n,)
        Their sizes.
    """
    free = standing.free(track.xy)
    radii, gap = standing.radii_mm, standing.gap_mm
    last = len(radii) - 1 if smallest is None else smallest
    walk = _Walk(track, radii, free, largest, last)
    typical = _typical(track, standing)
    best = _opened(walk, gap, first)
    if _hole(track, standing, free, best) <= gap / 2.0 + _LOOSE * typical:
        return best
    best = _scanned(walk, standing, first, best)
    worst = _hole(track, standing, free, best)
    if worst <= gap / 2.0 + _LOOSE * typical or largest == last:
        return best
    # Smaller pieces cost what they are smaller, so that a hole must be worth them.
    long = max(len(best[0]) / _SHORT, 1.0)
    tries = [
        (
            _SMALLER * long * max(typical - float(radii[other]), 0.0),
            _Walk(track, radii, free, other, last),
        )
        for other in range(largest + 1, last + 1)
    ]
    tries.append((_FILLER / long * typical, _Walk(track, radii, free, largest, last, fillers=True)))
    for cost, other_walk in tries:
        tried = _opened(other_walk, gap, first)
        hole = _hole(track, standing, free, tried) + cost
        if hole < worst - 1e-6:
            best, worst = tried, hole
    return best


def _scanned(
    walk: _Walk, standing: Standing, first: int | None, best: tuple[Floats, Ints]
) -> tuple[Floats, Ints]:
    """Return the pieces at the gap that leaves the least hole.

    Where sizes change along the way the number of pieces does not just fall with the gap.
    """
    worst = _hole(walk.track, standing, walk.free, best, ends=True)
    # One piece's worth of room, shared out, is as far as it can take.
    typical = _typical(walk.track, standing)
    most = (3.0 * typical + standing.gap_mm) / max(len(best[0]), 1)
    for share in np.linspace(0.0, 1.0, _SCANS):
        tried = walk.placed(standing.gap_mm + share * most, first)
        hole = _hole(walk.track, standing, walk.free, tried, ends=True)
        if hole < worst - 1e-6:
            best, worst = tried, hole
    return best


def _typical(track: Track, standing: Standing) -> float:
    """Return the radius of the largest size that fits along most of a track."""
    fits = standing.radii_mm <= float(np.median(track.side_mm))
    return float(standing.radii_mm[int(np.argmax(fits))] if fits.any() else standing.radii_mm[-1])


def _hole(
    track: Track,
    standing: Standing,
    free: Floats,
    pieces: tuple[Floats, Ints],
    *,
    ends: bool = False,
) -> float:
    """Return the greatest distance from the track, where a piece fits, to the next outline.

    With its blunt ends, that distance counts there beyond the margin pieces have sideways anyway.
    """
    xy, size = pieces
    free = free.copy()
    for each in np.unique(size).tolist():
        near, _ = cKDTree(xy[size == each]).query(track.xy)
        free = np.minimum(free, near - standing.radii_mm[each])
    if ends:
        sideways = np.maximum(track.side_mm - _typical(track, standing), 0.0)
        free = np.where(track.room_mm < track.side_mm, free - sideways, free)
    fits = (track.side_mm if ends else track.room_mm) >= standing.radii_mm[-1]
    return float(free[fits].max(initial=0.0))


def _opened(walk: _Walk, gap_mm: float, first: int | None) -> tuple[Floats, Ints]:
    """Return the pieces of a walk at the widest gap that keeps their number."""
    count = len(walk.pieces(gap_mm, first)[0])
    low, high = gap_mm, gap_mm + 2.0 * float(walk.radii[0])
    for _ in range(_OPENINGS if count else 0):
        middle = (low + high) / 2.0
        if len(walk.pieces(middle, first)[0]) >= count:
            low = middle
        else:
            high = middle
    return walk.placed(low, first)


@dataclass(frozen=True, eq=False)
class _Walk:
    """A walk along a track that sets a piece wherever the gap to the last one is reached.

    Parameters
    ----------
    track, radii
        The track, and the radius of each size.
    free
        For each sample the distance to the nearest outline that stands.
    largest, smallest
        Sizes larger and smaller than these are left out.
    fillers
        Whether a piece may be smaller than the stroke's width asks, where no other has room.
    """

    track: Track
    radii: Floats
    free: Floats
    largest: int
    smallest: int
    fillers: bool = False

    def placed(self, gap_mm: float, first: int | None) -> tuple[Floats, Ints]:
        """Return where the pieces stand, and their sizes."""
        places, sizes = self.pieces(gap_mm, first)
        return self.track.at(np.array(places)), np.array(sizes, dtype=np.int64)

    def pieces(self, gap_mm: float, first: int | None) -> tuple[list[float], list[int]]:
        places: list[float] = []
        sizes: list[int] = []
        at, last = 0.0, first
        while True:
            found = self._next(at, last, gap_mm)
            if found is None:
                return places, sizes
            at, last = found
            places.append(at)
            sizes.append(last)

    def _next(self, at: float, last: int | None, gap_mm: float) -> tuple[float, int] | None:
        """Return place and size of the next piece after a place."""
        here = self.track.at(np.array([at]))[0]
        sizes = range(self.largest, self.smallest + 1)
        found = [(self._first(int(at), here, last, size, gap_mm), size) for size in sizes]
        there = [(place, size) for place, size in found if place is not None]
        if not there:
            return None
        nearest, least = min(there)
        for place, size in there:
            # A larger one touches a little later; one that only fits further on leaves a hole.
            later = _LATER * float(self.radii[size] - self.radii[least]) + 1e-9
            if (place - nearest) * self.track.step_mm <= later:
                nearest, least = place, size
                break
        return (nearest, least) if self.fillers or self._due(nearest, least) else None

    def _due(self, place: float, size: int) -> bool:
        """Tell whether a size is the largest that the stroke's width allows at a place."""
        if size <= self.largest:
            return True
        ahead = _LATER * float(self.radii[size - 1] - self.radii[size]) / self.track.step_mm
        side = self.track.side_mm[int(place) : int(place + ahead) + 2]
        return bool(side.min() < self.radii[size - 1])

    def _first(
        self, begin: int, here: Floats, last: int | None, size: int, gap_mm: float
    ) -> float | None:
        """Return the first place from a sample on where a size fits.

        Looked for in windows that grow, since most often it is near.
        """
        radius = float(self.radii[size])
        margin = self.track.step_mm**2 / (4.0 * float(self.radii[-1]))
        start, width = begin, 128
        while start < len(self.track):
            part = slice(start, start + width)
            clear = self.free[part] - (radius + gap_mm + margin)
            if last is not None:
                step = self.track.xy[part] - here
                need = float(self.radii[last]) + radius + gap_mm
                clear = np.minimum(clear, np.hypot(step[:, 0], step[:, 1]) - need)
            good = (clear >= 0.0) & (self.track.room_mm[part] >= radius)
            if good.any():
                index = int(np.argmax(good))
                before = float(clear[index - 1]) if index else 0.0
                if before >= 0.0:
                    return float(start + index)
                share = before / (before - float(clear[index]))
                # A hair further than the line between two samples says: distances are convex.
                return start + index - 1 + min(share + 0.01, 1.0)
            # One sample again, so that each first good one has the one before it.
            start, width = start + width - 1, 2 * width
            if part.stop >= len(self.track):
                break
        return None
