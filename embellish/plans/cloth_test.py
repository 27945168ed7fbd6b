"""A cloth test: a few pieces of every lay on a small patch, set as the job sets them.

It is a layout like any other, so that templates, marks and charts of it are planned as those of
the job are. Pressed, washed and stretched before the garment, it shows what holds.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.layout.layout import Layout
from embellish.units import ROUND_DECIMALS

PATCH_MM: Final = 40.0
"""Width that the pieces of a lay take up on their patch, where that many fit."""
APART_MM: Final = 14.0
"""Free cloth between two patches."""
_FEWEST, _MOST = 3, 8
"""Pieces of one code in a row: enough to lose one, few enough to spare."""


def cloth_test(layout: Layout, least_gap_mm: Floats, width_mm: float = 170.0) -> Layout:
    """Return the layout of a cloth test: a patch a lay, a row a piece or unit.

    Parameters
    ----------
    layout
        The job's own; lays without a seat have no patch.
    least_gap_mm : array of shape (k,)
        Of each lay: no two pieces stand nearer, nor nearer than the lay's own gap.
    width_mm
        Of all patches beside each other; a wider patch stands alone.
    """
    blocks = []
    left = top = lowest = 0.0
    for index in np.unique(layout.lay).tolist():
        gap = max(layout.lays[index].gap_mm, float(least_gap_mm[index]))
        xy, which, row = _patch(layout, index, gap)
        reach = np.array([layout.footprints[each].reach_mm for each in which.tolist()])
        low, high = (xy - reach[:, None]).min(axis=0), (xy + reach[:, None]).max(axis=0)
        wide, tall = (high - low).tolist()
        if left > 0.0 and left + wide > width_mm:
            left, top = 0.0, lowest + APART_MM
        blocks.append((index, xy - low + np.array([left, top]), which, row))
        left += wide + APART_MM
        lowest = max(lowest, top + tall)
    return _laid(layout, blocks)


def _patch(layout: Layout, lay: int, gap_mm: float) -> tuple[Floats, Ints, Ints]:
    """Return centres, footprints and rows of one patch, about its first piece."""
    places, which, rows = [], [], []
    y = before = 0.0
    used = np.unique(layout.footprint[layout.rows(lay)]).tolist()
    for number, footprint in enumerate(used):
        reach = layout.footprints[footprint].reach_mm
        pitch = 2.0 * reach + gap_mm
        count = min(_MOST, max(_FEWEST, floor(PATCH_MM / pitch)))
        y += before + reach + gap_mm if number else 0.0
        before = reach
        places += [(pitch * index, y) for index in range(count)]
        which += [footprint] * count
        rows += [number] * count
    return np.array(places), np.array(which), np.array(rows)


def _laid(layout: Layout, blocks: list[tuple[int, Floats, Ints, Ints]]) -> Layout:
    empty = layout.taken(np.zeros(0, dtype=np.int64))
    if not blocks:
        return empty
    lay = np.concatenate([np.full(len(xy), index) for index, xy, _, _ in blocks])
    xy = np.round(np.concatenate([xy for _, xy, _, _ in blocks]), ROUND_DECIMALS)
    which = np.concatenate([which for _, _, which, _ in blocks])
    row = np.concatenate([row for _, _, _, row in blocks])
    single = which < len(layout.pieces)
    ends = np.flatnonzero(np.diff(np.stack([lay, row]), axis=1).any(axis=0)) + 1
    u = np.concatenate(
        [np.linspace(0.0, 1.0, len(part)) for part in np.split(np.arange(len(row)), ends)]
    )
    reach = np.array([layout.footprints[each].reach_mm for each in which.tolist()])
    page = (xy + reach[:, None]).max(axis=0)
    return replace(
        empty,
        xy=xy,
        angle_deg=np.zeros(len(xy)),
        piece=np.where(single, which, -1),
        unit=np.where(single, -1, which - len(layout.pieces)),
        lay=lay,
        shape=np.full(len(xy), -1),
        row=row,
        u=u,
        page_mm=(float(page[0]), float(page[1])),
    )
