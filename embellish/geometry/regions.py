"""From loops and a fill rule to the region they paint.

The loops are cut where they cross, the faces between them are found, and each face is kept or
left by the winding number of a point in it: right for self-crossing, touching and doubled loops,
where repairing the rings alone is not a fill rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from embellish.geometry.arrays import Bools, Floats, Ints

Region = Polygon | MultiPolygon

_SNAP = 1e-9
"""Grid of the second try, as a share of the loops' extent: safely noded where floats were not."""

_BALANCE = 1e-9
"""How far the faces' area may be from the loops' before the cutting is taken as failed."""

EMPTY = Polygon()


def shoelace_area(loop: Floats) -> float:
    """Return the signed area of a loop (n, 2), positive clockwise as seen (y down)."""
    x, y = (loop - loop[0]).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0


def winding_numbers(points: Floats, loops: Sequence[Floats]) -> Ints:
    """Return how often the loops go round each point, clockwise as seen counted positive.

    Parameters
    ----------
    points : array of shape (p, 2)
        Points off the loops.
    loops
        Each of shape (n, 2); the last vertex is joined to the first.

    Returns
    -------
    array of shape (p,)
    """
    start = np.concatenate(loops)
    end = np.concatenate([np.roll(loop, -1, axis=0) for loop in loops])
    uneven = start[:, 1] != end[:, 1]
    start, end = start[uneven], end[uneven]
    low, high = np.minimum(start, end), np.maximum(start, end)
    # Only edges that the ray from the point toward +x may meet are looked at.
    tree = shapely.STRtree(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    far = max(float(high[:, 0].max(initial=0.0)), float(points[:, 0].max(initial=0.0))) + 1.0
    rays = shapely.linestrings(
        np.stack([points, np.column_stack([np.full(len(points), far), points[:, 1]])], axis=1)
    )
    which, edge = tree.query(rays)
    (x, y), a, b = points[which].T, start[edge], end[edge]
    down = (a[:, 1] <= y) & (b[:, 1] > y)
    up = (b[:, 1] <= y) & (a[:, 1] > y)
    # Right of the point: the edge is met by the ray where this has the sign of its direction.
    side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
    turns = (down & (side > 0.0)).astype(np.int64) - (up & (side < 0.0)).astype(np.int64)
    return np.bincount(which, weights=turns, minlength=len(points)).astype(np.int64)


def filled(loops: Sequence[Floats], rule: Literal["nonzero", "evenodd"] = "nonzero") -> Region:
    """Return the region that loops paint by a fill rule.

    Parameters
    ----------
    loops
        Each of shape (n, 2), closed by a straight line where its ends differ; they may cross,
        touch, double back and repeat.
    rule
        ``nonzero`` or ``evenodd``, as in SVG.

    Returns
    -------
    Polygon or MultiPolygon
        Valid, maybe empty; exteriors clockwise as seen.
    """
    tidy = tidied(loops)
    if not tidy:
        return EMPTY
    if len(tidy) == 1:
        alone = Polygon(tidy[0])
        if alone.is_valid:
            return _oriented(alone)
    faces, winding = _faces(tidy)
    inside: Bools = winding != 0 if rule == "nonzero" else winding % 2 == 1
    return _oriented(areal(shapely.union_all(faces[inside])))


def tidied(loops: Sequence[Floats]) -> list[Floats]:
    """Return the loops of at least three vertices, without repeated neighbours."""
    return [loop for loop in map(_tidy, loops) if len(loop) >= 3]


def _tidy(loop: Floats) -> Floats:
    """Drop vertices equal to the one before, and the last where it repeats the first."""
    differs = np.any(loop != np.roll(loop, 1, axis=0), axis=1)
    return loop[differs]


def crossing_bound(loops: Sequence[Floats], sample: int = 256) -> float:
    """Return about how many pairs of edges might cross, from an even sample of the edges.

    A cheap look before the cutting: what is drawn to be filled meets itself a few times an edge,
    what is made to fill the memory a thousand times.
    """
    tidy = tidied(loops)
    if not tidy:
        return 0.0
    start = np.concatenate(tidy)
    end = np.concatenate([np.roll(loop, -1, axis=0) for loop in tidy])
    low, high = np.minimum(start, end), np.maximum(start, end)
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    step = max(1, len(boxes) // sample)
    seen = boxes[::step]
    met = int(shapely.STRtree(boxes).query(seen).shape[1]) - 3 * len(seen)
    return max(0.0, met / len(seen) * len(boxes) / 2.0)


def _faces(loops: Sequence[Floats]) -> tuple[np.ndarray, Ints]:
    """Cut the loops where they cross; return the faces and their winding numbers.

    The faces' areas times their winding numbers add up to the loops' signed areas: where they do
    not, a crossing was missed, and the cutting is done again on a fine grid.
    """
    lines = shapely.linestrings(
        np.concatenate([np.concatenate([loop, loop[:1]]) for loop in loops]),
        indices=np.repeat(np.arange(len(loops)), [len(loop) + 1 for loop in loops]),
    )
    signed = sum(shoelace_area(loop) for loop in loops)
    every = np.concatenate(loops)
    extent = float(np.ptp(every, axis=0).max())
    for grid in (0.0, extent * _SNAP):
        noded = shapely.union_all(lines, grid_size=grid or None)
        faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
        if not len(faces):
            return faces, np.zeros(0, dtype=np.int64)
        inner = shapely.get_coordinates(shapely.point_on_surface(faces))
        winding = winding_numbers(inner, loops)
        balance = float(np.dot(shapely.area(faces), winding)) - signed
        if abs(balance) <= _BALANCE * extent * extent * len(loops):
            break
    return faces, winding


def areal(geometry: shapely.Geometry) -> Region:
    """Return the polygons of a geometry; points and lines in it are dropped."""
    if isinstance(geometry, Polygon | MultiPolygon):
        return geometry
    parts = shapely.get_parts(shapely.get_parts(geometry))
    polygons = [part for part in parts if isinstance(part, Polygon) and not part.is_empty]
    return MultiPolygon(polygons) if polygons else EMPTY


def _oriented(region: Region) -> Region:
    """Turn exteriors clockwise as seen (y down): counter-clockwise in shapely's y-up words."""
    return areal(shapely.orient_polygons(region, exterior_cw=False))
