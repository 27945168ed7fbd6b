"""Points of a lattice counted in a region, row by row, at one turn and one shift across.

In the lattice's own frame its rows are level lines; each crosses the region in a few intervals, and
an interval [a, b] holds floor((b - a) / pitch) points or one more, the latter exactly while the
shift along the row falls in an arc of length (b - a) mod pitch. The best shift along the rows is
therefore the deepest point of a set of arcs on a circle, found exactly by sorting their ends.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.geometry.transforms import Affine

ROW_EPS: Final = 1e-9
STEPS_ACROSS: Final = 48
"""In how many steps the shift across is searched finely."""


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


@dataclass(frozen=True, slots=True)
class Trial:
    """How many points one turn and shift hold."""

    count: int
    turn_deg: float
    across_mm: float
    along_mm: float


def starts_across(turned: Floats, lattice: Lattice, shifts: int) -> list[float]:
    """Return shifts across to be tried: evenly spread ones, and rows flush with an edge."""
    low, high = float(turned[:, 1].min()), float(turned[:, 1].max())
    q = lattice.across_mm
    rows = math.floor((high - low) / q + ROW_EPS)
    # Rows spread evenly about the middle come first, then rows flush with either side.
    middle = (low + high - rows * q) / 2.0
    starts = [middle, low + 1e-9, high - rows * q - 1e-9]
    starts += _level(turned, lattice.along_mm)
    return starts + [middle + k * q / shifts for k in range(1, shifts)]


def middle_of_most(counts: Sequence[int]) -> int:
    """Return the middle of the longest run, around the circle, of those that are the most."""
    top, steps = max(counts), len(counts)
    breaks = np.flatnonzero(np.array(counts) != top)
    if not len(breaks):
        return 0
    gaps = np.diff(np.append(breaks, breaks[0] + steps)) - 1
    first = int(np.argmax(gaps))
    return int(breaks[first] + 1 + (gaps[first] - 1) // 2) % steps


def _level(turned: Floats, along: float) -> list[float]:
    """Return shifts with a row just within the longest level edges, on either side of them."""
    run = np.abs(turned[:, 2] - turned[:, 0])
    rise = turned[:, 3] - turned[:, 1]
    level = np.flatnonzero((run >= along) & (rise <= 1e-5 * run))
    longest = level[np.argsort(-np.round(run[level], 6), kind="stable")][:4]
    return [y for edge in turned[longest].tolist() for y in (edge[3] + 1e-9, edge[1] - 1e-9)]


def counted(turned: Floats, lattice: Lattice, turn_deg: float, across_mm: float) -> Trial:
    """Count one shift across, with its best shift along."""
    row, a, b = _intervals(turned, lattice.across_mm, across_mm)
    if not len(row):
        return Trial(0, turn_deg, across_mm, 0.0)
    p = lattice.along_mm
    start = a - np.mod(row, 2) * (lattice.shift * p)
    whole = np.floor((b - a) / p)
    rest = (b - a) - whole * p
    along, extra = _deepest(np.mod(start, p), rest, p)
    return Trial(int(whole.sum()) + extra, turn_deg, across_mm, along)


def places_of(turned: Floats, lattice: Lattice, trial: Trial) -> tuple[Ints, Ints, Floats]:
    """Return row, number along the row and place (n, 2) of every point, in the lattice's frame."""
    row, first, times = _runs(turned, lattice, trial.across_mm, trial.along_mm)
    stretch = np.repeat(np.arange(len(times)), times)
    index = first[stretch] + np.arange(len(stretch)) - np.repeat(np.cumsum(times) - times, times)
    rows = row[stretch]
    x = trial.along_mm + np.mod(rows, 2) * (lattice.shift * lattice.along_mm)
    y = trial.across_mm + rows * lattice.across_mm
    return rows, index, np.stack([x + index * lattice.along_mm, y], axis=1)


def counted_at(
    turned: Floats, lattice: Lattice, turn_deg: float, across_mm: float, along_mm: float
) -> Trial:
    """Count one shift across and along."""
    _, _, times = _runs(turned, lattice, across_mm, along_mm)
    return Trial(int(times.sum()), turn_deg, across_mm, along_mm)


def _runs(
    turned: Floats, lattice: Lattice, across_mm: float, along_mm: float
) -> tuple[Ints, Ints, Ints]:
    """Return of every stretch of a row in the region its row, first number and how many."""
    row, a, b = _intervals(turned, lattice.across_mm, across_mm)
    p = lattice.along_mm
    origin = along_mm + np.mod(row, 2) * (lattice.shift * p)
    first = np.ceil((a - origin) / p - ROW_EPS).astype(np.int64)
    last = np.floor((b - origin) / p + ROW_EPS).astype(np.int64)
    # Where a row touches a corner, a stretch begins where the one before it ends.
    again = (row[1:] == row[:-1]) & (first[1:] <= last[:-1])
    first[1:] = np.where(again, last[:-1] + 1, first[1:])
    return row, first, np.maximum(last - first + 1, 0)


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


def edges_of(region: BaseGeometry) -> Floats:
    """Return the edges (x0, y0, x1, y1) of every ring of a region."""
    rings = shapely.get_rings(shapely.get_parts(region))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return np.concatenate([xy[:-1][same], xy[1:][same]], axis=1)


def turned_by(edges: Floats, turn_deg: float) -> Floats:
    """Return the edges in the frame of a turned lattice, each pointing to larger y."""
    turned = Affine.turn(-turn_deg)(edges.reshape(-1, 2)).reshape(-1, 4)
    down = turned[:, 1] > turned[:, 3]
    turned[down] = turned[down][:, [2, 3, 0, 1]]
    return turned
