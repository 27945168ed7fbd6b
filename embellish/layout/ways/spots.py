"""Spots: the places a drawing itself gives, for the ways that set a piece or a cluster at each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import lines_of, region_of
from embellish.errors import ArtworkError
from embellish.geometry.curves import bezier_bounds
from embellish.units import EPS_MM

At = Literal["centre", "bounds", "nodes", "ends"]

_ROUND: Final = 1.02
"""Shapes that are longer than wide by less have no direction of their own."""


@dataclass(frozen=True, eq=False)
class Spots:
    """Places of one shape.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Places in mm.
    angle_deg : array of shape (n,)
        Direction of the drawing there, clockwise as seen.
    path : array of shape (n,)
        Number of the path each lies on; 0 for the shape as a whole.
    u : array of shape (n,)
        Index along the path.
    """

    xy: Floats
    angle_deg: Floats
    path: Ints
    u: Floats

    def __len__(self) -> int:
        return len(self.xy)


def spots_of(shape: Shape, at: At) -> Spots:
    """Return the places a shape gives.

    Parameters
    ----------
    shape
        The shape.
    at
        ``centre``: its centre of gravity; ``bounds``: the centre of its bounds; ``nodes``: the
        points its lines are drawn through; ``ends``: both ends of its open lines.
    """
    if at in ("centre", "bounds"):
        body = _body(shape)
        centre = _centre(shape, body) if at == "centre" else _bounds_centre(shape)
        one = np.zeros(1)
        return Spots(centre[None, :], np.array([_long_side_deg(body)]), one.astype(np.int64), one)
    found = [_on_path(path, at, number) for number, path in enumerate(shape.paths)]
    return Spots(
        np.concatenate([spots.xy for spots in found]),
        np.concatenate([spots.angle_deg for spots in found]),
        np.concatenate([spots.path for spots in found]),
        np.concatenate([spots.u for spots in found]),
    )


def _body(shape: Shape) -> BaseGeometry:
    """Return the region of a shape, or its lines where it has none."""
    try:
        return region_of(shape)
    except ArtworkError:
        return shapely.MultiLineString([line.points for line in lines_of(shape)])


def _centre(shape: Shape, body: BaseGeometry) -> Floats:
    if body.length <= EPS_MM:
        return np.array(shape.paths[0].segments[0, 0])
    return np.array(shapely.get_coordinates(body.centroid)[0])


def _bounds_centre(shape: Shape) -> Floats:
    x0, y0, x1, y1 = bezier_bounds(np.concatenate([path.segments for path in shape.paths]))
    return np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])


def _long_side_deg(body: BaseGeometry) -> float:
    """Return the direction of a shape's longer side, 0 where it is as wide as long."""
    box = shapely.minimum_rotated_rectangle(body)
    if box.geom_type == "LineString":
        a, b = shapely.get_coordinates(box)[[0, -1]]
        return _half_turn(b - a)
    if box.geom_type != "Polygon":
        return 0.0
    corners = shapely.get_coordinates(box)
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    long, short = np.hypot(*first), np.hypot(*second)
    if max(long, short) <= _ROUND * min(long, short):
        return 0.0
    return _half_turn(first if long > short else second)


def _half_turn(way: Floats) -> float:
    """Return a direction without sense, from 0 up to 180."""
    return float(np.mod(np.round(np.degrees(np.arctan2(way[1], way[0])), 9), 180.0))


def _on_path(path: Path, at: At, number: int) -> Spots:
    segments = path.segments
    long = np.hypot(*(segments[:, 1:] - segments[:, :1]).reshape(-1, 2).T).reshape(-1, 3)
    segments = segments[long.max(axis=1) > EPS_MM]
    none = np.zeros(0)
    if not len(segments) or (at == "ends" and path.closed):
        return Spots(np.zeros((0, 2)), none, none.astype(np.int64), none)
    leave, arrive = _tangents(segments), -_tangents(segments[:, ::-1])
    if path.closed:
        xy, before, after = segments[:, 0], np.roll(arrive, 1, axis=0), leave
    else:
        xy = np.concatenate([segments[:, 0], segments[-1:, 3]])
        before = np.concatenate([leave[:1], arrive])
        after = np.concatenate([leave, arrive[-1:]])
    way = before + after
    # A path that turns right back has no middle direction: keep the one it leaves by.
    way = np.where(np.hypot(*way.T)[:, None] > EPS_MM, way, after)
    angle = np.round(np.degrees(np.arctan2(way[:, 1], way[:, 0])), 9).astype(np.float64)
    index = np.arange(len(xy))
    if at == "ends":
        index = np.array([0, len(xy) - 1])
    return Spots(xy[index], angle[index], np.full(len(index), number), index.astype(np.float64))


def _tangents(segments: Floats) -> Floats:
    """Return the unit directions in which segments of shape (n, 4, 2) start."""
    way = np.zeros((len(segments), 2))
    for control in (3, 2, 1):
        step = segments[:, control] - segments[:, 0]
        some = np.hypot(step[:, 0], step[:, 1]) > EPS_MM
        way[some] = step[some]
    return way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-300)[:, None]
