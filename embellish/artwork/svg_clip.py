"""Clipping: what is left of a shape's paths inside clip regions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from embellish.artwork.artwork import FillRule, Path
from embellish.geometry.arrays import Floats
from embellish.geometry.curves import bezier_bounds, flatten, line_segments
from embellish.geometry.regions import Region, filled
from embellish.geometry.transforms import Affine

Clipped = Literal["whole", "cut", "gone"]


def rectangle(width: float, height: float, ctm: Affine, x: float = 0.0, y: float = 0.0) -> Region:
    """Return a viewport's rectangle in page coordinates."""
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    return Polygon(ctm(corners))


def loops_of(paths: Sequence[Path], tolerance: float) -> list[Floats]:
    """Return the paths flattened, to be filled."""
    return [flatten(path.segments, tolerance).points for path in paths]


def clipped(
    paths: tuple[Path, ...],
    rule: FillRule,
    clips: Sequence[Region],
    tolerance: float,
    *,
    areal: bool,
) -> tuple[tuple[Path, ...], Clipped]:
    """Return the paths inside all clips; curves are kept where nothing is cut.

    Parameters
    ----------
    paths, rule
        In page coordinates.
    clips
        Regions in page coordinates.
    tolerance
        How far a flattened curve may leave its chord, where something is cut.
    areal
        Whether the paths paint a region; else they are lines, and are cut into open lines.
    """
    clip = clips[0]
    for more in clips[1:]:
        clip = shapely.intersection(clip, more)
    bounds = shapely.box(*bezier_bounds(np.concatenate([path.segments for path in paths])))
    # A shape that reaches its clip's edge within rounding is not cut by it.
    slack = 1e-9 * max(*shapely.total_bounds(bounds).tolist(), tolerance)
    grown = shapely.buffer(clip, max(slack, 1e-9), join_style="mitre")
    if shapely.covers(grown, bounds):
        return paths, "whole"
    if not shapely.intersects(clip, bounds):
        return (), "gone"
    if areal:
        region = filled(loops_of(paths, tolerance), rule)
        if shapely.covers(grown, region):
            return paths, "whole"
        kept = outlines_of(shapely.intersection(region, clip))
    else:
        lines = [_line(path, tolerance) for path in paths]
        if all(shapely.covers(grown, line) for line in lines):
            return paths, "whole"
        kept = tuple(part for line in lines for part in _inside(line, clip))
    return kept, "cut" if kept else "gone"


def outlines_of(geometry: shapely.Geometry) -> tuple[Path, ...]:
    """Return the rings of all polygons of a geometry as closed straight paths."""
    rings: list[shapely.Geometry] = []
    for part in shapely.get_parts(geometry):
        if isinstance(part, Polygon) and part.area > 0.0:
            rings += [part.exterior, *part.interiors]
        elif isinstance(part, MultiPolygon):
            rings += [ring for piece in part.geoms for ring in (piece.exterior, *piece.interiors)]
    return tuple(Path(line_segments(shapely.get_coordinates(ring)), True) for ring in rings)


def _line(path: Path, tolerance: float) -> LineString:
    return LineString(flatten(path.segments, tolerance).points)


def _inside(line: LineString, clip: Region) -> list[Path]:
    """Return the parts of a line inside the clip; a ring's two ends are joined where both stay."""
    inner = shapely.intersection(line, clip)
    parts = [part for part in shapely.get_parts(inner) if isinstance(part, LineString)]
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(parts))) if parts else []
    return [
        Path(line_segments(points), bool(np.array_equal(points[0], points[-1])))
        for points in map(shapely.get_coordinates, merged)
        if shapely.length(shapely.linestrings(points)) > 0.0
    ]
