"""Artwork: the shapes pieces may go on, in millimetres, y down, with their curves kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from embellish.arrays import Floats, frozen
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.transforms import IDENTITY, Affine

FillRule = Literal["nonzero", "evenodd"]
StrokeCap = Literal["butt", "round", "square"]
StrokeJoin = Literal["miter", "round", "bevel"]


@dataclass(frozen=True, eq=False)
class Path:
    """One unbroken line, open or closed, as a chain of cubic Bézier segments.

    Parameters
    ----------
    segments : array of shape (n, 4, 2)
        Start, two controls, end of each segment; a straight piece has its controls at thirds.
        Each segment starts where the last one ended.
    closed
        Whether the end is joined to the start (then they are the same point).
    """

    segments: Floats
    closed: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "segments", frozen(self.segments))

    def mapped(self, affine: Affine) -> Path:
        """Return the path under an affine map (exact for Bézier chains)."""
        if affine == IDENTITY:
            return self
        return Path(affine(self.segments), self.closed)


@dataclass(frozen=True, eq=False)
class Shape:
    """One shape of the artwork: it may serve as path or as region; the way says which it needs.

    Parameters
    ----------
    id
        Identity; unique in the artwork.
    layer
        Id or label of the layer it stands in, '' where there is none.
    classes
        Class names, for selecting.
    fill, stroke
        '#rrggbb', or None where not painted.
    stroke_width_mm
        Width of the painted stroke, 0 where none.
    fill_rule
        Which loops of the paths are inside.
    paths
        Its lines.
    groups
        Ids of the groups it stands in, outermost first; a selector may name them.
    stroke_cap, stroke_join, stroke_miter_limit
        How the painted stroke ends and turns; a mitre longer than so many widths is a bevel.
    """

    id: str
    layer: str
    classes: tuple[str, ...]
    fill: str | None
    stroke: str | None
    stroke_width_mm: float
    fill_rule: FillRule
    paths: tuple[Path, ...]
    groups: tuple[str, ...] = ()
    stroke_cap: StrokeCap = "butt"
    stroke_join: StrokeJoin = "miter"
    stroke_miter_limit: float = 4.0

    @property
    def kind(self) -> Literal["region", "path"]:
        """'region' where it is filled, or unpainted but closed; else 'path'."""
        if self.fill is not None:
            return "region"
        return "path" if self.stroke is not None or not self.is_closed else "region"

    @property
    def is_closed(self) -> bool:
        """Whether any of its lines closes, so that it can serve as a region."""
        return any(path.closed for path in self.paths)

    def mapped(self, affine: Affine) -> Shape:
        """Return the shape under a map; the stroke width grows with the map's mean scale."""
        scale = abs(affine.determinant) ** 0.5
        return replace(
            self,
            paths=tuple(path.mapped(affine) for path in self.paths),
            stroke_width_mm=self.stroke_width_mm * scale,
        )


@dataclass(frozen=True, eq=False)
class Artwork:
    """Everything a reader understood.

    Parameters
    ----------
    shapes
        In paint order.
    page : (width, height) or None
        The page, where the file has one. The origin is its top left; without a page, the top
        left of the bounds of all shapes.
    sized
        Whether the coordinates are millimetres. False: the file gave no physical size, the
        coordinates are the file's units, and the user must give width_mm or scale.
    """

    shapes: tuple[Shape, ...]
    page: tuple[float, float] | None
    sized: bool

    def bounds(self) -> tuple[float, float, float, float] | None:
        """Bounds (x0, y0, x1, y1) over the control points' curves, or None where empty."""
        chains = [path.segments for shape in self.shapes for path in shape.paths]
        if not chains:
            return None
        return bezier_bounds(np.concatenate(chains))
