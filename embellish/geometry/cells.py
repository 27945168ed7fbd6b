"""Cells: grids of pieces that are not round, by what two of them keep free of each other.

Two copies of a convex outline K keep a gap exactly when the step from one to the other lies
outside B = K - K grown by the gap. So the pitch along a row is where B's edge crosses the row's
line, and the pitch between rows is the highest B reaches over the steps a row allows. Where the
centre may stand is the region less every place from which K would meet its edge: the region eroded
by K, built from one small hull an edge.
"""

from __future__ import annotations

import math
from typing import Any, Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats
from embellish.geometry.footprints import Footprint
from embellish.geometry.insets import Room, areal, offset_safely
from embellish.geometry.lattices import Lattice
from embellish.geometry.outlines import sampled
from embellish.geometry.transforms import Affine
from embellish.units import LAY_SLACK_MM

Pattern = Literal["hex", "square", "brick"]

_CHORD_MM: Final = 1e-4
_QUAD_SEGS: Final = 64


def cell_of(footprints: tuple[Footprint, ...], turn_deg: float = 0.0) -> Floats:
    """Return the convex outline that holds each of some footprints, all about one centre.

    Parameters
    ----------
    footprints
        What may stand in the cell.
    turn_deg
        Turn of the pieces against the cell, clockwise as seen.

    Returns
    -------
    array of shape (n, 2)
        Corners of a polygon about the true outlines, at most 1e-4 mm outside them.
    """
    clouds: list[Floats] = []
    bent = False
    for footprint in footprints:
        for part in footprint.parts:
            points = Affine.turn(part.angle_deg)(sampled(part.outline, _CHORD_MM))
            clouds.append(points + np.array([part.dx_mm, part.dy_mm]))
            bent |= bool(np.any(part.outline.bulges > 0.0))
    hull = shapely.convex_hull(shapely.MultiPoint(np.concatenate(clouds)))
    if bent:
        # Chords lie inside their arcs: grow by what they may miss.
        hull = hull.buffer(_CHORD_MM, join_style="mitre")
    return Affine.turn(turn_deg)(shapely.get_coordinates(hull)[:-1])


def cell_lattice(cell: Floats, gap_mm: float, pattern: Pattern) -> Lattice:
    """Return the tightest lattice of a pattern on which copies of a cell keep a gap.

    Parameters
    ----------
    cell : array of shape (n, 2)
        Convex, about its centre; rows run along x.
    gap_mm
        Free distance between copies.
    pattern
        ``square``: columns in line; ``brick``: every other row moved by half, rows as far apart
        as in columns; ``hex``: moved by half and as close as the gap allows.
    """
    apart = _difference(cell).buffer((gap_mm + LAY_SLACK_MM) * _around(), quad_segs=_QUAD_SEGS)
    x0, _, x1, y1 = apart.bounds
    along = _highest(apart, shapely.LineString([(0.0, 0.0), (x1 + 1.0, 0.0)]), axis=0)
    steps = math.ceil(max(x1, -x0) / along) + 1

    def over(shift: float) -> float:
        """Return the highest the difference reaches over the steps of a row moved by a share."""
        columns = [(k + shift) * along for k in range(-steps, steps + 1)]
        lines = [shapely.LineString([(x, 0.0), (x, y1 + 1.0)]) for x in columns]
        return max(_highest(apart, line, axis=1) for line in lines)

    straight = over(0.0)
    if pattern == "square":
        return Lattice(along, straight, 0.0, 180.0)
    moved = max(over(0.5), straight / 2.0)
    return Lattice(along, moved if pattern == "hex" else max(moved, straight), 0.5, 180.0)


def _around() -> float:
    """Return by how much an arc drawn by chords must be widened to lie about the true one."""
    return 1.0 / math.cos(math.pi / (4 * _QUAD_SEGS))


def _difference(cell: Floats) -> Any:
    """Return the set of steps by which two copies of a convex cell would overlap."""
    steps = (cell[:, None, :] - cell[None, :, :]).reshape(-1, 2)
    return shapely.convex_hull(shapely.MultiPoint(steps))


def _highest(body: BaseGeometry, line: BaseGeometry, axis: int) -> float:
    """Return the largest coordinate of a line's part in a body, 0 where they do not meet."""
    points = shapely.get_coordinates(body.intersection(line))
    return float(points[:, axis].max()) if len(points) else 0.0


def cell_centres(room: Room, cell: Floats) -> BaseGeometry:
    """Return where the centre of a turned cell may stand.

    Parameters
    ----------
    room
        Region, edge margin and what stands already.
    cell : array of shape (n, 2)
        Convex, turned as it will stand, about its centre.
    """
    edge = room.edge_mm + LAY_SLACK_MM
    centres = room.region
    mirrored = -cell
    obstacles = [_swept(room.region, mirrored, edge)]
    if room.keep_out is not None and not room.keep_out.is_empty:
        obstacles += [_swept(room.keep_out, mirrored, LAY_SLACK_MM)]
        # Where the whole cell is within the keep-out no edge is near.
        centres = centres.difference(room.keep_out)
    if len(room.others_xy):
        near = shapely.polygons(mirrored[None] + room.others_xy[:, None])
        reach = (room.others_reach_mm + LAY_SLACK_MM) * _around()
        obstacles += list(shapely.buffer(near, reach, quad_segs=_QUAD_SEGS))
    return areal(centres.difference(shapely.union_all(obstacles)))


def _swept(region: BaseGeometry, mirrored: Floats, margin: float) -> BaseGeometry:
    """Return all centres from which a cell would come within a margin of a region's edge."""
    parts = shapely.get_parts(region)
    rings = shapely.get_rings(parts)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    start, end = xy[:-1][same], xy[1:][same]
    n = len(mirrored)
    corners = np.concatenate(
        [start[:, None] + mirrored[None], end[:, None] + mirrored[None]], axis=1
    )
    clouds = shapely.multipoints(
        np.asarray(shapely.points(corners.reshape(-1, 2))),
        indices=np.repeat(np.arange(len(start)), 2 * n),
    )
    hulls = shapely.convex_hull(clouds)
    swept = shapely.union_all(hulls)
    return offset_safely(swept, margin)


def cells_hold(xy: Floats, cell: Floats, room: Room, slack_mm: float = 0.0) -> Bools:
    """Tell which places truly have room for a cell.

    Parameters
    ----------
    xy : array of shape (k, 2)
        Centres.
    cell : array of shape (n, 2)
        Convex, turned as it stands.
    room
        Region, edge margin and what stands already.
    slack_mm
        How much more than asked must be free.
    """
    if len(xy) == 0 or room.region.is_empty:
        return np.zeros(len(xy), dtype=np.bool_)
    pieces = np.asarray(shapely.polygons(cell[None] + xy[:, None]))
    shapely.prepare(room.region)
    edge = room.region.boundary
    shapely.prepare(edge)
    good = shapely.contains_xy(room.region, xy[:, 0], xy[:, 1])
    good &= ~shapely.dwithin(edge, pieces, room.edge_mm + slack_mm)
    if room.keep_out is not None and not room.keep_out.is_empty:
        shapely.prepare(room.keep_out)
        good &= ~shapely.dwithin(room.keep_out, pieces, slack_mm)
    if len(room.others_xy):
        others = np.asarray(shapely.points(room.others_xy))
        tree = shapely.STRtree(others)
        need = room.others_reach_mm + slack_mm
        piece, other = tree.query(pieces, predicate="dwithin", distance=float(need.max()))
        close = shapely.distance(pieces[piece], others[other]) < need[other]
        good[piece[close]] = False
    return np.asarray(good, dtype=np.bool_)
