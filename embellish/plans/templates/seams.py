"""Seams: where a template may be cut in two without cutting a hole.

A straight seam is taken where a straight corridor is free. Else the seam follows the edges of
the Voronoi diagram of the holes (of points set close along each hole), as the shortest path in
it from edge to edge, wide corridors being cheaper: an edge of the diagram keeps as far from the
hole on its left as from that on its right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import Voronoi
from shapely import LineString, Polygon, STRtree

from embellish.arrays import Bools, Floats, Ints
from embellish.plans.templates.holes import Holes

_STEP_SHARE: Final = 0.7
"""Points along holes stand closer than this share of the wall, so that no seam slips between:
a place on a hole is nearer to one of its own points than to another hole."""
_STEADY_SHARE: Final = 0.85
"""A smoothed seam keeps at least this share of the free distance of the seam it smooths."""
_STRAIGHT_WORTH_MM: Final = 4.0
"""Straight corridors wider than this are equally good: then the one nearest the target wins."""
_OUT_MM: Final = 4.0
"""How far seams reach over the edges of what they cut."""
_STEP_OUT_MM: Final = 1.0


@dataclass(frozen=True, eq=False)
class Obstacles:
    """What a seam keeps clear of: holes, registration holes among them, in one frame.

    Parameters
    ----------
    holes
        All of them.
    boxes : array of shape (n, 4)
        Their bounds.
    """

    holes: Holes
    boxes: Floats

    def turned(self) -> Obstacles:
        """Return the same with x and y exchanged; only boxes and rings are turned."""
        return _Turned(self.holes, self.boxes[:, [1, 0, 3, 2]])

    def ring(self, index: int, step_mm: float) -> Floats:
        """Return points along one hole."""
        return self.holes.ring(index, step_mm)


class _Turned(Obstacles):
    def ring(self, index: int, step_mm: float) -> Floats:
        return self.holes.ring(index, step_mm)[:, ::-1]


@dataclass(frozen=True, eq=False)
class Seam:
    """A seam from edge to edge.

    Parameters
    ----------
    line : array of shape (k, 2)
        From above the region to below it.
    free_mm
        Its least distance from a hole; inf where there is none near.
    """

    line: Floats
    free_mm: float


def seam_down(
    region: Polygon, members: Ints, obstacles: Obstacles, band: tuple[float, float], wall_mm: float
) -> Seam | None:
    """Return the best seam from top to bottom of a region, or None where there is no way.

    Parameters
    ----------
    region
        What is cut in two.
    members : array of shape (n,)
        The obstacles in it.
    obstacles
        All obstacles.
    band
        Least and greatest x of the seam; its middle is aimed at.
    wall_mm
        Wall between holes: half of it should be left at either side.
    """
    straight = _straight(region, obstacles.boxes[members], band, wall_mm)
    if straight is not None:
        return straight
    x0, x1 = band
    boxes = obstacles.boxes[members]
    near = members[(boxes[:, 2] > x0 - wall_mm) & (boxes[:, 0] < x1 + wall_mm)]
    rings = [obstacles.ring(index, wall_mm * _STEP_SHARE) for index in near.tolist()]
    path = _between(region, rings, obstacles.boxes[near], band, wall_mm)
    return None if path is None else _smoothed(path, rings, wall_mm)


def _straight(
    region: Polygon, boxes: Floats, band: tuple[float, float], wall_mm: float
) -> Seam | None:
    """Return a vertical line where the holes' bounds leave a corridor of at least a wall."""
    x0, x1 = band
    near = boxes[(boxes[:, 2] > x0 - _STRAIGHT_WORTH_MM) & (boxes[:, 0] < x1 + _STRAIGHT_WORTH_MM)]
    starts = np.concatenate([[x0 - _STRAIGHT_WORTH_MM], np.sort(near[:, 2])])
    # The corridor after the furthest end so far, up to the next start beyond it.
    lows = np.maximum.accumulate(starts)
    order = np.sort(near[:, 0])
    following = np.searchsorted(order, lows, side="left")
    highs = np.append(order, x1 + _STRAIGHT_WORTH_MM)[following]
    free = np.array([not ((near[:, 0] < low) & (near[:, 2] > low)).any() for low in lows])
    low, high = lows[free], highs[free]
    middle = np.clip((low + high) / 2.0, x0, x1)
    half = np.minimum(middle - low, high - middle)
    good = half >= wall_mm / 2.0
    if not good.any():
        return None
    worth = np.round(np.minimum(half[good], _STRAIGHT_WORTH_MM / 2.0), 3)
    away = np.round(np.abs(middle[good] - (x0 + x1) / 2.0), 3)
    best = int(np.lexsort((away, -worth))[0])
    x = round(float(middle[good][best]), 6)
    _, top, _, bottom = region.bounds
    line = np.array([[x, top - _OUT_MM], [x, bottom + _OUT_MM]])
    return Seam(line, float(half[good][best]) if len(near) else float("inf"))


def _between(
    region: Polygon,
    rings: list[Floats],
    boxes: Floats,
    band: tuple[float, float],
    wall_mm: float,
) -> Floats | None:
    """Return the cheapest path down the Voronoi edges between different holes."""
    _, top, _, bottom = region.bounds
    # Sites beyond both edges end the diagram's edges between the outermost holes there.
    beyond = np.arange(band[0] - _STEP_OUT_MM, band[1] + _STEP_OUT_MM, _STEP_OUT_MM)
    above = np.column_stack([beyond, np.full(len(beyond), top - _OUT_MM)])
    below = np.column_stack([beyond, np.full(len(beyond), bottom + _OUT_MM)])
    sites = np.concatenate([*rings, above, below])
    owner = np.repeat(np.arange(len(rings) + 1), [*map(len, rings), 2 * len(beyond)])
    diagram = Voronoi(sites)
    ridge, ends = np.asarray(diagram.ridge_points), np.asarray(diagram.ridge_vertices)
    keep = (owner[ridge[:, 0]] != owner[ridge[:, 1]]) & (ends >= 0).all(axis=1)
    keep &= (owner[ridge] < len(rings)).all(axis=1)
    ridge, ends = ridge[keep], ends[keep]
    corners = np.asarray(diagram.vertices)
    usable = (corners[:, 0] > band[0]) & (corners[:, 0] < band[1])
    usable &= (corners[:, 1] > top - _OUT_MM) & (corners[:, 1] < bottom + _OUT_MM)
    keep = usable[ends].all(axis=1)
    ridge, ends = ridge[keep], ends[keep]
    if not len(ends):
        return None
    a, b = corners[ends[:, 0]], corners[ends[:, 1]]
    # Half the distance of the two sites is how near the edge comes to them at its narrowest,
    # or more where it does not cross between them.
    apart = np.hypot(*(sites[ridge[:, 0]] - sites[ridge[:, 1]]).T) / 2.0
    used, index = np.unique(ends, return_inverse=True)
    index = index.reshape(ends.shape)
    cost = np.hypot(*(a - b).T) * _dearness(apart, wall_mm)
    places = corners[used]
    up, down = _free_ways(places, boxes, wall_mm)
    if not up.any() or not down.any():
        return None
    count = len(used)
    source, sink = np.full(up.sum(), count), np.full(down.sum(), count + 1)
    first = np.concatenate([index[:, 0], source, np.flatnonzero(down)])
    second = np.concatenate([index[:, 1], np.flatnonzero(up), sink])
    costs = np.concatenate([cost, places[up, 1] - top, bottom - places[down, 1]])
    graph = coo_array((np.maximum(costs, 1e-9), (first, second)), shape=(count + 2, count + 2))
    length, before = dijkstra(
        graph.tocsr(), directed=False, indices=[count], return_predecessors=True
    )
    length, before = length[0], before[0]
    if not np.isfinite(length[count + 1]):
        return None
    way: list[int] = []
    node = int(before[count + 1])
    while node != count:
        way.append(node)
        node = int(before[node])
    path = places[way[::-1]]
    head = np.array([[path[0, 0], top - _OUT_MM]])
    return np.concatenate([head, path, [[path[-1, 0], bottom + _OUT_MM]]])


def _dearness(free_mm: Floats, wall_mm: float) -> Floats:
    """Return the cost of a millimetre of seam: dearer in narrow places, most where too narrow."""
    share = np.minimum(free_mm / (wall_mm / 2.0), 4.0)
    return np.where(share < 0.999, 100.0, 1.0 + 1.0 / share)


def _free_ways(places: Floats, boxes: Floats, wall_mm: float) -> tuple[Bools, Bools]:
    """Return from which places a straight way up, and down, meets no hole."""
    order = np.argsort(places[:, 0], kind="stable")
    x, y = places[order, 0], places[order, 1]
    # Above each place, where the highest hole begins; below it, where the lowest ends.
    roof, floor = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    firsts = np.searchsorted(x, boxes[:, 0] - wall_mm / 2.0, side="right")
    lasts = np.searchsorted(x, boxes[:, 2] + wall_mm / 2.0, side="left")
    for first, last, top, bottom in zip(
        firsts.tolist(), lasts.tolist(), boxes[:, 1].tolist(), boxes[:, 3].tolist(), strict=True
    ):
        np.minimum(roof[first:last], top, out=roof[first:last])
        np.maximum(floor[first:last], bottom, out=floor[first:last])
    up, down = np.zeros(len(x), dtype=np.bool_), np.zeros(len(x), dtype=np.bool_)
    up[order], down[order] = y <= roof, y >= floor
    return up, down


def _smoothed(path: Floats, rings: list[Floats], wall_mm: float) -> Seam:
    """Return the seam with few corners, as free as the path or nearly so."""
    around = STRtree([Polygon(ring) for ring in rings])
    free = _free_mm(path, around)
    bound = max(free * _STEADY_SHARE, min(free, wall_mm / 2.0 - wall_mm / 50.0))
    for tolerance in (2.0, 1.0, 0.5, 0.25, 0.12):
        line = np.asarray(LineString(path).simplify(tolerance * wall_mm).coords)
        line = np.round(line, 6)
        now = _free_mm(line, around)
        if now >= bound:
            return Seam(line, now)
    return Seam(np.round(path, 6), free)


def _free_mm(line: Floats, around: STRtree) -> float:
    if not len(around.geometries):
        return float("inf")
    _, distance = around.query_nearest(LineString(line), return_distance=True, all_matches=False)
    return float(distance[0])
