"""Which pieces of a long row could clash at all: a coarse look that clears smooth runs at once."""

from __future__ import annotations

import numpy as np
import shapely

from embellish.arrays import Bools, Floats
from embellish.geometry.rows.track import most_turned_deg

_BLOCK = 32
_CONE_DEG = 60.0
_LEAST_RATIO = 0.2


def may_clash(xy: Floats, radius: Floats, asked: float) -> Bools:
    """Tell which of many circles in path order could be nearer together than the gap asked.

    The row is cut into blocks. Two blocks that do not follow each other are cleared where their
    boxes are far enough apart. Within a block and its next, neighbours are measured; others are
    cleared where the chords from piece to piece keep their directions within 60 degrees: then two
    pieces with one or more between them are apart by at least cos 30 degrees times the chords'
    sum, which is more than their radii and the gap.
    """
    n = len(xy)
    if n < 4 * _BLOCK or radius.min() < _LEAST_RATIO * radius.max():
        return np.ones(n, dtype=bool)
    x, y = np.ascontiguousarray(xy.T)
    dx, dy = np.diff(x), np.diff(y)
    chord = np.sqrt(dx * dx + dy * dy)
    close = chord < radius[1:] + radius[:-1] + asked
    turn = most_turned_deg(dx, dy)

    starts = np.arange(0, n, _BLOCK)
    count = len(starts)
    turned = np.zeros(count)
    turned[: len(starts[starts < n - 2])] = np.add.reduceat(turn, starts[starts < n - 2])
    bad = np.zeros(count, dtype=bool)
    bad[np.flatnonzero(close) // _BLOCK] = True
    bad[(np.flatnonzero(close) + 1) // _BLOCK] = True
    curled = turned[:-1] + turned[1:] > _CONE_DEG
    bad[:-1] |= curled
    bad[1:] |= curled
    if 2 * int(bad.sum()) > count:
        # So many corners: looking at every pair is quicker than at boxes first.
        return np.ones(n, dtype=bool)

    grow = float(radius.max()) + asked
    low, high = np.minimum.reduceat, np.maximum.reduceat
    boxes = shapely.box(
        low(x, starts) - grow, low(y, starts) - grow, high(x, starts) + grow, high(y, starts) + grow
    )
    i, j = shapely.STRtree(boxes).query(boxes)
    met = np.abs(i - j) > 1
    bad[i[met]] = True
    return np.repeat(bad, np.diff(np.append(starts, n)))
