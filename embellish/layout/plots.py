"""Plots: the ground one lay fills in one shape, with its seats, once all lays are laid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import Room
from embellish.layout.layout import Layout
from embellish.layout.ranked import ALONE, Ranked


@dataclass(frozen=True, eq=False)
class Plot:
    """What a lay fills in one shape.

    Parameters
    ----------
    lay, shape
        Indices of the lay and of the shape.
    region
        The shape's region in artwork scale, where it stands.
    edge_mm
        Free distance from pieces to its edge.
    sorts
        Indices of the footprints the lay sets, in the order the job names them.
    settle
        How far its gaps are to be evened out, from 0 to 1.
    tops_up
        Whether holes that dropped pieces leave are filled: not where a number was asked.
    keeps_edge
        Whether pieces that stand along the edge stay there.
    keep_out
        What no piece may touch, or None.
    """

    lay: int
    shape: int
    region: BaseGeometry
    edge_mm: float
    sorts: tuple[int, ...]
    settle: float = 0.0
    tops_up: bool = True
    keeps_edge: bool = False
    keep_out: BaseGeometry | None = None

    def seats(self, layout: Layout) -> Ints:
        """Return the rows of the layout that stand on this plot."""
        return np.flatnonzero((layout.lay == self.lay) & (layout.shape == self.shape))

    def room(self, layout: Layout) -> Room:
        """Return the room its seats have among the seats of all other plots, by their circles."""
        others = np.ones(len(layout), dtype=np.bool_)
        others[self.seats(layout)] = False
        return Room(
            self.region,
            self.edge_mm,
            self.keep_out,
            layout.xy[others],
            layout.reach_mm[others] + self.gaps_mm(layout)[others],
        )

    def gaps_mm(self, layout: Layout) -> Floats:
        """Return the gap that holds between this lay and each seat of the layout."""
        gaps = np.array([lay.gap_mm for lay in layout.lays], dtype=np.float64)
        held: Floats = np.maximum(gaps, gaps[self.lay])[layout.lay]
        return held

    def symmetric(self, ranked: Ranked) -> bool:
        """Tell whether its seats have mirror images, which must move alike."""
        mine = self.seats(ranked.layout)
        return bool((ranked.twin[mine] != ALONE).any())


def gone(before: Ranked, after: Ranked) -> Bools:
    """Return which seats of a layout are not in one made from it by dropping seats."""
    if len(after.layout) == len(before.layout):
        return np.zeros(len(before.layout), dtype=np.bool_)
    keys = [_keys(ranked.layout) for ranked in (before, after)]
    lost: Bools = ~np.isin(keys[0], keys[1])
    return lost


def _keys(layout: Layout) -> np.ndarray:
    columns = np.stack([layout.lay.astype(np.float64), *layout.xy.T], axis=1)
    return np.ascontiguousarray(columns).view([("", np.float64)] * 3).ravel()
