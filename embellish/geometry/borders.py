"""Lines beside lines: what runs at a distance from a region's edge or from an open line."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.geometry.middles import lines_with_middles

Side = Literal["inside", "outside", "left", "right"]
Corners = Literal["rounded", "mitred"]

_JOINS: Final[dict[Corners, Literal["round", "mitre"]]] = {"rounded": "round", "mitred": "mitre"}

_QUAD_SEGS: Final = 64
"""Chords of a quarter circle where a corner is rounded."""
_MITRE: Final = 3.0
"""Mitred corners reach at most so many distances out; sharper tips are cut off there."""
_CLOSEST: Final = 1e-9
_TRIES: Final = 4


@dataclass(frozen=True, eq=False)
class Beside:
    """A line beside another.

    Parameters
    ----------
    points : array of shape (m, 2)
        Its vertices in mm, in the direction of the line it runs beside.
    closed
        Whether it joins up; then the last point repeats the first.
    """

    points: Floats
    closed: bool

    def share_at(self, xy: Floats) -> float:
        """Return how far along the line its nearest place to a point is, as a fraction."""
        line = shapely.LineString(self.points)
        return float(line.project(shapely.Point(xy), normalized=True))


def beside_region(
    region: BaseGeometry,
    distance_mm: float,
    side: Literal["inside", "outside"],
    corners: Corners = "rounded",
    pitch_mm: float = 0.0,
) -> list[Beside]:
    """Return the lines at a distance from a region's edge, none where it is too narrow.

    They close, but where both sides of one have no room beside each other: there one line runs down
    the middle. Rounded corners keep each place of a line as far from the edge as all others; mitred
    ones run on straight until both sides meet, and are further off there.

    Parameters
    ----------
    region
        Polygon or multipolygon.
    distance_mm
        From the edge; no place is nearer.
    side
        Which side of the edge: holes of the region are outside it too.
    corners
        What outer corners are like.
    pitch_mm
        Least distance between rows; 0 for lines that all close.
    """
    ground = region.boundary

    def at(far: float) -> list[Beside]:
        grown = region.buffer(
            -far if side == "inside" else far,
            quad_segs=_QUAD_SEGS,
            join_style=_JOINS[corners],
            mitre_limit=_MITRE,
        )
        lines = lines_with_middles(grown, pitch_mm)
        return [Beside(_clean(points), closed) for points, closed in lines]

    return _never_nearer(at, ground, distance_mm)


def beside_line(
    points: Floats,
    distance_mm: float,
    side: Literal["left", "right"],
    corners: Corners = "rounded",
) -> list[Beside]:
    """Return the lines at a distance from an open line, none where it leaves no room.

    Parameters
    ----------
    points : array of shape (m, 2)
        The line.
    distance_mm
        From the line; no place is nearer.
    side
        As seen when going along it, y down.
    corners
        What its outer corners are like.
    """
    line = shapely.LineString(points)

    def at(far: float) -> list[Beside]:
        # Positive is left where y points up: right as seen here.
        signed = far if side == "right" else -far
        found = shapely.offset_curve(
            line, signed, quad_segs=_QUAD_SEGS, join_style=_JOINS[corners], mitre_limit=_MITRE
        )
        parts = [part for part in shapely.get_parts(found) if part.length > _CLOSEST]
        return [_beside(shapely.get_coordinates(part)) for part in parts]

    return _never_nearer(at, line, distance_mm)


def _never_nearer(
    at: Callable[[float], list[Beside]], ground: BaseGeometry, distance_mm: float
) -> list[Beside]:
    """Return lines at a distance, asked for again by as much more as any comes too near."""
    # First as far as the chords of rounded corners need; offsetting itself may be a little short.
    far = distance_mm / math.cos(math.pi / (4 * _QUAD_SEGS))
    for _ in range(_TRIES):
        found = [beside for beside in at(far) if _reaches(beside, ground, distance_mm)]
        lines = [shapely.LineString(beside.points) for beside in found]
        short = distance_mm - float(np.min(shapely.distance(lines, ground), initial=np.inf))
        if short <= 0.0:
            break
        far += short + _CLOSEST
    return found


def _reaches(beside: Beside, ground: BaseGeometry, distance_mm: float) -> bool:
    """Tell whether a line is anywhere at its distance: the library's offset may leave crumbs."""
    return bool(shapely.distance(ground, shapely.points(beside.points)).max() >= distance_mm)


def _beside(points: Floats) -> Beside:
    points = _clean(points)
    return Beside(points, closed=len(points) > 3 and bool(np.array_equal(points[0], points[-1])))


def _clean(points: Floats) -> Floats:
    """Return a line without points that all but repeat the one before."""
    step = np.diff(points, axis=0)
    keep = np.concatenate([[True], np.hypot(step[:, 0], step[:, 1]) > _CLOSEST])
    kept: Floats = points[keep]
    if len(kept) > 1 and not keep[-1]:
        kept[-1] = points[-1]
    return kept
