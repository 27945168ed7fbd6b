"""Settling lays: the gaps of what fills a region are evened out, none is broken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import Room
from embellish.geometry.settling import settle, shortfall
from embellish.layout.plots import Plot
from embellish.layout.ranked import ALONE, Ranked
from embellish.layout.ways.fills import KEPT_SLACK_MM
from embellish.layout.ways.way import Progress

_FURTHEST: Final = 0.2
"""How far above the gaps asked settling reaches at most, as a share of a distance."""
_ROUNDS: Final = 240
_ON_EDGE_MM: Final = 0.01
_EVEN_ROUNDS: Final = 3
"""How often seats and their images are brought together and settled again until gaps hold."""
_EVEN_SLACK_MM: Final = 1e-5
"""Asked beyond each half, for what bringing images together takes."""


def settled_lays(ranked: Ranked, plots: Sequence[Plot], progress: Progress) -> Ranked:
    """Return the seats with the plots that ask for it settled, earlier lays first.

    Corners, what a hand set, and where the plot says so the row along the edge stay where they
    are; mirror images move alike. A plot that cannot be settled without breaking a gap stays as it
    was. The share done is told, and who is told it may end all by raising.
    """
    asked = sorted((plot for plot in plots if plot.settle > 0.0), key=lambda plot: plot.lay)
    for number, plot in enumerate(asked):

        def told(share: float, number: int = number) -> None:
            progress((number + share) / len(asked))

        mine = plot.seats(ranked.layout)
        twin = ranked.twin[mine]
        if not (twin != ALONE).any():
            ranked = _settled(ranked, plot, mine, None, told)
        elif np.isin(twin, mine).all():
            ranked = _settled(ranked, plot, mine, np.searchsorted(mine, twin), told)
    return ranked


def _settled(ranked: Ranked, plot: Plot, mine: Ints, twin: Ints | None, told: Progress) -> Ranked:
    """Return the seats with those of a plot settled; ``twin`` is each one's image among them."""
    layout = ranked.layout
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
    if twin is not None:
        stays |= stays[twin]
    # What stands nearer than its circle allows, by its true outline, had better not be moved.
    if not _whole(xy, reach, half, room):
        return ranked
    moved, rounds = xy, _ROUNDS
    for _ in range(1 if twin is None else _EVEN_ROUNDS):
        found = settle(
            moved,
            half + (0.0 if twin is None else _EVEN_SLACK_MM),
            grounds,
            ground,
            pinned=stays,
            rounds=rounds,
            patience=rounds,
            evening=rounds,
            reach=_FURTHEST * plot.settle,
            easing=True,
            progress=told,
        )
        moved = found.xy if twin is None else _alike(found.xy, xy, twin)
        moved[stays] = xy[stays]
        if _whole(moved, reach, half, room):
            every = layout.xy.copy()
            every[mine] = moved
            return replace(ranked, layout=replace(layout, xy=every))
    return ranked


def _alike(moved: Floats, before: Floats, twin: Ints) -> Floats:
    """Return each place and its image's brought together, about the axis they had."""
    step = before[twin] - before
    far = np.hypot(step[:, 0], step[:, 1])
    one = step[int(np.argmax(far))]
    step = np.where((step @ one < 0.0)[:, None], -step, step).sum(axis=0)
    across = step / max(float(np.hypot(*step)), 1e-300)
    # The axis lies across, at the mean of the pairs' middles.
    middle = float((before @ across).mean())
    image = moved[twin]
    image = image + 2.0 * (middle - image @ across)[:, None] * across
    alike: Floats = (moved + image) / 2.0
    return alike


def _whole(xy: Floats, reach_mm: Floats, half_mm: Floats, room: Room) -> bool:
    """Tell whether every gap and margin holds."""
    inside: Bools = room.holds(xy, reach_mm, slack_mm=0.0)
    return bool(inside.all()) and shortfall(xy, half_mm) == 0.0
