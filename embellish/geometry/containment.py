"""How far what stands on a seat keeps from the edge of a region, exact on arcs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.gaps.chains import farthest, line_distances, signed_distance
from embellish.geometry.near_edges import perhaps_near
from embellish.geometry.outlines import Outline, reach
from embellish.geometry.segments import Lines, directions

_BLOCK = 4_000
"""Outlines whose near edges are looked up together."""


class _Edge(NamedTuple):
    """A region and its edge, one straight segment a row."""

    region: BaseGeometry
    start: Floats
    end: Floats
    tree: shapely.STRtree


def edge_clearance(
    xy: Floats,
    angle_deg: Floats,
    footprint: Ints,
    footprints: tuple[Footprint, ...],
    region: BaseGeometry,
    *,
    within_mm: float = np.inf,
) -> Floats:
    """Return the free distance from what stands on each seat to the edge of a region.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres of the seats in mm.
    angle_deg : array of shape (n,)
        Turns, clockwise as seen.
    footprint : array of shape (n,)
        Index into ``footprints`` of what stands there.
    footprints
        What may stand on a seat.
    region
        A shapely Polygon or MultiPolygon.
    within_mm
        Clearances at or above this may be given as a bound at or above it, which is quicker.

    Returns
    -------
    array of shape (n,)
        The exact distance for what lies wholly inside; negative for what crosses the edge, lies
        outside, or has a hole of the region under it: minus how far it is out (exact for round
        pieces; for others a measure of it, the farthest of its vertices outside, of the edge's
        vertices under it, and of what reaches beyond the edge it crosses least).
        Minus infinity for an empty region.
    """
    clearance = np.full(len(xy), np.inf)
    if region.is_empty or not len(xy):
        return np.full(len(xy), -np.inf)
    edge = _edge(region)
    for kind in np.unique(footprint).tolist():
        seats = np.flatnonzero(footprint == kind)
        for part in footprints[kind].parts:
            some = _part_clearance(xy[seats], angle_deg[seats], part, edge, within_mm)
            clearance[seats] = np.minimum(clearance[seats], some)
    return clearance


def _edge(region: BaseGeometry) -> _Edge:
    rings = shapely.get_rings(shapely.get_parts(region))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    joined = ring[1:] == ring[:-1]
    # Steps of less than a millionth of a micrometre have no direction that lasts a turn.
    joined &= np.abs(points[1:] - points[:-1]).max(axis=1) > 1e-9
    start, end = points[:-1][joined], points[1:][joined]
    shapely.prepare(region)
    lines = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
    return _Edge(region, start, end, shapely.STRtree(lines))


def _signed(xy: Floats, edge: _Edge) -> Floats:
    """Return the distance of points to the edge, negative outside the region."""
    _, distance = edge.tree.query_nearest(
        shapely.points(xy), return_distance=True, all_matches=False
    )
    return np.where(shapely.contains_xy(edge.region, xy[:, 0], xy[:, 1]), distance, -distance)


def _part_clearance(
    xy: Floats,
    angle_deg: Floats,
    part: Part,
    edge: _Edge,
    within_mm: float,
) -> Floats:
    cos, sin = directions(angle_deg)
    centre = xy + np.stack(
        [cos * part.dx_mm - sin * part.dy_mm, sin * part.dx_mm + cos * part.dy_mm], axis=1
    )
    radius = part.outline.round_radius_mm
    holds = reach(part.outline) if radius is None else radius
    clearance = np.full(len(xy), within_mm)
    near = _near(centre, holds + within_mm, edge)
    clearance[near] = _signed(centre[near], edge) - holds
    if radius is None:
        near = near[clearance[near] < within_mm]
        turn = angle_deg[near] + part.angle_deg
        clearance[near] = _shaped(centre[near], turn, part, edge)
    return clearance


def _near(xy: Floats, distance: float, edge: _Edge) -> Ints:
    """Return which points are outside, or nearer to the edge than a distance."""
    if not np.isfinite(distance):
        return np.arange(len(xy))
    near = ~np.asarray(shapely.contains_xy(edge.region, xy[:, 0], xy[:, 1]))
    look = np.flatnonzero(~near & perhaps_near(edge.region.boundary, xy, distance))
    points = shapely.points(xy[look])
    near[look[edge.tree.query(points, predicate="dwithin", distance=distance)[0]]] = True
    return np.flatnonzero(near)


def _shaped(centre: Floats, turn_deg: Floats, part: Part, edge: _Edge) -> Floats:
    """Return the clearance of one outline standing at places."""
    outline = part.outline
    cos, sin = directions(turn_deg)
    x, y = outline.points.T
    c, s = cos[:, None], sin[:, None]
    vertices = centre[:, None, :] + np.stack([c * x - s * y, s * x + c * y], axis=-1)
    signed = _signed(vertices.reshape(-1, 2), edge).reshape(len(centre), len(x))
    # The nearest vertex bounds the clearance, so no edge farther off than this can matter.
    look = np.abs(signed).min(axis=1) + reach(outline)
    least = np.abs(signed).min(axis=1)
    out, beyond = np.maximum(-signed.min(axis=1), 0.0), np.full(len(centre), np.inf)
    crossed = np.any(signed < 0.0, axis=1)
    for first in range(0, len(centre), _BLOCK):
        some = slice(first, first + _BLOCK)
        points = shapely.points(centre[some])
        seats, segments = edge.tree.query(points, predicate="dwithin", distance=look[some])
        seats = seats + first
        lines, start = _in_frame(edge, segments, centre[seats], cos[seats], sin[seats])
        distance, crosses = line_distances(outline, lines)
        np.minimum.at(least, seats, distance)
        # A corner of the edge under the piece, such as a small hole's.
        np.maximum.at(out, seats, -signed_distance(outline, start[:, 0], start[:, 1]))
        crossed[seats[crosses]] = True
        np.minimum.at(beyond, seats[crosses], _beyond(outline, lines)[crosses])
    crossed |= out > 0.0
    out = np.maximum(out, np.where(np.isfinite(beyond), beyond, 0.0))
    clearance: Floats = np.where(crossed, -out, least) + 0.0
    return clearance


def _in_frame(
    edge: _Edge, segments: Ints, centre: Floats, cos: Floats, sin: Floats
) -> tuple[Lines, Floats]:
    """Return edge segments, and their starts, in the frame of outlines at places."""

    def turned(points: Floats) -> Floats:
        dx, dy = (points - centre).T
        return np.stack([cos * dx + sin * dy, cos * dy - sin * dx], axis=1)

    start, end = turned(edge.start[segments]), turned(edge.end[segments])
    step = end - start
    length = np.hypot(step[:, 0], step[:, 1])
    unit = step / length[:, None]
    return Lines(start[:, 0], start[:, 1], unit[:, 0], unit[:, 1], length), start


def _beyond(outline: Outline, lines: Lines) -> Floats:
    """Return how far an outline reaches beyond each line, on the side where it is less."""
    nx, ny = -lines.uy, lines.ux
    at = lines.x * nx + lines.y * ny
    ahead = farthest(outline.chain, nx, ny) - at
    behind = farthest(outline.chain, -nx, -ny) + at
    least: Floats = np.maximum(np.minimum(ahead, behind), 0.0)
    return least
