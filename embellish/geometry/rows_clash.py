"""Clashes within a row: where the path crosses or nearly touches itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from embellish.geometry.arrays import Bools, Floats, Ints
from embellish.geometry.rows_track import Track


@dataclass(frozen=True, eq=False)
class Standing:
    """Pieces that stand along a track, in path order.

    Parameters
    ----------
    s, xy, choice, corner
        As of a row; s may run on past a closed track's joint.
    weight : array of shape (n,)
        The greater stays: 2 at corners, 1 between the sides of a tip, 0 along spans.
    span : array of shape (n,)
        The span it belongs to, -1 for those of corners.
    left_out : array of shape (j, 3)
        Where pieces were left out: x, y, arc length.
    """

    s: Floats
    xy: Floats
    choice: Ints
    corner: Bools
    weight: Floats
    span: Ints
    left_out: Floats

    def __len__(self) -> int:
        return len(self.s)

    def taken(self, which: Bools | Ints) -> Standing:
        """Return some of the pieces."""
        columns = ("s", "xy", "choice", "corner", "weight", "span")
        return replace(self, **{name: getattr(self, name)[which] for name in columns})


def clashing_pairs(xy: Floats, radius: Floats, asked: float) -> Ints:
    """Return the pairs (i, j), i < j, of round pieces nearer together than the gap asked."""
    if len(xy) < 2:
        return np.zeros((0, 2), dtype=np.int64)
    reach = 2.0 * float(radius.max()) + asked
    pairs = cKDTree(xy).query_pairs(reach, output_type="ndarray").astype(np.int64)
    apart = np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T)
    # The last bits of an equal gap are no clash: half the slack that ways lay to is left over.
    pairs = pairs[apart < radius[pairs[:, 0]] + radius[pairs[:, 1]] + asked - 1e-6]
    pairs.sort(axis=1)
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]


def settle_clashes(track: Track, standing: Standing, radius: Floats, asked: float) -> Standing:
    """Drop what clashes, corners staying first, then earlier pieces."""
    sizes = radius[standing.choice]
    pairs = clashing_pairs(standing.xy, sizes, asked)
    if not len(pairs):
        return standing
    rank = np.lexsort((np.arange(len(standing)), -standing.weight))
    place = np.empty(len(rank), dtype=np.int64)
    place[rank] = np.arange(len(rank))
    keep = np.ones(len(standing), dtype=bool)
    first, second = place[pairs].min(axis=1), place[pairs].max(axis=1)
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if keep[rank[a]]:
            keep[rank[b]] = False
    return standing.taken(keep)
