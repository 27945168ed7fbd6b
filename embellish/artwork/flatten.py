"""Shapes as lines and regions: flattened once, after every transform, to a tolerance in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np

from embellish.arrays import Floats, frozen
from embellish.artwork.artwork import FillRule, Path, Shape
from embellish.errors import ArtworkError
from embellish.geometry.curves import flat_counts, flatten
from embellish.geometry.regions import Region, crossing_bound, filled

LINE_TOLERANCE_MM: Final = 1e-4
"""How far a row's line may leave its curve."""

REGION_TOLERANCE_MM: Final = 0.005
"""How far a region's edge may leave its curve."""

MAX_POINTS: Final = 4_000_000
"""More vertices than this are no garment; memory is kept for the layout."""

WIDE_STROKE_MM: Final = 1.2
"""From this width on a painted line may hold a piece; the smallest beads are as wide."""

MAX_CROSSINGS: Final = 400_000.0
"""Crossings of a shape's lines, about: a drawing to be filled stays a hundred times below."""

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
            mend=_mend_of_a_line(shape),
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


def _mend_of_a_line(shape: Shape) -> str:
    """Return what to do where a region is needed of a line, wide ones as they are painted."""
    mend = "Close the line in the drawing, or choose a way that follows lines."
    if shape.stroke is None or shape.stroke_width_mm < WIDE_STROKE_MM:
        return mend
    return (
        f"It is painted {shape.stroke_width_mm:.1f} mm wide: to fill that, name it in as_painted"
        " under [artwork]. Or choose a way that follows lines."
    )


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
