"""Lattices: even grids of points in a region, at the turn and shift that hold the most.

Counting is done by rows, not by points. In the lattice's own frame its rows are level lines; each
crosses the region in a few intervals, and an interval [a, b] holds floor((b - a) / pitch) points
or one more, the latter exactly while the shift along the row falls in an arc of length
(b - a) mod pitch. The best shift along the rows is therefore the deepest point of a set of arcs on
a circle, found exactly by sorting their ends; only the turn and the shift across are searched.
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
from embellish.geometry.transforms import Affine

_SHIFTS_ACROSS: Final = 12
_COARSE_TURNS: Final = 24
_KEPT_TURNS: Final = 4
_ROW_EPS: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Lattice:
    """Rows of points: pitch along a row, pitch between rows, and the shift of every other row.

    Parameters
    ----------
    along_mm
        Distance between neighbours in a row.
    across_mm
        Distance between rows.
    shift
        How far every other row is moved along itself, as a share of ``along_mm``.
    period_deg
        The turn after which the lattice is the same again.
    """

    along_mm: float
    across_mm: float
    shift: float
    period_deg: float

    @classmethod
    def hex(cls, pitch_mm: float) -> Lattice:
        """Return the densest lattice of round pieces whose centres are a pitch apart."""
        return cls(pitch_mm, pitch_mm * math.sqrt(0.75), 0.5, 60.0)

    @classmethod
    def square(cls, pitch_mm: float) -> Lattice:
        """Return the square lattice."""
        return cls(pitch_mm, pitch_mm, 0.0, 90.0)

    @classmethod
    def brick(cls, pitch_mm: float) -> Lattice:
        """Return rows a pitch apart, every other row moved by half a pitch."""
        return cls(pitch_mm, pitch_mm, 0.5, 180.0)


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


@dataclass(frozen=True, slots=True)
class _Trial:
    """How many points one turn and shift hold."""

    count: int
    turn_deg: float
    across_mm: float
    along_mm: float


def frame_deg(region: BaseGeometry) -> float:
    """Return a direction tied to the region, in [0, 90): most of its edge runs along or across it.

    Parameters
    ----------
    region
        Polygon or multipolygon.
    """
    edges = _edges(region)
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
    edges = _edges(centres) - np.array([pivot.x, pivot.y, pivot.x, pivot.y])
    if angle_deg is not None or turns_deg is not None:
        turns = [angle_deg] if angle_deg is not None else list(turns_deg or ())
        best = _best([_shifted(edges, lattice, turn, _SHIFTS_ACROSS) for turn in turns])
    else:
        best = _searched(edges, lattice, frame_deg(centres) if frame is None else frame)
    best = _best([best, _polished(edges, lattice, best)])
    if best.count == 0:
        return _empty()
    return _points(edges, lattice, best, (pivot.x, pivot.y))


def _empty() -> Grid:
    none = np.zeros(0, dtype=np.int64)
    return Grid(np.zeros((0, 2)), none, none, 0.0)


def _best(trials: Sequence[_Trial]) -> _Trial:
    """Return the first of the trials that hold the most."""
    return max(trials, key=lambda trial: trial.count)


def _searched(edges: Floats, lattice: Lattice, frame: float) -> _Trial:
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


def _shifted(edges: Floats, lattice: Lattice, turn_deg: float, shifts: int) -> _Trial:
    """Return the best shift across of one turn, among evenly spread and edge-flush ones."""
    turned = _turned(edges, turn_deg)
    low, high = float(turned[:, 1].min()), float(turned[:, 1].max())
    q = lattice.across_mm
    rows = math.floor((high - low) / q + _ROW_EPS)
    # Rows spread evenly about the middle come first, then rows flush with either side.
    middle = (low + high - rows * q) / 2.0
    starts = [middle, low + 1e-9, high - rows * q - 1e-9]
    starts += _level(turned, lattice.along_mm)
    starts += [middle + k * q / shifts for k in range(1, shifts)]
    return _best([_counted(turned, lattice, turn_deg, start) for start in starts])


def _level(turned: Floats, along: float) -> list[float]:
    """Return shifts with a row just within the longest level edges, on either side of them."""
    run = np.abs(turned[:, 2] - turned[:, 0])
    rise = turned[:, 3] - turned[:, 1]
    level = np.flatnonzero((run >= along) & (rise <= 1e-5 * run))
    longest = level[np.argsort(-np.round(run[level], 6), kind="stable")][:4]
    return [y for edge in turned[longest].tolist() for y in (edge[3] + 1e-9, edge[1] - 1e-9)]


def _polished(edges: Floats, lattice: Lattice, trial: _Trial) -> _Trial:
    """Search the shift across finely at one turn; equal counts go to the middle of their run."""
    turned = _turned(edges, trial.turn_deg)
    q = lattice.across_mm
    steps = 48
    trials = [
        _counted(turned, lattice, trial.turn_deg, trial.across_mm + k * q / steps)
        for k in range(steps)
    ]
    counts = np.array([one.count for one in trials])
    top = counts.max()
    if top < trial.count:
        return trial
    # The longest run of shifts (around the circle) that hold the most; its middle.
    full = np.flatnonzero(counts == top)
    if len(full) == steps:
        return trials[0]
    breaks = np.flatnonzero(counts != top)
    gaps = np.diff(np.append(breaks, breaks[0] + steps)) - 1
    first = int(np.argmax(gaps))
    return trials[int(breaks[first] + 1 + (gaps[first] - 1) // 2) % steps]


def _counted(turned: Floats, lattice: Lattice, turn_deg: float, across_mm: float) -> _Trial:
    """Count one shift across, with its best shift along."""
    row, a, b = _intervals(turned, lattice.across_mm, across_mm)
    if not len(row):
        return _Trial(0, turn_deg, across_mm, 0.0)
    p = lattice.along_mm
    start = a - np.mod(row, 2) * (lattice.shift * p)
    whole = np.floor((b - a) / p)
    rest = (b - a) - whole * p
    along, extra = _deepest(np.mod(start, p), rest, p)
    return _Trial(int(whole.sum()) + extra, turn_deg, across_mm, along)


def _deepest(start: Floats, length: Floats, around: float) -> tuple[float, int]:
    """Return the middle of the deepest stretch of arcs on a circle, and its depth.

    Parameters
    ----------
    start : array of shape (m,)
        Where each arc begins, in [0, around).
    length : array of shape (m,)
        How long it is, in [0, around).
    around
        Length of the circle.
    """
    starts = np.sort(start)
    end = start + length
    over = end >= around
    ends = np.sort(np.where(over, end - around, end))
    depth = (
        np.arange(1, len(starts) + 1)
        - np.searchsorted(ends, starts, side="left")
        + np.count_nonzero(over)
    )
    # Equal starts: the last of them sees all of them.
    top = depth.max()
    deep = starts[np.flatnonzero(depth == top)]
    # The stretch lasts to the next end, or around to the first one.
    at = np.searchsorted(ends, deep, side="left")
    stop = np.where(at < len(ends), ends[np.minimum(at, len(ends) - 1)], ends[0] + around)
    widest = int(np.argmax(np.round(stop - deep, 9)))
    middle = (deep[widest] + stop[widest]) / 2.0
    return float(middle % around), int(top)


def _intervals(turned: Floats, across: float, start: float) -> tuple[Ints, Floats, Floats]:
    """Return row numbers and the ends [a, b] of every stretch of a level row in the region."""
    x0, y0, x1, y1 = turned.T
    # An edge owns the rows of [y0, y1): a row through a vertex crosses once, level edges never.
    first = np.ceil((y0 - start) / across).astype(np.int64)
    last = np.ceil((y1 - start) / across).astype(np.int64)
    times = last - first
    edge = np.repeat(np.arange(len(times)), times)
    offset = np.arange(len(edge)) - np.repeat(np.cumsum(times) - times, times)
    row = first[edge] + offset
    y = start + row * across
    share = np.clip((y - y0[edge]) / (y1 - y0)[edge], 0.0, 1.0)
    x = x0[edge] + share * (x1 - x0)[edge]
    order = np.lexsort((x, row))
    row, x = row[order], x[order]
    return row[::2], x[::2], x[1::2]


def _edges(region: BaseGeometry) -> Floats:
    """Return the edges (x0, y0, x1, y1) of every ring of a region."""
    rings = shapely.get_rings(shapely.get_parts(region))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return np.concatenate([xy[:-1][same], xy[1:][same]], axis=1)


def _turned(edges: Floats, turn_deg: float) -> Floats:
    """Return the edges in the frame of a turned lattice, each pointing to larger y."""
    turned = Affine.turn(-turn_deg)(edges.reshape(-1, 2)).reshape(-1, 4)
    down = turned[:, 1] > turned[:, 3]
    turned[down] = turned[down][:, [2, 3, 0, 1]]
    return turned


def _points(edges: Floats, lattice: Lattice, trial: _Trial, pivot: tuple[float, float]) -> Grid:
    """Return the points of one turn and shift."""
    row, a, b = _intervals(_turned(edges, trial.turn_deg), lattice.across_mm, trial.across_mm)
    p = lattice.along_mm
    origin = trial.along_mm + np.mod(row, 2) * (lattice.shift * p)
    first = np.ceil((a - origin) / p - _ROW_EPS).astype(np.int64)
    last = np.floor((b - origin) / p + _ROW_EPS).astype(np.int64)
    times = np.maximum(last - first + 1, 0)
    stretch = np.repeat(np.arange(len(times)), times)
    index = first[stretch] + np.arange(len(stretch)) - np.repeat(np.cumsum(times) - times, times)
    rows = row[stretch]
    local = np.stack([origin[stretch] + index * p, trial.across_mm + rows * lattice.across_mm], 1)
    turn = Affine.turn(trial.turn_deg)
    xy = turn(local) + np.array(pivot)
    skewed = index - rows // 2 if lattice.shift else index
    return Grid(xy, rows - (rows.min() if len(rows) else 0), skewed, trial.turn_deg)
