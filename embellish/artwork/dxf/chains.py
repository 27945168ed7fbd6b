"""Loose lines joined end to end, as drawing programs for cutters leave them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.artwork.artwork import Path
from embellish.geometry.curves import line_segments

_NEIGHBOURS = 8
_LOOP_LEAST = 3.0
"""A piece that closes on itself goes at least this many gaps round."""


def chained(pieces: Sequence[Floats], gap: float) -> tuple[list[tuple[Path, list[int]]], float]:
    """Return chains of open pieces whose ends meet, and the greatest gap that was bridged.

    Parameters
    ----------
    pieces
        Bézier chains, each of shape (n, 4, 2).
    gap
        Ends this near are one point; nearer ends are joined first, each end once.

    Returns
    -------
    chains
        Each with the numbers of its pieces, in the order of its first piece. A gap is bridged by a
        straight piece, so that nothing drawn is moved.
    float
    """
    if not pieces:
        return [], 0.0
    ends = np.concatenate([[piece[0, 0], piece[-1, 3]] for piece in pieces])
    mate, widest = _mates(pieces, ends, gap)
    chains, used = [], [False] * len(pieces)
    for first in range(len(pieces)):
        if used[first]:
            continue
        start, closed = _first_end(2 * first, mate)
        order: list[int] = []
        parts: list[Floats] = []
        end = start
        while True:
            number = end // 2
            used[number] = True
            order.append(number)
            piece = pieces[number] if end % 2 == 0 else pieces[number][::-1, ::-1]
            if parts:
                parts.extend(_bridge(parts[-1][-1, 3], piece[0, 0]))
            parts.append(piece)
            following = mate[end ^ 1]
            if following < 0 or following == start:
                break
            end = following
        if closed:
            parts.extend(_bridge(parts[-1][-1, 3], parts[0][0, 0]))
        chains.append((Path(np.concatenate(parts), closed), order))
    return chains, widest


def _bridge(here: Floats, there: Floats) -> list[Floats]:
    return [] if np.array_equal(here, there) else [line_segments(np.array([here, there]))]


def _first_end(end: int, mate: list[int]) -> tuple[int, bool]:
    """Return the end where the chain of this piece begins, and whether it is a loop."""
    at = end
    while mate[at] >= 0:
        at = mate[at] ^ 1
        if at == end:
            return end, True
    return at, False


def _mates(pieces: Sequence[Floats], ends: Floats, gap: float) -> tuple[list[int], float]:
    """Return for each end the one it is joined to, or -1, and the greatest gap."""
    around = min(_NEIGHBOURS, len(ends))
    found = cKDTree(ends).query(ends, k=around, distance_upper_bound=gap * (1 + 1e-9))
    here = np.repeat(np.arange(len(ends)), around)
    away, other = (np.asarray(each).reshape(-1) for each in found)
    keep = np.isfinite(away) & (here < other)
    here, other, away = here[keep], other[keep], away[keep]
    mate, widest = [-1] * len(ends), 0.0
    for index in np.lexsort((other, here, away)).tolist():
        a, b = int(here[index]), int(other[index])
        if mate[a] >= 0 or mate[b] >= 0:
            continue
        if a // 2 == b // 2:
            reach = np.ptp(pieces[a // 2].reshape(-1, 2), axis=0).max()
            if reach < _LOOP_LEAST * gap:
                continue
        mate[a], mate[b] = b, a
        widest = max(widest, float(away[index]))
    return mate, widest
