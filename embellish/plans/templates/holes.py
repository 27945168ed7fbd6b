"""Holes: the outline of what stands on a seat, grown by half the clearance, in its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from scipy.spatial import ConvexHull

from embellish.arrays import Floats, Ints, frozen
from embellish.geometry.footprints import Footprint
from embellish.geometry.outline_offsets import offset
from embellish.geometry.outlines import Outline, bounds, circle, placed, reach, sampled
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout

_INSIDE_MM: Final = 1e-9
_HULL_MM: Final = 1e-3
"""How closely the hull of a unit of several outlines follows them, always outside."""


@dataclass(frozen=True, eq=False)
class Holes:
    """Holes of some seats, in one frame.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The seats' centres in mm.
    radius_mm : array of shape (n,)
        Of round holes; nan where a hole is shaped.
    shaped
        The outline of each shaped hole, in its place, by its number.
    """

    xy: Floats
    radius_mm: Floats
    shaped: Mapping[int, Outline]

    def __post_init__(self) -> None:
        object.__setattr__(self, "xy", frozen(self.xy))
        object.__setattr__(self, "radius_mm", frozen(self.radius_mm))
        object.__setattr__(self, "shaped", MappingProxyType(dict(self.shaped)))

    def __len__(self) -> int:
        return len(self.xy)

    def taken(self, keep: Ints) -> Holes:
        """Return the holes of these numbers, in this order."""
        shaped = {
            new: self.shaped[old] for new, old in enumerate(keep.tolist()) if old in self.shaped
        }
        return Holes(self.xy[keep], self.radius_mm[keep], shaped)

    def mapped(self, affine: Affine) -> Holes:
        """Return the holes under a rigid map, mirrored or not."""
        shaped = {index: mapped_outline(each, affine) for index, each in self.shaped.items()}
        return Holes(affine(self.xy), self.radius_mm, shaped)

    def outline(self, index: int) -> Outline:
        """Return the outline of one hole in its place, round ones too."""
        if index in self.shaped:
            return self.shaped[index]
        x, y = self.xy[index].tolist()
        return placed(circle(2.0 * float(self.radius_mm[index])), x, y)

    def boxes(self) -> Floats:
        """Return the bounds of each hole, shape (n, 4): x0, y0, x1, y1."""
        radius = self.radius_mm[:, None]
        boxes = np.concatenate([self.xy - radius, self.xy + radius], axis=1)
        for index, outline in self.shaped.items():
            boxes[index] = bounds(outline)
        return boxes

    def ring(self, index: int, step_mm: float) -> Floats:
        """Return points along one hole no further than a step apart, for seams between holes."""
        if index in self.shaped:
            return _stepped(sampled(self.shaped[index], step_mm / 8.0), step_mm)
        radius = float(self.radius_mm[index])
        count = max(8, int(np.ceil(2.0 * np.pi * radius / step_mm)))
        turns = 2.0 * np.pi * np.arange(count) / count
        spokes = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        return np.asarray(self.xy[index] + radius * spokes)


def hole_outlines(footprints: tuple[Footprint, ...], clearance_mm: Floats) -> list[Outline]:
    """Return the hole of each footprint in its own frame, grown by half its clearance."""
    return [
        hole_of(footprint, clearance)
        for footprint, clearance in zip(footprints, clearance_mm.tolist(), strict=True)
    ]


def hole_of(footprint: Footprint, clearance_mm: float) -> Outline:
    """Return the hole of a footprint in its own frame."""
    radius = footprint.round_radius_mm
    if radius is not None:
        return circle(2.0 * radius + clearance_mm)
    whole = whole_outline(footprint)
    return offset(whole, clearance_mm / 2.0) if clearance_mm else whole


def whole_outline(footprint: Footprint) -> Outline:
    """Return one outline around all parts: the part that holds the others, else their hull."""
    parts = [
        placed(part.outline, part.dx_mm, part.dy_mm, part.angle_deg) for part in footprint.parts
    ]
    if len(parts) == 1:
        return parts[0]
    for part in footprint.parts:
        radius = part.outline.round_radius_mm
        if radius is None:
            continue
        if all(reach(each, part.dx_mm, part.dy_mm) <= radius + _INSIDE_MM for each in parts):
            return placed(part.outline, part.dx_mm, part.dy_mm)
    return _hull(parts)


def _hull(outlines: list[Outline]) -> Outline:
    """Return an outline that holds all of these, nowhere further out than 2 micrometres."""
    points = np.concatenate([sampled(each, _HULL_MM) for each in outlines])
    ring = hull_ring(points)
    return offset(Outline(ring, np.zeros(len(ring))), _HULL_MM)


def hull_ring(points: Floats) -> Floats:
    """Return the convex hull of points as a ring (k, 2), clockwise as seen."""
    # scipy's order is counterclockwise with y up, which is clockwise as seen with y down.
    return np.asarray(points[ConvexHull(points).vertices])


def holes_of(layout: Layout, rows: Ints, clearance_mm: Floats) -> Holes:
    """Return the holes of these seats in layout mm.

    Parameters
    ----------
    layout
        Where they stand.
    rows : array of shape (n,)
        Which seats.
    clearance_mm : array of shape (k,)
        Of each of the layout's footprints.
    """
    which = layout.footprint[rows]
    shaped: dict[int, Outline] = {}
    radius = np.full(len(rows), np.nan)
    for index in np.unique(which).tolist():
        mine = np.flatnonzero(which == index)
        hole = hole_of(layout.footprints[index], float(clearance_mm[index]))
        if hole.round_radius_mm is not None:
            radius[mine] = hole.round_radius_mm
            continue
        for place in mine.tolist():
            x, y = layout.xy[rows[place]].tolist()
            shaped[place] = placed(hole, x, y, float(layout.angle_deg[rows[place]]))
    return Holes(layout.xy[rows], radius, shaped)


def mapped_outline(outline: Outline, affine: Affine) -> Outline:
    """Return an outline under a rigid map; it runs clockwise as seen again."""
    points = affine(outline.points)
    if not affine.mirrors:
        return Outline(points, outline.bulges)
    return Outline(points[::-1], np.roll(outline.bulges[::-1], -1))


def _stepped(ring: Floats, step_mm: float) -> Floats:
    """Return a closed ring of points with more put in, so that none is a step from the next."""
    ends = np.roll(ring, -1, axis=0)
    counts = np.maximum(1, np.ceil(np.hypot(*(ends - ring).T) / step_mm)).astype(np.int64)
    segment = np.repeat(np.arange(len(ring)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    t = ((np.arange(len(segment)) - first) / counts[segment])[:, None]
    return np.asarray(ring[segment] * (1.0 - t) + ends[segment] * t)
