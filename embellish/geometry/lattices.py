"""Lattices: even grids of points in a region, at the turn and shift that hold the most.

The best shift along the rows is found exactly (see `lattice_counts`); only the turn and the shift
across are searched.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.lattice_counts import (
    STEPS_ACROSS,
    Lattice,
    Trial,
    counted,
    edges_of,
    middle_of_most,
    places_of,
    starts_across,
    turned_by,
)
from embellish.geometry.transforms import Affine

__all__ = ["Grid", "Lattice", "best_grid", "frame_deg", "grid_of"]

_SHIFTS_ACROSS: Final = 12
_COARSE_TURNS: Final = 24
_KEPT_TURNS: Final = 4


@dataclass(frozen=True, eq=False)
class Grid:
    """A lattice laid in a region.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Points row by row, along each row.
    row : array of shape (n,)
        Number of the lattice row, from 0 at the first row that holds a point.
    index : array of shape (n,)
        Lattice index along the skewed axes: neighbours in a row differ by 1; where every other
        row is moved by half, the two neighbours of (row, index) in the next row are
        (row + 1, index - 1) and (row + 1, index).
    angle_deg
        Turn of the rows, clockwise as seen.
    """

    xy: Floats
    row: Ints
    index: Ints
    angle_deg: float

    def __len__(self) -> int:
        return len(self.xy)

    def kept(self, keep: Bools) -> Grid:
        """Return the points of a mask."""
        return Grid(self.xy[keep], self.row[keep], self.index[keep], self.angle_deg)


def frame_deg(region: BaseGeometry) -> float:
    """Return a direction tied to the region, in [0, 90): most of its edge runs along or across it.

    Parameters
    ----------
    region
        Polygon or multipolygon.
    """
    edges = edges_of(region)
    step = edges[:, 2:] - edges[:, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    if not len(length) or not length.any():
        return 0.0
    folded = np.mod(np.degrees(np.arctan2(step[:, 1], step[:, 0])), 90.0)
    # Lengths are gathered in bins of half a degree; the fullest bin tells the frame.
    bins = np.mod(np.floor(folded * 2.0 + 0.5).astype(np.int64), 180)
    weight = np.bincount(bins, weights=length, minlength=180)
    # Rounded, so that of two bins that are equal but for noise the first wins.
    best = int(np.argmax(np.round(weight / weight.max(), 6)))
    # Its longest edge, not the mean: bits of a curve in the same bin must not turn a straight side.
    longest = int(np.argmax(np.where(bins == best, np.round(length, 6), -1.0)))
    return round(float(folded[longest]), 9) % 90.0


def best_grid(
    centres: BaseGeometry,
    lattice: Lattice,
    angle_deg: float | None = None,
    turns_deg: Sequence[float] | None = None,
    *,
    frame: float | None = None,
) -> Grid:
    """Lay a lattice in a region of centres so that it holds the most points.

    Of equal counts the one most in line with the region's edges wins, and the shift is the middle
    of the shifts that hold as many, so that what is left over is shared by both sides.

    Parameters
    ----------
    centres
        Where points may stand (see ``insets``).
    lattice
        The lattice.
    angle_deg
        Fixed turn of the rows, clockwise as seen, or None to search.
    turns_deg
        Only these turns are tried, where given.
    frame
        The turn to search from, in degrees; the region's own (``frame_deg``) where not given.
        An inset's edges are a little off, so the frame of the region itself is the better one.

    Returns
    -------
    Grid
        Empty where the region holds no point.
    """
    if centres.is_empty:
        return _empty()
    pivot = shapely.envelope(centres).centroid
    edges = edges_of(centres) - np.array([pivot.x, pivot.y, pivot.x, pivot.y])
    if angle_deg is not None or turns_deg is not None:
        turns = [angle_deg] if angle_deg is not None else list(turns_deg or ())
        best = _best([_shifted(edges, lattice, turn, _SHIFTS_ACROSS) for turn in turns])
    else:
        best = _searched(edges, lattice, frame_deg(centres) if frame is None else frame)
    best = _best([best, _polished(edges, lattice, best)])
    if best.count == 0:
        return _empty()
    return grid_of(edges, lattice, best, (pivot.x, pivot.y))


def _empty() -> Grid:
    none = np.zeros(0, dtype=np.int64)
    return Grid(np.zeros((0, 2)), none, none, 0.0)


def _best(trials: Sequence[Trial]) -> Trial:
    """Return the first of the trials that hold the most."""
    return max(trials, key=lambda trial: trial.count)


def _searched(edges: Floats, lattice: Lattice, frame: float) -> Trial:
    """Search the turn from coarse to fine."""
    period = lattice.period_deg
    step = period / _COARSE_TURNS
    # In line with the edges comes first, then outward from there: of equals the first wins.
    order = sorted(range(_COARSE_TURNS), key=lambda k: (min(k, _COARSE_TURNS - k), k))
    turns = [(frame + k * step) % period for k in order]
    turns += [(frame + 90.0) % period] if math.fmod(90.0, period) else []
    trials = [_shifted(edges, lattice, turn, 6) for turn in turns]
    for _ in range(3):
        ranked = sorted(trials, key=lambda trial: -trial.count)[:_KEPT_TURNS]
        step /= 4.0
        near = [trial.turn_deg + k * step for trial in ranked for k in (-2, -1, 1, 2)]
        fresh = [_shifted(edges, lattice, turn % period, _SHIFTS_ACROSS) for turn in near]
        trials = ranked + fresh
    return _best(trials)


def _shifted(edges: Floats, lattice: Lattice, turn_deg: float, shifts: int) -> Trial:
    """Return the best shift across of one turn, among evenly spread and edge-flush ones."""
    turned = turned_by(edges, turn_deg)
    starts = starts_across(turned, lattice, shifts)
    return _best([counted(turned, lattice, turn_deg, start) for start in starts])


def _polished(edges: Floats, lattice: Lattice, trial: Trial) -> Trial:
    """Search the shift across finely at one turn; equal counts go to the middle of their run."""
    turned = turned_by(edges, trial.turn_deg)
    q = lattice.across_mm
    trials = [
        counted(turned, lattice, trial.turn_deg, trial.across_mm + k * q / STEPS_ACROSS)
        for k in range(STEPS_ACROSS)
    ]
    if max(one.count for one in trials) < trial.count:
        return trial
    return trials[middle_of_most([one.count for one in trials])]


def grid_of(edges: Floats, lattice: Lattice, trial: Trial, pivot: tuple[float, float]) -> Grid:
    """Return the points of one turn and shift; ``edges`` are those of the region from the pivot."""
    rows, index, local = places_of(turned_by(edges, trial.turn_deg), lattice, trial)
    turn = Affine.turn(trial.turn_deg)
    xy = turn(local) + np.array(pivot)
    skewed = index - rows // 2 if lattice.shift else index
    return Grid(xy, rows - (rows.min() if len(rows) else 0), skewed, trial.turn_deg)
