"""The areas that many shapes fill: exact and all at once where their loops do not cross."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints
from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import LINE_TOLERANCE_MM, MAX_POINTS, REGION_TOLERANCE_MM, region_of
from embellish.errors import ArtworkError
from embellish.geometry.curves import flat_counts, flatten, segment_areas

_FLAT_SHARE: Final = 2e-4
"""How far lines may leave their curves where it is asked whether they cross, over the extent."""

_CUT_SHARE: Final = 2e-5
"""How far lines may leave their curves where they are cut, over the smallest loop's extent."""

_MOST_LOOPS: Final = 64
"""Shapes of more loops are cut: every two loops of a shape are looked at."""


def filled_areas(shapes: Sequence[Shape]) -> list[float | None]:
    """Return the area each shape fills by its fill rule, None where it can be no region.

    Loops that cross neither themselves nor each other have the areas of their curves, exactly,
    and only which lies in which is asked. Other shapes are cut where their lines cross, which
    takes a hundred times as long.
    """
    loops = [_loops(shape) for shape in shapes]
    few = [index for index, held in enumerate(loops) if 0 < len(held) <= _MOST_LOOPS]
    plain, areas = _plain_areas([shapes[k] for k in few], [loops[k] for k in few])
    known = dict(zip(few, zip(plain.tolist(), areas.tolist(), strict=True), strict=True))
    found: list[float | None] = []
    for index, shape in enumerate(shapes):
        is_plain, area = known.get(index, (False, 0.0))
        found.append(area if is_plain and area > 0.0 else _cut_area(shape))
    return found


def _loops(shape: Shape) -> list[Path]:
    return [path for path in shape.paths if path.closed or shape.fill is not None]


def _cut_area(shape: Shape) -> float | None:
    # By the smallest loop: the large ones may cancel, and leave what is small.
    reach = min(
        (float(np.ptp(path.segments, axis=(0, 1)).max()) for path in _loops(shape)), default=0.0
    )
    tolerance = min(max(_CUT_SHARE * reach, LINE_TOLERANCE_MM), REGION_TOLERANCE_MM)
    try:
        return float(region_of(shape, tolerance).area)
    except ArtworkError:
        return None


def _plain_areas(shapes: Sequence[Shape], loops: Sequence[Sequence[Path]]) -> tuple[Bools, Floats]:
    """Return for each shape whether its loops cross nowhere, and the area it then fills."""
    if not shapes:
        return np.zeros(0, dtype=np.bool_), np.zeros(0)
    of_shape = np.repeat(np.arange(len(shapes)), [len(held) for held in loops])
    signed, rings = _rings([path.segments for held in loops for path in held])
    plain = np.ones(len(shapes), dtype=np.bool_)
    np.logical_and.at(plain, of_shape, shapely.is_simple(rings) & ~shapely.is_missing(rings))
    one, other = _pairs(of_shape, plain)
    # Two loops of a shape may share no point; which holds which is then told by any point.
    apart = ~shapely.intersects(rings[one], rings[other])
    np.logical_and.at(plain, of_shape[one], apart)
    held = np.zeros(len(one), dtype=np.bool_)
    held[apart] = shapely.contains(
        shapely.polygons(rings[other[apart]]), shapely.get_point(rings[one[apart]], 0)
    )
    turn = np.sign(signed).astype(np.int64)
    outside = np.bincount(one, weights=held * turn[other], minlength=len(rings)).astype(np.int64)
    inside = outside + turn
    evenodd = np.array([shape.fill_rule == "evenodd" for shape in shapes])[of_shape]
    change = _fills(inside, evenodd).astype(np.int64) - _fills(outside, evenodd)
    areas = np.zeros(len(shapes))
    np.add.at(areas, of_shape, np.abs(signed) * change)
    return plain, areas


def _fills(winding: Ints, evenodd: Bools) -> Bools:
    fills: Bools = np.where(evenodd, winding % 2 == 1, winding != 0)
    return fills


def _pairs(of_shape: Ints, plain: Bools) -> tuple[Ints, Ints]:
    """Return every two loops, in both orders, of the same shape; each of shape (p,)."""
    counts = np.bincount(of_shape, minlength=len(plain))
    first = np.cumsum(counts) - counts
    # Each loop with every loop of its shape, as one flat list, less each with itself.
    mine = np.flatnonzero(plain[of_shape] & (counts[of_shape] > 1))
    reps = counts[of_shape[mine]]
    one = np.repeat(mine, reps)
    step = np.arange(len(one)) - np.repeat(np.cumsum(reps) - reps, reps)
    other = first[of_shape[one]] + step
    return one[one != other], other[one != other]


def _rings(chains: Sequence[Floats]) -> tuple[Floats, np.ndarray]:
    """Return the signed areas of chains (n, 4, 2), closed by straight lines, and rings of them.

    The rings are flat, for crossings alone; None where a chain has no three points.
    """
    counts = np.array([len(chain) for chain in chains])
    first = np.cumsum(counts) - counts
    of = np.repeat(np.arange(len(chains)), counts)
    every = np.concatenate(chains)
    # About each chain's own start: far from the origin areas would lose their digits.
    about = every - every[first, 0][of][:, None, :]
    signed = np.add.reduceat(segment_areas(about), first)
    reach = np.maximum.reduceat(np.abs(about).max(axis=(1, 2)), first)
    tolerance = np.maximum(_FLAT_SHARE * reach, 1e-12)[of]
    rings = np.full(len(chains), None, dtype=object)
    if int(flat_counts(every, tolerance).sum()) > MAX_POINTS:
        return signed, rings
    flat = flatten(every, tolerance)
    # Each chain's start goes before the points that its segments end in.
    points, owner = flat.points[1:], of[flat.segment[1:]]
    at = np.searchsorted(owner, np.arange(len(chains)))
    points = np.insert(points, at, every[first, 0], axis=0)
    owner = np.insert(owner, at, np.arange(len(chains)))
    again = np.zeros(len(points), dtype=np.bool_)
    again[1:] = (owner[1:] == owner[:-1]) & (points[1:] == points[:-1]).all(axis=1)
    points, owner = points[~again], owner[~again]
    enough = np.bincount(owner, minlength=len(chains)) >= 4
    if enough.any():
        kept, number = enough[owner], np.cumsum(enough) - 1
        rings[enough] = shapely.linearrings(points[kept], indices=number[owner[kept]])
    return signed, rings
