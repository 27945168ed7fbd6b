"""Strokes as regions: what lines paint at their width, with their ends and corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString

from embellish.artwork.artwork import Artwork, Path, Shape, StrokeCap, StrokeJoin
from embellish.artwork.flatten import REGION_TOLERANCE_MM, Line, lines_of, region_of
from embellish.artwork.selecting import select
from embellish.errors import ArtworkError
from embellish.geometry.curves import line_segments
from embellish.geometry.regions import Region, areal

_CAPS: Final[dict[StrokeCap, Literal["flat", "round", "square"]]] = {
    "butt": "flat",
    "round": "round",
    "square": "square",
}
_JOINS: Final[dict[StrokeJoin, Literal["bevel", "round"]]] = {
    # Points of mitres are set on one by one: past its limit a mitre is a bevel.
    "miter": "bevel",
    "round": "round",
    "bevel": "bevel",
}

_STRAIGHT_DEG: Final = 0.5
"""Turns of less are the chords of a curve: their points are below any tolerance."""


def stroke_region_of(shape: Shape, tolerance_mm: float = REGION_TOLERANCE_MM) -> Region:
    """Return the region that a shape's stroke paints: its lines at their painted width.

    Raises
    ------
    ArtworkError
        Where the shape has no painted stroke.
    """
    if shape.stroke is None or shape.stroke_width_mm <= 0.0:
        raise ArtworkError(
            "it has no painted stroke, so there is no stroke region",
            item=f"shape '{shape.id}'",
            mend="Give the line a stroke width in the drawing.",
        )
    half = shape.stroke_width_mm / 2.0
    # A chord of angle a leaves its arc by r (1 - cos(a/2)).
    angle = 2.0 * np.arccos(max(0.0, 1.0 - min(1.0, tolerance_mm / half)))
    quarter = int(np.clip(np.ceil(np.pi / 2.0 / max(angle, 1e-3)), 2, 64))
    lines = lines_of(shape, tolerance_mm)
    painted = [
        shapely.buffer(
            _ring_or_string(line),
            half,
            quad_segs=quarter,
            cap_style=_CAPS[shape.stroke_cap],
            join_style=_JOINS[shape.stroke_join],
        )
        for line in lines
    ]
    if shape.stroke_join == "miter":
        painted += [tip for line in lines for tip in _tips(line, half, shape.stroke_miter_limit)]
    return areal(shapely.union_all(painted))


def _ring_or_string(line: Line) -> LinearRing | LineString:
    """Return a ring, which has joins all round, or a string, which has caps at its ends."""
    return (
        LinearRing(line.points)
        if line.closed and len(line.points) >= 4
        else LineString(line.points)
    )


def _tips(line: Line, half_mm: float, limit: float) -> list[shapely.Polygon]:
    """Return what a mitre adds to the bevel at each corner within the limit (SVG 2, 13.5.6).

    A corner that turns by t has a mitre 1 / cos(t / 2) times as long as the stroke is wide.
    """
    points = line.points[np.r_[True, np.any(np.diff(line.points, axis=0) != 0.0, axis=1)]]
    if len(points) < 3:
        return []
    ahead = np.diff(points, axis=0)
    ahead /= np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    into, out, corner = ahead[:-1], ahead[1:], points[1:-1]
    if line.closed:
        into = np.concatenate([into, ahead[-1:]])
        out = np.concatenate([out, ahead[:1]])
        corner = np.concatenate([corner, points[:1]])
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    turn = np.arctan2(cross, (into * out).sum(axis=1))
    half_cos = np.cos(turn / 2.0)
    sharp = (np.abs(turn) > np.radians(_STRAIGHT_DEG)) & (half_cos * limit >= 1.0 - 1e-9)
    into, out, corner, half_cos = into[sharp], out[sharp], corner[sharp], half_cos[sharp]
    # Away from the turn: with y down, a line that turns clockwise has its outside on its left.
    side = np.sign(turn[sharp])[:, None] * half_mm
    first = corner + side * np.stack([into[:, 1], -into[:, 0]], axis=1)
    last = corner + side * np.stack([out[:, 1], -out[:, 0]], axis=1)
    middle = (first + last) / 2.0 - corner
    tip = corner + middle / (half_cos**2)[:, None]
    kites = np.stack([corner, first, tip, last], axis=1)
    return [shapely.Polygon(kite) for kite in kites]


def as_painted(artwork: Artwork, selector: str) -> Artwork:
    """Return the artwork with some shapes taken as the regions that they paint.

    A line becomes the region its stroke covers, a filled shape grows by half its stroke. Ids stay.

    Raises
    ------
    ArtworkError
        For a selector that finds nothing, or a shape that has no painted stroke.
    """
    found = {shape.id for shape in select(artwork, selector)}
    shapes = tuple(_painted(one) if one.id in found else one for one in artwork.shapes)
    return replace(artwork, shapes=shapes)


def _painted(shape: Shape) -> Shape:
    region = stroke_region_of(shape)
    if shape.fill is not None:
        region = areal(shapely.union_all([region, region_of(shape)]))
    return replace(
        shape,
        fill=shape.fill or shape.stroke,
        stroke=None,
        stroke_width_mm=0.0,
        fill_rule="evenodd",
        paths=outlines_of(region),
    )


def outlines_of(geometry: shapely.Geometry) -> tuple[Path, ...]:
    """Return the rings of all polygons of a geometry as closed straight paths."""
    parts = [part for part in shapely.get_parts(areal(geometry)) if part.area > 0.0]
    rings: Sequence[LinearRing] = [
        ring for part in parts for ring in (part.exterior, *part.interiors)
    ]
    return tuple(Path(line_segments(shapely.get_coordinates(r)), closed=True) for r in rings)
