"""Few colours for many: the palette that serves best, the nearest of it, and misses handed on.

Nearest by CIEDE2000. Of many colours the few that serve best are found by adding the best one after
another and exchanging while that helps (Teitz & Bart, "Heuristic methods for estimating the
generalized vertex median of a weighted graph", Operations Research 16(5), 1968). What a colour
misses may be handed on to the places around it (Floyd & Steinberg, "An adaptive algorithm for
spatial greyscale", Proceedings of the Society for Information Display 17(2), 1976), which for
places that lie anywhere are those nearby that have not got their colour yet.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import scipy
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints
from embellish.catalogue.colour_difference import delta_e, lab_of_linear

_NEAR: Final = 1.6
"""How far a colour's miss is handed on, in distances between places."""
_BIN: Final = 3.0
"""Colours this near in CIELAB count as one while the palette is chosen."""
_ROUNDS: Final = 40
_TOLD: Final = 512
_SHADES: Final = 96.0
"""Amounts of light this fine are told apart where a goal is brought within reach."""
_ONE: Final = 30.0
"""How heavily shares of colours adding up to one weigh against the light they come to."""


def nearest_colours(lab: Floats, palette: Floats) -> Ints:
    """Return which colour of a palette (k, 3) is nearest to each of some (n, 3), or the first."""
    # The same colour comes often: each is looked up once.
    each, back = np.unique(np.round(lab, 2), axis=0, return_inverse=True)
    best = np.full(len(each), np.inf)
    which = np.zeros(len(each), dtype=np.int64)
    for index, colour in enumerate(palette):
        away = delta_e(each, colour)
        better = away < best - 1e-9
        best[better], which[better] = away[better], index
    return which[back.reshape(-1)]


def best_colours(lab: Floats, palette: Floats, most: int | None, fixed: Bools) -> Ints:
    """Return at most so many colours of a palette that are together nearest to some colours.

    Parameters
    ----------
    lab : array of shape (n, 3)
        The colours to show.
    palette : array of shape (k, 3)
    most
        How many, or None for all.
    fixed : bool array of shape (k,)
        Colours that are there in any case and do not count.
    """
    k = len(palette)
    if most is None or most >= np.count_nonzero(~fixed):
        return np.arange(k)
    bins, weight = np.unique(np.round(lab / _BIN), axis=0, return_counts=True)
    away = np.stack([delta_e(bins * _BIN, colour) for colour in palette], axis=1)
    away = np.round(away * weight[:, None], 6)
    chosen = np.flatnonzero(fixed).tolist()
    free = np.flatnonzero(~fixed)
    near = away[:, chosen].min(axis=1) if chosen else np.full(len(bins), np.inf)
    picked: list[int] = []
    for _ in range(most):
        cost = np.minimum(near[:, None], away[:, free]).sum(axis=0)
        cost[np.isin(free, picked)] = np.inf
        picked.append(int(free[int(np.argmin(cost))]))
        near = np.minimum(near, away[:, picked[-1]])
    picked = _exchanged(away, picked, free, np.array(chosen, dtype=np.int64))
    return np.array(sorted([*picked, *chosen]), dtype=np.int64)


def _exchanged(away: Floats, picked: list[int], free: Ints, fixed: Ints) -> list[int]:
    """Exchange a colour for another as long as that brings all nearer."""
    best = away[:, [*picked, *fixed]].min(axis=1).sum()
    for _ in range(_ROUNDS):
        found = None
        for place in range(len(picked)):
            rest = [*picked[:place], *picked[place + 1 :], *fixed]
            near = away[:, rest].min(axis=1) if rest else np.full(len(away), np.inf)
            cost = np.minimum(near[:, None], away[:, free]).sum(axis=0)
            cost[np.isin(free, picked)] = np.inf
            index = int(np.argmin(cost))
            if cost[index] < best - 1e-6:
                best, found = float(cost[index]), (place, int(free[index]))
        if found is None:
            break
        picked[found[0]] = found[1]
    return picked


def dithered(
    xy: Floats,
    light: Floats,
    own: Floats,
    palette: Floats,
    pitch_mm: float,
    told: Callable[[float], None],
) -> Ints:
    """Return which colour each place takes, what it misses handed on to places after it.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Places.
    light : array of shape (n, 3)
        What the picture shows there, in amounts of light.
    own, palette : arrays of shape (k, 3)
        The light of each colour, and its CIELAB.
    pitch_mm
        Distance between places.
    told
        Told the share done.
    """
    n = len(xy)
    # Strip by strip, there and back, so that misses are not all swept to one side.
    strip = np.floor((xy[:, 1] - xy[:, 1].min()) / pitch_mm + 1e-6).astype(np.int64)
    along = np.where(strip % 2 == 0, xy[:, 0], -xy[:, 0])
    order = np.lexsort((along, strip))
    turn = np.empty(n, dtype=np.int64)
    turn[order] = np.arange(n)
    pairs = cKDTree(xy).query_pairs(_NEAR * pitch_mm, output_type="ndarray")
    swap = turn[pairs[:, 0]] > turn[pairs[:, 1]]
    pairs[swap] = pairs[swap][:, ::-1]
    pairs = pairs[np.lexsort((turn[pairs[:, 1]], turn[pairs[:, 0]]))]
    starts = np.searchsorted(turn[pairs[:, 0]], np.arange(n + 1))
    share = 1.0 / np.maximum(np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T), 1e-9)
    wanted, chosen = within_reach(light, own, palette), np.zeros(n, dtype=np.int64)
    for step, place in enumerate(order.tolist()):
        if step % _TOLD == 0:
            told(0.3 + 0.7 * step / n)
        goal = np.clip(wanted[place], 0.0, 1.0)
        away = delta_e(lab_of_linear(goal[None]), palette)
        chosen[place] = int(np.argmin(np.round(away, 9)))
        part = slice(int(starts[step]), int(starts[step + 1]))
        if part.start < part.stop:
            weight = share[part] / share[part].sum()
            wanted[pairs[part, 1]] += weight[:, None] * (wanted[place] - own[chosen[place]])
    return chosen


def within_reach(light: Floats, own: Floats, palette: Floats) -> Floats:
    """Return light that the colours can make: the nearest mixture, or a colour that looks nearer.

    What none of them comes near would else be handed on for ever.

    Parameters
    ----------
    light : array of shape (n, 3)
    own, palette : arrays of shape (k, 3)
        The light of each colour, and its CIELAB.
    """
    shade, back = np.unique(np.round(light * _SHADES), axis=0, return_inverse=True)
    shade, back = shade / _SHADES, back.reshape(-1)
    weights = np.vstack([own.T, np.full(len(own), _ONE)])
    mixed = np.array(
        [scipy.optimize.nnls(weights, np.append(each, _ONE))[0] @ own for each in shade]
    )
    lab = lab_of_linear(shade)
    one = nearest_colours(lab, palette)
    nearer = delta_e(lab, palette[one]) < delta_e(lab, lab_of_linear(mixed))
    # What is within reach already keeps its own, finer value.
    inside = np.abs(mixed - shade).max(axis=1) < 0.5 / _SHADES
    near = np.where(nearer[:, None], own[one], mixed)
    return np.where(inside[back][:, None], light, near[back])
