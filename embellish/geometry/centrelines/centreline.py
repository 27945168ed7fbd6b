"""Centrelines: the line down the middle of a stroke, and how wide the stroke is there.

The corners of the Voronoi cells of points set densely along an outline lie on its medial axis. Of
the cells' edges inside those count whose two generating points are seen from them at a wide angle;
the others only lead to every small bend of the outline. Branches that are no longer than a corner
makes them are pruned, and ends are carried on straight to the outline.

Blum 1967, "A transformation for extracting new descriptors of shape"; Attali & Montanvert 1997,
"Computing and simplifying 2D and 3D continuous skeletons"; Chazal & Lieutier 2005, "The
lambda-medial axis".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.centrelines.graph import joints_of, pruned, traced

_ANGLE_DEG: Final = 60.0
_PRUNE: Final = 1.5
"""Branches up to this many radii long are a corner's: a right angle's is 1.41, one of 60 deg 2."""
_MOST_POINTS: Final = 200_000
_MERGE_MM: Final = 1e-7
_FEW: Final = 800
"""Measuring to so many segments one by one is quicker than looking up the nearest."""
_EXTENSION: Final = 12
"""Points along the straight end that carries a line on to the outline."""


@dataclass(frozen=True, eq=False)
class Branch:
    """One stretch of a centreline, between ends or joints.

    Parameters
    ----------
    xy : array of shape (m, 2)
        Its points in order; where it is closed the last repeats the first. A shape as broad as
        long, such as a disc, is a single point.
    radius_mm : array of shape (m,)
        Distance of each to the outline: half the local width.
    joints : (int, int)
        Number of the joint at its start and end, -1 where it just ends.
    closed
        Whether it runs round to its start.
    tails_mm
        Length of the straight ends by which start and end were carried on to the outline: there
        the radius shrinks although the stroke does not.
    """

    xy: Floats
    radius_mm: Floats
    joints: tuple[int, int]
    closed: bool
    tails_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def length_mm(self) -> float:
        """Its length."""
        step = np.diff(self.xy, axis=0)
        return float(np.hypot(step[:, 0], step[:, 1]).sum())


@dataclass(frozen=True, eq=False)
class Centrelines:
    """All branches of a region, and the joints where three or more meet.

    Parameters
    ----------
    branches
        Longest first.
    joints_xy : array of shape (k, 2)
        Places of the joints.
    joints_radius_mm : array of shape (k,)
        Distance of each to the outline.
    """

    branches: tuple[Branch, ...]
    joints_xy: Floats
    joints_radius_mm: Floats


def centrelines(
    region: BaseGeometry,
    step_mm: float,
    *,
    angle_deg: float = _ANGLE_DEG,
    prune: float = _PRUNE,
    extend: bool = True,
) -> Centrelines:
    """Return the centrelines of a region.

    Parameters
    ----------
    region
        Polygon or multipolygon.
    step_mm
        Distance of the points set along its outline; the radius is wrong by about an eighth of
        its square over the radius.
    angle_deg
        Least angle at which the nearest two points of the outline are seen from the line.
    prune
        Branches shorter than so many radii of the joint they leave are dropped.
    extend
        Whether ends are carried on straight to the outline.

    Returns
    -------
    Centrelines
    """
    if region.is_empty:
        return Centrelines((), np.zeros((0, 2)), np.zeros(0))
    step = max(step_mm, float(region.length) / _MOST_POINTS)
    shapely.prepare(region)
    xy, edges = _axis(region, step, math.cos(math.radians(angle_deg)))
    edge = _Edge.of(region)
    radius = edge.distance(xy)
    chains = pruned(traced(len(xy), edges), xy, radius, prune)
    joints = joints_of(chains)
    number = {node: index for index, node in enumerate(joints)}
    branches = []
    for chain in chains:
        first, last = (number.get(node, -1) for node in chain.ends)
        ends = (-1, -1) if chain.closed else (first, last)
        branch = Branch(xy[chain.nodes], radius[chain.nodes], ends, chain.closed)
        if extend and not chain.closed:
            branch = _carried_on(branch, region, edge)
        branches.append(branch)
    spots = _alone(region, branches)
    branches.extend(
        Branch(spot[None, :], edge.distance(spot[None, :]), (-1, -1), closed=False)
        for spot in spots
    )
    branches.sort(key=lambda branch: (-round(branch.length_mm, 6), *branch.xy[0].tolist()))
    return Centrelines(tuple(branches), xy[joints], radius[joints])


@dataclass(frozen=True, eq=False)
class _Edge:
    """A region's outline; where it has many straight segments, those in a tree."""

    outline: BaseGeometry
    tree: shapely.STRtree | None

    @classmethod
    def of(cls, region: BaseGeometry) -> _Edge:
        if shapely.get_num_coordinates(region) <= _FEW:
            return cls(region.boundary, None)
        rings = shapely.get_rings(shapely.get_parts(region))
        points, ring = shapely.get_coordinates(rings, return_index=True)
        joined = ring[1:] == ring[:-1]
        pairs = np.stack([points[:-1][joined], points[1:][joined]], axis=1)
        tree = shapely.STRtree(np.asarray(shapely.linestrings(pairs)))
        return cls(region.boundary, tree)

    def distance(self, xy: Floats) -> Floats:
        if not len(xy):
            return np.zeros(0)
        points = shapely.points(xy)
        if self.tree is None:
            return np.asarray(shapely.distance(self.outline, points))
        at, away = self.tree.query_nearest(points, return_distance=True, all_matches=False)
        out = np.zeros(len(xy))
        out[at[0]] = away
        return out


def edge_distance(region: BaseGeometry, xy: Floats) -> Floats:
    """Return the distance of points of shape (n, 2) to a region's outline, negative outside."""
    away = _Edge.of(region).distance(xy)
    return np.where(shapely.contains_xy(region, xy[:, 0], xy[:, 1]), away, -away)


def _axis(region: BaseGeometry, step: float, cosine: float) -> tuple[Floats, Ints]:
    """Return the points of the medial axis and its edges as pairs of their indices.

    The corners of Voronoi cells are the centres of the circles about Delaunay triangles; those of
    two triangles that share a side are joined, and the side's ends generate that edge.
    """
    rings = shapely.get_rings(shapely.get_parts(region))
    every = shapely.get_coordinates(shapely.segmentize(rings, step))
    sites = _as_points(np.unique(_as_numbers(every)))
    middle = sites.mean(axis=0)
    mesh = Delaunay(sites - middle)
    xy = _circle_centres((sites - middle)[mesh.simplices]) + middle
    inside = shapely.contains_xy(region, xy[:, 0], xy[:, 1])
    # The k-th neighbour lies across the side opposite the k-th corner.
    one, corner = np.nonzero(
        (mesh.neighbors > np.arange(len(xy))[:, None]) & inside[:, None] & inside[mesh.neighbors]
    )
    other = mesh.neighbors[one, corner]
    at = (xy[one] + xy[other]) / 2.0
    p = sites[mesh.simplices[one, (corner + 1) % 3]] - at
    q = sites[mesh.simplices[one, (corner + 2) % 3]] - at
    wide = (p * q).sum(axis=1) <= cosine * np.hypot(*p.T) * np.hypot(*q.T)
    edges = np.stack([one, other], axis=1)[wide].astype(np.int64)
    return _merged(xy, edges)


def _circle_centres(corners: Floats) -> Floats:
    """Return the centres of the circles about triangles of shape (n, 3, 2)."""
    a = corners[:, 0]
    b, c = corners[:, 1] - a, corners[:, 2] - a
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        twice = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
        bb, cc = (b * b).sum(axis=1), (c * c).sum(axis=1)
        x = (c[:, 1] * bb - b[:, 1] * cc) / twice
        y = (b[:, 0] * cc - c[:, 0] * bb) / twice
    # Flat triangles along a straight outline have no centre: far outside.
    centre = a + np.stack([x, y], axis=1)
    return np.where(np.isfinite(centre), centre, 1e12)


def _merged(xy: Floats, edges: Ints) -> tuple[Floats, Ints]:
    """Return points and edges with equal points made one, unused ones dropped."""
    used, edges = np.unique(edges, return_inverse=True)
    edges = edges.reshape(-1, 2)
    if not len(used):
        return np.zeros((0, 2)), edges
    cell = _as_numbers(np.round((xy[used] - xy[used[0]]) / _MERGE_MM))
    _, first, same = np.unique(cell, return_index=True, return_inverse=True)
    edges = same[edges]
    edges = edges[edges[:, 0] != edges[:, 1]]
    pairs = np.unique(edges.min(axis=1) * len(first) + edges.max(axis=1))
    return xy[used][first], np.stack(np.divmod(pairs, len(first)), axis=1)


def _as_numbers(points: Floats) -> NDArray[np.complex128]:
    """Return points (n, 2) as complex numbers, which sort alike and much faster than rows."""
    return np.ascontiguousarray(points).view(np.complex128)[:, 0]


def _as_points(numbers: NDArray[np.complex128]) -> Floats:
    return numbers[:, None].view(np.float64)


def _alone(region: BaseGeometry, branches: list[Branch]) -> list[Floats]:
    """Return the point furthest from the outline for each part that has no branch."""
    out = []
    drawn = [shapely.linestrings(branch.xy) for branch in branches if len(branch.xy) > 1]
    for part in shapely.get_parts(region):
        if not any(shapely.intersects(part, line) for line in drawn):
            size = float(np.sqrt(part.area))
            circle = shapely.maximum_inscribed_circle(part, tolerance=1e-4 * size)
            out.append(shapely.get_coordinates(circle)[0])
    return out


def _carried_on(branch: Branch, region: BaseGeometry, edge: _Edge) -> Branch:
    """Return a branch with its free ends carried on straight to the outline."""
    xy, radius, tails = branch.xy, branch.radius_mm, [0.0, 0.0]
    for end in (0, 1):
        if branch.joints[end] < 0:
            backward = slice(None, None, -1 if end == 0 else 1)
            line = xy[backward]
            more = _straight_on(line, float(radius[backward][-1]), region)
            if len(more):
                tails[end] = float(np.hypot(*(more[-1] - line[-1])))
                wide = edge.distance(more)
                xy = np.concatenate([line, more])[backward]
                radius = np.concatenate([radius[backward], wide])[backward]
    return Branch(xy, radius, branch.joints, branch.closed, (tails[0], tails[1]))


def _straight_on(line: Floats, radius: float, region: BaseGeometry) -> Floats:
    """Return points from the end of a line straight on to the outline, without its end."""
    away = np.hypot(*(line - line[-1]).T)
    far = np.flatnonzero(away >= radius)
    back = line[far[-1]] if len(far) else line[0]
    way = line[-1] - back
    length = float(np.hypot(way[0], way[1]))
    if length < 1e-9 or radius < 1e-6:
        return np.zeros((0, 2))
    ray = shapely.linestrings([line[-1], line[-1] + way / length * 4.0 * radius])
    inner = shapely.get_parts(shapely.intersection(region, ray))
    if not len(inner) or inner[0].geom_type != "LineString":
        return np.zeros((0, 2))
    reach = float(np.hypot(*(shapely.get_coordinates(inner[0])[-1] - line[-1])))
    # On a straight end the outline is one radius off; much more is another part of the shape.
    reach = min(reach, 1.5 * radius)
    share = np.arange(1, _EXTENSION + 1) / _EXTENSION
    more: Floats = line[-1] + share[:, None] * (way / length * reach)
    return more


def corners(xy: Floats, window_mm: float, least_deg: float, *, closed: bool) -> Bools:
    """Tell at which points of an evenly sampled line it turns by more than an angle.

    Parameters
    ----------
    xy : array of shape (m, 2)
        Points at even steps.
    window_mm
        How far before and after a point its two directions are taken.
    least_deg
        The angle.
    closed
        Whether the last point repeats the first.

    Returns
    -------
    bool array of shape (m,)
        The sharpest point of each bend.
    """
    m = len(xy)
    out = np.zeros(m, dtype=np.bool_)
    if m < 5:
        return out
    step = float(np.hypot(*(xy[1] - xy[0])))
    k = max(1, round(window_mm / max(step, 1e-12)))
    at = np.arange(m - 1 if closed else m)
    if closed:
        before, after = xy[(at - k) % (m - 1)], xy[(at + k) % (m - 1)]
    else:
        before, after = xy[np.maximum(at - k, 0)], xy[np.minimum(at + k, m - 1)]
    p, q = xy[at] - before, after - xy[at]
    cosine = (p * q).sum(axis=1) / np.maximum(np.hypot(*p.T) * np.hypot(*q.T), 1e-300)
    if not closed:
        cosine[: min(k, m)] = 1.0
        cosine[max(m - k, 0) :] = 1.0
    sharp = np.round(cosine, 6)
    left = np.flatnonzero(sharp < math.cos(math.radians(least_deg)))
    for index in left[np.argsort(sharp[left], kind="stable")].tolist():
        near = np.abs(np.flatnonzero(out) - index)
        near = np.minimum(near, m - 1 - near) if closed else near
        if not len(near) or near.min() > 2 * k:
            out[index] = True
    return out
