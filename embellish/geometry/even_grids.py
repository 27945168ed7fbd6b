"""Even grids: lattices that lie alike on both sides of a region that is alike on both sides.

A lattice is its own mirror image about a line across its rows, through a point or half-way between
two; and about a row, of squares also about the line half-way between two rows. So the turn has two
values and one of both shifts has two: little is left to search, and each is counted exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import Final

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.geometry.lattice_counts import (
    STEPS_ACROSS,
    Trial,
    counted,
    counted_at,
    edges_of,
    middle_of_most,
    starts_across,
    turned_by,
)
from embellish.geometry.lattices import Grid, Lattice, best_grid, grid_of
from embellish.units import ALIKE_MM

_PLAIN_MM: Final = 0.02


def nearly(most: int) -> float:
    """Return how many an even grid must hold where another holds the most: some 97 % of them.

    Of few it is up to one in fifteen that a maker gives for both sides being alike.
    """
    return most - max(0.03 * most, min(2.0, most / 15.0))


def fair_grid(
    centres: BaseGeometry,
    lattice: Lattice,
    angle_deg: float | None = None,
    *,
    frame: float | None = None,
) -> Grid:
    """Lay a lattice so that it holds the most, or nearly the most and alike on both sides.

    Parameters
    ----------
    centres, lattice, angle_deg, frame
        As `best_grid` takes them.
    """
    most = best_grid(centres, lattice, angle_deg, frame=frame)
    even = even_grid(centres, lattice, angle_deg, at_least=nearly(len(most)))
    return most if even is None else even


def even_grid(
    centres: BaseGeometry,
    lattice: Lattice,
    angle_deg: float | None = None,
    *,
    at_least: float = 0.0,
) -> Grid | None:
    """Lay a lattice alike on both sides of a region.

    Parameters
    ----------
    centres, lattice
        As `best_grid` takes them.
    angle_deg
        Turn of the rows, clockwise as seen, or None for either that can be even.
    at_least
        How many points it must hold. Of a region with two mirror lines a grid that is even about
        both comes first, then about the upright one.

    Returns
    -------
    Grid or None
        None where the region has no mirror line upright or level through its middle, no even grid
        has this turn, or none holds as many.
    """
    if centres.is_empty:
        return None
    upright, level = _mirror_lines(centres)
    x0, y0, x1, y1 = centres.bounds
    pivot = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    edges = edges_of(centres) - np.array(pivot * 2)
    turns = [turn for turn in (0.0, 90.0) if angle_deg is None or (angle_deg - turn) % 180.0 == 0.0]
    for about_upright, about_level in ((True, True), (True, False), (False, True)):
        if about_upright > upright or about_level > level:
            continue
        trials = [
            _best_of(
                edges,
                lattice,
                turn,
                across=about_upright if turn == 0.0 else about_level,
                along=about_level if turn == 0.0 else about_upright,
            )
            for turn in turns
        ]
        if trials and _most(trials).count >= max(at_least, 1):
            return grid_of(edges, lattice, _most(trials), pivot)
    return None


def _mirror_lines(region: BaseGeometry) -> tuple[bool, bool]:
    """Tell whether a region is its own mirror image about its upright and its level middle."""
    plain = region.simplify(_PLAIN_MM).boundary
    x0, y0, x1, y1 = region.bounds
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    shapely.prepare(plain)
    upright, level = (
        bool(shapely.hausdorff_distance(plain, scale(plain, *by, origin=middle)) <= ALIKE_MM)
        for by in ((-1.0, 1.0), (1.0, -1.0))
    )
    return upright, level


def _best_of(
    edges: Floats, lattice: Lattice, turn_deg: float, *, across: bool, along: bool
) -> Trial:
    """Return the best grid of a turn, even about a line across its rows, along them, or both.

    The lines pass through the middle the edges are told from.
    """
    turned = turned_by(edges, turn_deg)
    # A point on the line across the rows, or the line half-way between two.
    sides = (0.0, lattice.along_mm / 2.0)
    if along:
        # A row on the line; half-way between two rows only where they are not moved.
        starts = (0.0,) if lattice.shift else (0.0, lattice.across_mm / 2.0)
        if across:
            places = product(starts, sides)
            return _most([counted_at(turned, lattice, turn_deg, *place) for place in places])
        return _most([counted(turned, lattice, turn_deg, start) for start in starts])
    spread = [k * lattice.across_mm / STEPS_ACROSS for k in range(STEPS_ACROSS)]
    found = []
    for side in sides:
        trials = [counted_at(turned, lattice, turn_deg, start, side) for start in spread]
        found.append(trials[middle_of_most([trial.count for trial in trials])])
        flush = starts_across(turned, lattice, 1)
        found += [counted_at(turned, lattice, turn_deg, start, side) for start in flush]
    return _most(found)


def _most(trials: Sequence[Trial]) -> Trial:
    return max(trials, key=lambda trial: trial.count)
