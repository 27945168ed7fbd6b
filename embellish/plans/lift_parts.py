"""Parts of a lift: pieces laid on transfer sheets no larger than sheet and platen take."""

from __future__ import annotations

from math import ceil

import numpy as np

from embellish.arrays import Ints
from embellish.layout.layout import Layout
from embellish.plans.templates.parts import fits
from embellish.plans.templates.settings import Size
from embellish.units import EPS_MM


def in_parts(layout: Layout, rows: Ints, limit_mm: Size | None) -> list[Ints]:
    """Return the rows in as few groups as straight cuts give, each within the limit.

    A cut runs where the pieces leave most room, and none goes through a piece: each belongs to
    the part its centre is in. A single piece larger than the limit is a part by itself.

    Parameters
    ----------
    layout
        Where the pieces stand.
    rows : array of shape (n,)
        Which seats.
    limit_mm
        Long and short side of what one sheet and one press take; None for no limit.
    """
    xy, reach = layout.xy[rows], layout.reach_mm[rows][:, None]
    low, high = xy - reach, xy + reach
    size = high.max(axis=0) - low.min(axis=0)
    if limit_mm is None or len(rows) < 2 or fits((float(size[0]), float(size[1])), limit_mm):
        return [rows]
    long, short = limit_mm
    ways = [
        (max(ceil(size[0] / x - EPS_MM), 1) * max(ceil(size[1] / y - EPS_MM), 1), x, y)
        for x, y in ((long, short), (short, long))
    ]
    _, *room = min(ways)
    over = size / np.array(room)
    axis = int(np.argmax(over))
    order = np.lexsort((xy[:, 1 - axis], xy[:, axis]))
    ends = np.maximum.accumulate(high[order, axis])
    # What stands before a cut must fit, and the cut comes where it leaves even shares.
    inside = ends[:-1] - low[:, axis].min() <= room[axis] + EPS_MM
    if not inside.any():
        inside[0] = True
    free = low[order[1:], axis] - ends[:-1]
    aim = low[:, axis].min() + size[axis] / ceil(over[axis])
    late = np.abs(ends[:-1] - aim) / room[axis]
    worth = np.where(inside, np.round(np.minimum(free, 5.0) - 20.0 * late, 6), -np.inf)
    cut = int(np.argmax(worth)) + 1
    first, rest = np.sort(rows[order[:cut]]), np.sort(rows[order[cut:]])
    return [*in_parts(layout, first, limit_mm), *in_parts(layout, rest, limit_mm)]
