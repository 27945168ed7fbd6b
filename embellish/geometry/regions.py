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

from embellish.arrays import Bools, Floats, Ints

Region = Polygon | MultiPolygon

_SNAP = 1e-9
"""Grid of the second try, as a share of the loops' extent: safely noded where floats were not."""

_BALANCE = 1e-9
"""How far the faces' area may be from the loops' before the cutting is taken as failed."""

_PAIRS_AT_ONCE = 500_000

_FEW_CROSSINGS = 100_000.0

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
    way = np.where(start[:, 1] < end[:, 1], 1.0, -1.0)
    across, down = (end - start).T
    # An edge is met by the ray toward +x from the points beside it: low <= y < high.
    order = np.argsort(points[:, 1], kind="stable")
    xs, ys = points[order].T
    first = np.searchsorted(ys, np.minimum(start[:, 1], end[:, 1]))
    count = np.searchsorted(ys, np.maximum(start[:, 1], end[:, 1])) - first
    upto = np.concatenate([[0], np.cumsum(count)])
    total = np.zeros(len(points))
    begin = 0
    while begin < len(start):
        stop = int(np.searchsorted(upto, upto[begin] + _PAIRS_AT_ONCE, side="right")) - 1
        some = slice(begin, max(begin + 1, stop))
        # Edge by edge, the points beside it, one flat list.
        edge, reps = np.arange(some.start, some.stop), count[some]
        which = np.arange(reps.sum()) + np.repeat(first[some] - upto[some.start : some.stop], reps)
        which += upto[begin]
        edge = np.repeat(edge, reps)
        side = (
            across[edge] * (ys[which] - start[edge, 1]) - (xs[which] - start[edge, 0]) * down[edge]
        )
        turn = way[edge]
        total += np.bincount(which, weights=turn * (side * turn > 0.0), minlength=len(points))
        begin = some.stop
    winding = np.zeros(len(points), dtype=np.int64)
    winding[order] = np.rint(total).astype(np.int64)
    return winding


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
    # Faces share whole edges and vertices, which is what a coverage is: joined without new cuts.
    try:
        joined = shapely.coverage_union_all(faces[inside])
    except shapely.errors.GEOSException:
        # Loops that lie upon each other but for rounding leave slivers that lap.
        joined = shapely.union_all(faces[inside], grid_size=_SNAP * _extent(tidy))
    return _oriented(areal(joined))


def _extent(loops: Sequence[Floats]) -> float:
    return float(np.ptp(np.concatenate(loops), axis=0).max())


def tidied(loops: Sequence[Floats]) -> list[Floats]:
    """Return the loops of at least three vertices, without repeated neighbours."""
    return [loop for loop in map(_tidy, loops) if len(loop) >= 3]


def _tidy(loop: Floats) -> Floats:
    """Drop vertices equal to the one before, and the last where it repeats the first."""
    differs = np.any(loop != np.roll(loop, 1, axis=0), axis=1)
    return loop[differs]


def crossing_bound(loops: Sequence[Floats]) -> float:
    """Return about how often edges cross, from an even sample of the edges.

    A cheap look before the cutting: what is drawn to be filled crosses itself a few times an
    edge, what is made to fill the memory a thousand times. Edges whose boxes meet cost time even
    where they do not cross, and count a fiftieth.
    """
    tidy = tidied(loops)
    if not tidy:
        return 0.0
    start = np.concatenate(tidy)
    end = np.concatenate([np.roll(loop, -1, axis=0) for loop in tidy])
    edges = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
    tree = shapely.STRtree(edges)

    def met(sample: int, predicate: Literal["intersects"] | None) -> float:
        seen = edges[:: max(1, len(edges) // sample)]
        pairs = int(tree.query(seen, predicate=predicate).shape[1])
        # Each edge meets itself and its two neighbours.
        return float(max(0.0, pairs / len(seen) - 3.0) * len(edges) / 2.0)

    near = met(256, None)
    return near if near < _FEW_CROSSINGS else max(met(64, "intersects"), near / 50.0)


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
    extent = _extent(loops)
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
