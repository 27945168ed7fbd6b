"""Insets: where the centre of a piece may stand, and whether it truly stands inside.

An inset drawn by a buffer is made of chords where it should be made of arcs, and at a corner that
points into the region the chords let pieces out; where an edge bends softly the library skips
points as well. So there are two things here. ``centre_region`` draws an inset that is safe: it is
measured, and pushed further in by what it misses. ``inside`` and ``Room`` measure true distances
and are the last word.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats
from embellish.geometry.near_edges import perhaps_near
from embellish.units import LAY_SLACK_MM

_QUAD_SEGS: Final = 64
_MOST_PUSHES: Final = 20
_CHORD_MISS: Final = 1.0 / math.cos(math.pi / (4 * _QUAD_SEGS)) - 1.0
"""How far a chord of an arc of radius 1 may lie within the arc, at this many chords a quarter."""


def centre_region(
    region: BaseGeometry,
    radius_mm: float,
    edge_mm: float = 0.0,
    occupied_xy: Floats | None = None,
    occupied_reach_mm: Floats | None = None,
    *,
    keep_out: BaseGeometry | None = None,
    slack_mm: float = LAY_SLACK_MM,
    safe: bool = True,
) -> BaseGeometry:
    """Return where the centre of a round piece may stand.

    Parameters
    ----------
    region
        Polygon or multipolygon the piece must stay in.
    radius_mm
        Radius of the piece.
    edge_mm
        Free distance between the piece and the region's edge.
    occupied_xy : array of shape (m, 2)
        Centres of what stands already.
    occupied_reach_mm : array of shape (m,)
        From each of those how far off the centre must stay: its radius + gap + ``radius_mm``.
    keep_out
        Ground the piece must not touch.
    slack_mm
        Room kept beyond what is asked, so that rounding breaks nothing.
    safe
        True: every point of the result holds, and about 1e-4 of the radius is lost. False:
        straight edges are exact, but a point near a corner may miss by about 1e-3 of the radius;
        for searching before ``inside`` decides.

    Returns
    -------
    shapely geometry
        Polygon, multipolygon, or empty.
    """
    inset = radius_mm + edge_mm + slack_mm
    centres = offset_safely(region, -inset) if safe else region.buffer(-inset, quad_segs=_QUAD_SEGS)
    holes: list[BaseGeometry] = []
    if keep_out is not None and not keep_out.is_empty:
        holes.append(offset_safely(keep_out, radius_mm + slack_mm))
    if occupied_xy is not None and occupied_reach_mm is not None and len(occupied_xy):
        near = _near(centres, occupied_xy, np.asarray(occupied_reach_mm) + slack_mm)
        # Discs of 64 corners, drawn around the true disc rather than within it.
        reach = (np.asarray(occupied_reach_mm)[near] + slack_mm) / math.cos(math.pi / 64)
        discs = shapely.buffer(shapely.points(occupied_xy[near]), reach, quad_segs=16)
        holes.extend(discs)
    if holes and not centres.is_empty:
        centres = centres.difference(shapely.union_all(holes))
    return areal(centres)


def offset_safely(geometry: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """Return a geometry grown, or shrunk below 0, nowhere by less than the distance.

    Measured, and pushed on by what it misses: the library draws arcs as chords, and skips points
    of an edge that bends softly.
    """
    need = abs(distance_mm)
    if need == 0.0:
        return geometry
    far = need * (1.0 + _CHORD_MISS)
    for _ in range(_MOST_PUSHES):
        out = geometry.buffer(math.copysign(far, distance_mm), quad_segs=_QUAD_SEGS)
        missing = _missing(geometry, out, need)
        if missing <= 0.0:
            break
        far += 1.01 * missing + 1e-9
    return out


def _missing(geometry: BaseGeometry, out: BaseGeometry, need: float) -> float:
    """Return how much nearer than needed the edges of a geometry and of its offset come."""
    # Two chains of straight lines come nearest at a corner of one of them.
    missing = 0.0
    edges = (geometry.boundary if geometry.area else geometry, out.boundary)
    for one, other in (edges, edges[::-1]):
        corners = shapely.get_coordinates(other)
        if not len(corners) or one.is_empty:
            continue
        short = corners[_near(one, corners, np.full(len(corners), np.nextafter(need, 0.0)))]
        if len(short):
            missing = max(missing, need - float(shapely.distance(one, shapely.points(short)).min()))
    return missing


def areal(geometry: BaseGeometry) -> BaseGeometry:
    """Return the polygons of a geometry as one polygon or multipolygon, lines and points dropped.

    Parameters
    ----------
    geometry
        Any shapely geometry, such as the leavings of an overlay.
    """
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    return shapely.union_all(parts) if parts else shapely.Polygon()


def inside(
    xy: Floats,
    region: BaseGeometry,
    radius_mm: float | Floats,
    edge_mm: float = 0.0,
    *,
    slack_mm: float = LAY_SLACK_MM,
) -> Bools:
    """Tell which round pieces stand within a region, by true distances to its edge.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres.
    region
        Polygon or multipolygon.
    radius_mm : number or array of shape (n,)
        Radius of each piece.
    edge_mm
        Free distance to keep between pieces and edge.
    slack_mm
        How much more than asked must be free; negative to forgive.

    Returns
    -------
    bool array of shape (n,)
    """
    if len(xy) == 0 or region.is_empty:
        return np.zeros(len(xy), dtype=np.bool_)
    radius = np.broadcast_to(np.asarray(radius_mm, dtype=np.float64), (len(xy),))
    shapely.prepare(region)
    within = shapely.contains_xy(region, xy[:, 0], xy[:, 1])
    edge = region.boundary
    far = float(radius.max()) + edge_mm + slack_mm
    at = np.flatnonzero(within & perhaps_near(edge, xy, max(far, 0.0)))
    # dwithin lets exactly equal distances through, and those are wide enough: step one bit back.
    need = np.nextafter(radius[at] + edge_mm + slack_mm, -np.inf)
    within[at] = ~_near(edge, xy[at], need)
    return np.asarray(within, dtype=np.bool_)


def _near(geometry: BaseGeometry, xy: Floats, distance_mm: Floats) -> Bools:
    """Tell which points lie no further from a geometry than their distance."""
    shapely.prepare(geometry)
    # The published types of dwithin know one distance, the function knows an array of them.
    dwithin: Any = shapely.dwithin
    return np.asarray(dwithin(geometry, shapely.points(xy), distance_mm), dtype=np.bool_)


@dataclass(frozen=True, eq=False)
class Room:
    """The room a fill has: its region, and what stands or may not be touched within it.

    Parameters
    ----------
    region
        Polygon or multipolygon pieces must stay in.
    edge_mm
        Free distance to the region's edge.
    keep_out
        Ground no piece may touch, or None.
    others_xy : array of shape (m, 2)
        Centres of what stands already.
    others_reach_mm : array of shape (m,)
        From each of those how far off an outline must stay: its radius + gap.
    """

    region: BaseGeometry
    edge_mm: float = 0.0
    keep_out: BaseGeometry | None = None
    others_xy: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    others_reach_mm: Floats = field(default_factory=lambda: np.zeros(0))

    def centres(
        self, radius_mm: float, *, slack_mm: float = LAY_SLACK_MM, safe: bool = True
    ) -> BaseGeometry:
        """Return where centres of round pieces of one radius may stand."""
        return centre_region(
            self.region,
            radius_mm,
            self.edge_mm,
            self.others_xy,
            self.others_reach_mm + radius_mm,
            keep_out=self.keep_out,
            slack_mm=slack_mm,
            safe=safe,
        )

    def holds(
        self, xy: Floats, radius_mm: float | Floats, *, slack_mm: float = LAY_SLACK_MM
    ) -> Bools:
        """Tell which round pieces have their room, by true distances.

        Parameters
        ----------
        xy : array of shape (n, 2)
            Centres.
        radius_mm : number or array of shape (n,)
            Radius of each piece.
        slack_mm
            How much more than asked must be free. Below zero it forgives the region's edge
            alone: gaps to other seats are never forgiven.
        """
        radius = np.broadcast_to(np.asarray(radius_mm, dtype=np.float64), (len(xy),))
        good = inside(xy, self.region, radius, self.edge_mm, slack_mm=slack_mm)
        strict = max(slack_mm, 0.0)
        if self.keep_out is not None and not self.keep_out.is_empty:
            good &= ~_near(self.keep_out, xy, radius + strict)
        return good & self.clear_of_others(xy, radius, slack_mm=strict)

    def clear_of_others(
        self, xy: Floats, radius_mm: float | Floats, *, slack_mm: float = LAY_SLACK_MM
    ) -> Bools:
        """Tell which round pieces keep their gap to what stands already."""
        clear = np.ones(len(xy), dtype=np.bool_)
        if len(xy) == 0:
            return clear
        # One tree a size of what stands there: the nearest of each size decides.
        for reach in np.unique(self.others_reach_mm):
            tree = cKDTree(self.others_xy[self.others_reach_mm == reach])
            nearest, _ = tree.query(xy)
            clear &= nearest >= reach + radius_mm + slack_mm
        return clear
