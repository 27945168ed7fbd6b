"""Clipping: what is left of a shape's paths inside clip regions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Polygon

from embellish.arrays import Floats
from embellish.artwork.artwork import FillRule, Path
from embellish.artwork.flatten import check_count, fill_loops
from embellish.artwork.strokes import outlines_of
from embellish.geometry.curves import bezier_bounds, flatten, line_segments
from embellish.geometry.regions import Region, areal
from embellish.geometry.transforms import Affine

_COARSEST_SHARE: Final = 1e-7
"""A tolerance finer than this share of a path only costs points."""

_ROUNDING: Final = 1e-9

Clipped = Literal["whole", "cut", "gone"]


def rectangle(width: float, height: float, ctm: Affine, x: float = 0.0, y: float = 0.0) -> Region:
    """Return a viewport's rectangle in page coordinates."""
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    return Polygon(ctm(corners))


def loops_of(paths: Sequence[Path], tolerance: float) -> list[Floats]:
    """Return the paths flattened, to be filled."""
    each = [(path, _coarser(path, tolerance)) for path in paths]
    check_count(each)
    return [flatten(path.segments, own).points for path, own in each]


def _coarser(path: Path, tolerance: float) -> float:
    """Keep the count of points in bounds for paths that are huge beside the tolerance."""
    return max(tolerance, _COARSEST_SHARE * float(np.ptp(path.segments, axis=(0, 1)).max()))


@dataclass(frozen=True, eq=False)
class Clip:
    """What shows: a region in page coordinates, made once for all shapes under it."""

    region: Region

    @cached_property
    def grown(self) -> Region:
        """The region grown by rounding: a shape that only reaches the edge is not cut by it."""
        extent = float(np.abs(self.region.bounds).max())
        slack = min(max(extent * _ROUNDING, _ROUNDING), 1e-6)
        grown = areal(shapely.buffer(self.region, slack, join_style="mitre"))
        shapely.prepare(grown)
        return grown

    def within(self, outer: Clip | None) -> Clip:
        """Return what shows under both."""
        if outer is None:
            return self
        return Clip(areal(shapely.intersection(outer.region, self.region)))


def clipped(
    paths: tuple[Path, ...],
    rule: FillRule,
    clip: Clip,
    tolerance: float,
    *,
    fills: bool,
) -> tuple[tuple[Path, ...], Clipped]:
    """Return the paths inside a clip; curves are kept where nothing is cut.

    Parameters
    ----------
    paths, rule
        In page coordinates.
    clip
        What shows.
    tolerance
        How far a flattened curve may leave its chord, where something is cut.
    fills
        Whether the paths paint a region; else they are lines, and are cut into open lines.
    """
    if clip.region.is_empty:
        return (), "gone"
    bounds = shapely.box(*bezier_bounds(np.concatenate([path.segments for path in paths])))
    if shapely.covers(clip.grown, bounds):
        return paths, "whole"
    if not shapely.intersects(clip.grown, bounds):
        return (), "gone"
    if fills:
        region = fill_loops(loops_of(paths, tolerance), rule)
        if shapely.covers(clip.grown, region):
            return paths, "whole"
        kept = outlines_of(shapely.intersection(region, clip.region))
    else:
        lines = [LineString(loop) for loop in loops_of(paths, tolerance)]
        if all(shapely.covers(clip.grown, line) for line in lines):
            return paths, "whole"
        kept = tuple(part for line in lines for part in _inside(line, clip.region))
    return kept, "cut" if kept else "gone"


def _inside(line: LineString, clip: Region) -> list[Path]:
    """Return the parts of a line inside the clip; a ring's two ends are joined where both stay."""
    inner = shapely.intersection(line, clip)
    parts = [part for part in shapely.get_parts(inner) if isinstance(part, LineString)]
    if not parts:
        return []
    merged = shapely.get_parts(shapely.line_merge(MultiLineString(parts)))
    return [
        Path(line_segments(points), closed=bool(np.array_equal(points[0], points[-1])))
        for points in map(shapely.get_coordinates, merged)
        if len(points) > 1
    ]
