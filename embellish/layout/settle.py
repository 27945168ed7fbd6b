"""Settling lays: the gaps of what fills a region are evened out, none is broken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats
from embellish.geometry.insets import Room
from embellish.geometry.settling import settle, shortfall
from embellish.layout.plots import Plot
from embellish.layout.ranked import Ranked
from embellish.layout.ways.fills import KEPT_SLACK_MM

_FURTHEST: Final = 0.2
"""How far above the gaps asked settling reaches at most, as a share of a distance."""
_ROUNDS: Final = 240
_ON_EDGE_MM: Final = 0.01


def settled_lays(ranked: Ranked, plots: Sequence[Plot]) -> Ranked:
    """Return the seats with the plots that ask for it settled, earlier lays first.

    Corners, what a hand set, and where the plot says so the row along the edge stay where they
    are; so do lays with mirror images. A plot that cannot be settled without breaking a gap stays
    as it was.
    """
    for plot in sorted(plots, key=lambda plot: plot.lay):
        if plot.settle > 0.0 and not plot.symmetric(ranked):
            ranked = _settled(ranked, plot)
    return ranked


def _settled(ranked: Ranked, plot: Plot) -> Ranked:
    layout = ranked.layout
    mine = plot.seats(layout)
    if len(mine) < 2:
        return ranked
    room = plot.room(layout)
    reach = layout.reach_mm[mine]
    half = reach + (layout.lays[plot.lay].gap_mm + KEPT_SLACK_MM) / 2.0
    sizes, ground = np.unique(reach, return_inverse=True)
    grounds = [room.centres(float(size)) for size in sizes]
    if any(each.is_empty for each in grounds):
        return ranked
    xy = layout.xy[mine]
    stays = ranked.by_hand[mine] | (ranked.weight[mine] > 0.0)
    if plot.keeps_edge:
        for size, each in enumerate(grounds):
            at = np.flatnonzero(ground == size)
            stays[at] |= shapely.dwithin(each.boundary, shapely.points(xy[at]), _ON_EDGE_MM)
    # What stands nearer than its circle allows, by its true outline, had better not be moved.
    if not _whole(xy, reach, half, room):
        return ranked
    found = settle(
        xy,
        half,
        grounds,
        ground,
        pinned=stays,
        rounds=_ROUNDS,
        patience=_ROUNDS,
        evening=_ROUNDS,
        reach=_FURTHEST * plot.settle,
        easing=True,
    )
    moved = found.xy
    moved[stays] = xy[stays]
    if found.short_mm > 0.0 or not _whole(moved, reach, half, room):
        return ranked
    every = layout.xy.copy()
    every[mine] = moved
    return replace(ranked, layout=replace(layout, xy=every))


def _whole(xy: Floats, reach_mm: Floats, half_mm: Floats, room: Room) -> bool:
    """Tell whether every gap and margin holds."""
    inside: Bools = room.holds(xy, reach_mm, slack_mm=0.0)
    return bool(inside.all()) and shortfall(xy, half_mm) == 0.0
