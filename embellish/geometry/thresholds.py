"""Thresholds: numbers from 0 to 1, one a place, so spread that any range of them lies even.

Where a share of the places is wanted, those whose threshold lies below it are taken; where the
share changes from place to place they thin out smoothly, and none clump. In the plane thresholds
come from thinning: of all places some that keep apart are kept, of those some that keep further
apart, and so on; what was kept longest comes first. Along a line they step by the golden section.

Ulichney 1993, "The void-and-cluster method for dither array generation" (the aim); Swinbank &
Purser 2006, "Fibonacci grids" (the golden step).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.geometry.clashes import survivors
from embellish.geometry.streams import Stream

_GOLDEN: Final = 0.6180339887498949
_WIDER: Final = 2.0**0.25
_LEVELS: Final = 80


def along_line(n: int) -> Floats:
    """Return n thresholds in order along a line, shape (n,)."""
    thresholds: Floats = np.mod(0.5 + _GOLDEN * np.arange(n), 1.0)
    return thresholds


def in_plane(xy: Floats, stream: Stream) -> Floats:
    """Return thresholds for points of the plane.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The points.
    stream
        Breaks ties between points that might as well come first.

    Returns
    -------
    array of shape (n,)
        Each of (k + 1/2) / n once.
    """
    n = len(xy)
    if n < 2:
        return np.full(n, 0.5)
    chance = (stream.bits(0, n) >> np.uint64(1)).astype(np.int64)
    early = _thinned(xy, chance)[: (n + 1) // 2]
    # The late half is thinned by itself and comes backward: what is left out last lies even too.
    late = np.setdiff1d(np.arange(n), early)
    order = np.concatenate([early, late[_thinned(xy[late], chance[late])][::-1]])
    thresholds = np.empty(n)
    thresholds[order] = (np.arange(n) + 0.5) / n
    return thresholds


def _thinned(xy: Floats, chance: Ints) -> Ints:
    """Return the points in the order that thinning, read backward, gives."""
    n = len(xy)
    level = np.zeros(n, dtype=np.int64)
    left = np.arange(n)
    if n > 1:
        nearest = np.asarray(cKDTree(xy).query(xy, k=[2])[0])[:, 0]
        apart = 1.05 * float(np.median(nearest)) or 1e-9
    for turn in range(_LEVELS):
        if len(left) < 2:
            break
        pairs = cKDTree(xy[left]).query_pairs(apart, output_type="ndarray").astype(np.int64)
        stay = survivors(len(left), pairs, chance[left])
        level[left[~stay]] = -turn
        left = left[stay]
        apart *= _WIDER
    level[left] = -_LEVELS
    return np.lexsort((chance, level))


def chosen_by(shares: Floats, thresholds: Floats) -> Ints:
    """Return a choice for each place, so that the choices follow their shares from place to place.

    Parameters
    ----------
    shares : array of shape (n, k)
        Share of each of k choices at each place; each row adds up to 1.
    thresholds : array of shape (n,)
        See above.

    Returns
    -------
    array of shape (n,)
        As many of each choice as its shares add up to, exact to one; what is left over goes to the
        largest remainders, of equal ones to the first.
    """
    n, k = shares.shape
    total = shares.sum(axis=0)
    count = np.floor(total + 1e-9).astype(np.int64)
    order = np.argsort(-np.round(total - count, 9), kind="stable")
    count[order[: n - int(count.sum())]] += 1
    choice = np.full(n, k - 1, dtype=np.int64)
    upto = np.cumsum(shares, axis=1)
    left = np.arange(n)
    for each in range(k - 1):
        # Furthest below its share first; rounded, so that no last bit decides. Where there is all
        # of it or none, the threshold has no say.
        below = np.round(thresholds[left] - upto[left, each], 9)
        below[upto[left, each] > 1.0 - 1e-9] = -2.0
        below[shares[left, each] < 1e-9] += 2.0
        first = np.argsort(below, kind="stable")
        taken = left[first[: count[each]]]
        choice[taken] = each
        left = np.setdiff1d(left, taken)
    return choice
