"""Shapes as lines and regions: flattened once, after every transform, to a tolerance in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal
from weakref import WeakKeyDictionary

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString

from embellish.arrays import Floats, frozen
from embellish.artwork.artwork import FillRule, Path, Shape, StrokeCap, StrokeJoin
from embellish.errors import ArtworkError
from embellish.geometry.curves import flat_counts, flatten
from embellish.geometry.regions import Region, areal, crossing_bound, filled

LINE_TOLERANCE_MM: Final = 1e-4
"""How far a row's line may leave its curve."""

REGION_TOLERANCE_MM: Final = 0.005
"""How far a region's edge may leave its curve."""

MAX_POINTS: Final = 4_000_000
"""More vertices than this are no garment; memory is kept for the layout."""

SVG_MITER_LIMIT: Final = 4.0
"""The standard's own limit; a file's other limit only changes the look of sharp tips."""

MAX_CROSSINGS: Final = 400_000.0
"""Crossings of a shape's lines, about: a drawing to be filled stays a hundred times below."""

_CAPS: Final[dict[StrokeCap, Literal["flat", "round", "square"]]] = {
    "butt": "flat",
    "round": "round",
    "square": "square",
}
_JOINS: Final[dict[StrokeJoin, Literal["mitre", "round", "bevel"]]] = {
    "miter": "mitre",
    "round": "round",
    "bevel": "bevel",
}

_regions: WeakKeyDictionary[Shape, dict[float, Region]] = WeakKeyDictionary()


@dataclass(frozen=True, eq=False)
class Line:
    """One flattened path.

    Parameters
    ----------
    points : array of shape (m, 2)
        Vertices, m >= 2; where the line is closed the last one repeats the first.
    closed
        Whether the end is joined to the start.
    """

    points: Floats
    closed: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))


def line_of(path: Path, tolerance_mm: float = LINE_TOLERANCE_MM) -> Line:
    """Return one path flattened so that no curve leaves its chord by more than the tolerance."""
    points = flatten(path.segments, tolerance_mm).points
    if path.closed and not np.array_equal(points[0], points[-1]):
        points = np.concatenate([points, points[:1]])
    return Line(points, path.closed)


def check_count(paths: Sequence[tuple[Path, float]]) -> None:
    """Check that paths, each with its tolerance, do not need more vertices than memory has.

    Raises
    ------
    ArtworkError
        Beyond ``MAX_POINTS``.
    """
    count = sum(int(flat_counts(path.segments, tolerance).sum()) for path, tolerance in paths)
    if count > MAX_POINTS:
        raise ArtworkError(
            f"its curves need {count:,} points to be drawn closely",
            mend="Check the artwork's size, or split the shape.",
        )


def lines_of(shape: Shape, tolerance_mm: float = LINE_TOLERANCE_MM) -> tuple[Line, ...]:
    """Return the lines of a shape, one a path, in the shape's order.

    Raises
    ------
    ArtworkError
        Where the shape needs more vertices than memory should give.
    """
    try:
        check_count([(path, tolerance_mm) for path in shape.paths])
    except ArtworkError as wrong:
        raise wrong.within(item=f"shape '{shape.id}'") from wrong
    return tuple(line_of(path, tolerance_mm) for path in shape.paths)


def region_of(shape: Shape, tolerance_mm: float = REGION_TOLERANCE_MM) -> Region:
    """Return the region that a shape fills by its fill rule; kept for the next call.

    Open paths of a filled shape are closed by a straight line, as painting does; of a shape that
    is not filled only its closed paths count.

    Returns
    -------
    Polygon or MultiPolygon
        Valid, not empty, in the shape's millimetres.

    Raises
    ------
    ArtworkError
        Where nothing of the shape closes, or what closes encloses nothing.
    """
    kept = _regions.setdefault(shape, {})
    if tolerance_mm not in kept:
        kept[tolerance_mm] = _region(shape, tolerance_mm)
    return kept[tolerance_mm]


def _region(shape: Shape, tolerance_mm: float) -> Region:
    lines = lines_of(shape, tolerance_mm)
    loops = [line.points for line in lines if line.closed or shape.fill is not None]
    if not loops:
        raise ArtworkError(
            "it is an open line, and a region is needed",
            item=f"shape '{shape.id}'",
            mend="Close the line in the drawing, or choose a way that follows lines.",
        )
    try:
        region = fill_loops(loops, shape.fill_rule)
    except ArtworkError as wrong:
        raise wrong.within(item=f"shape '{shape.id}'") from wrong
    if region.is_empty:
        raise ArtworkError(
            "it encloses no area",
            item=f"shape '{shape.id}'",
            mend="Check that its lines go round something, or choose a way that follows lines.",
        )
    return region


def fill_loops(loops: list[Floats], rule: FillRule) -> Region:
    """Return what loops fill.

    Raises
    ------
    ArtworkError
        Where they cross each other so often that cutting them would fill the memory.
    """
    if crossing_bound(loops) > MAX_CROSSINGS:
        raise ArtworkError(
            "its lines cross each other too often to be filled",
            mend="Simplify it in the drawing program, or choose a way that follows lines.",
        )
    return filled(loops, rule)


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
    painted = [
        shapely.buffer(
            _ring_or_string(line),
            half,
            quad_segs=quarter,
            cap_style=_CAPS[shape.stroke_cap],
            join_style=_JOINS[shape.stroke_join],
            mitre_limit=SVG_MITER_LIMIT,
        )
        for line in lines_of(shape, tolerance_mm)
    ]
    return areal(shapely.union_all(painted))


def _ring_or_string(line: Line) -> LinearRing | LineString:
    """Return a ring, which has joins all round, or a string, which has caps at its ends."""
    return (
        LinearRing(line.points)
        if line.closed and len(line.points) >= 4
        else LineString(line.points)
    )
