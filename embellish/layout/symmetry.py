"""Symmetry: an axis, which shapes are mirror images about it, and shapes made ready for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import lines_of, region_of
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.transforms import Affine
from embellish.units import ALIKE_MM, EPS_MM

_LINE_MM: Final = 0.005
_NONE: Final = -1


@dataclass(frozen=True, slots=True)
class Axis:
    """A line of symmetry through (x, y), in a direction clockwise as seen; 90 stands upright."""

    x_mm: float
    y_mm: float
    angle_deg: float = 90.0

    @property
    def mirror(self) -> Affine:
        """The map that takes each side to the other."""
        return Affine.reflect(self.angle_deg, self.x_mm, self.y_mm)

    @property
    def along(self) -> Floats:
        """The unit direction, shape (2,); exact for quarter turns."""
        turn = Affine.turn(self.angle_deg)
        return np.array([turn.a, turn.b])

    @property
    def across(self) -> Floats:
        """The unit direction to the second side, shape (2,): right of an upright axis."""
        along = self.along
        return np.array([along[1], -along[0]])

    def beside(self, xy: Floats) -> Floats:
        """Return the distances of points (..., 2) from the axis, below 0 on the first side."""
        beside: Floats = (xy - (self.x_mm, self.y_mm)) @ self.across
        return beside

    def on(self, xy: Floats) -> Floats:
        """Return the nearest places on the axis."""
        along: Floats = (xy - (self.x_mm, self.y_mm)) @ self.along
        return np.array([self.x_mm, self.y_mm]) + along[..., None] * self.along

    def second_side(self, margin_mm: float, reach_mm: float) -> BaseGeometry:
        """Return the second side, with a margin on the first, as far as anything reaches."""
        low, high = self.along * -reach_mm, self.along * reach_mm
        near, far = self.across * -margin_mm, self.across * reach_mm
        corners = np.array([low + near, high + near, high + far, low + far])
        return shapely.Polygon(np.array([self.x_mm, self.y_mm]) + corners)

    def mapped(self, geometry: BaseGeometry) -> BaseGeometry:
        """Return the mirror image of a geometry."""
        a, b, c, d, e, f = self.mirror.as_list()
        return affine_transform(geometry, [a, c, b, d, e, f])

    def of(self, affine: Affine) -> Axis:
        """Return the axis under a rigid map."""
        x, y = affine(np.array([self.x_mm, self.y_mm])).tolist()
        angle = float(affine.turned_deg(np.array(self.angle_deg)))
        return Axis(x, y, angle % 180.0)


def middle_of(shape: Shape) -> Axis:
    """Return the upright axis through the middle of a shape's bounds."""
    x0, y0, x1, y1 = bezier_bounds(np.concatenate([path.segments for path in shape.paths]))
    return Axis((x0 + x1) / 2.0, (y0 + y1) / 2.0)


def twins_of(shapes: Sequence[Shape], axis: Axis) -> tuple[Ints, Floats]:
    """Return which shape is the mirror image of each, and by how much the two differ.

    Returns
    -------
    twin : array of shape (n,)
        Index of its image: its own where it is symmetric itself, -1 where it has none.
    off_mm : array of shape (n,)
        By how much they differ at most; infinite without an image.
    """
    drawn = [_drawn(shape) for shape in shapes]
    bounds = np.array([each.bounds for each in drawn]).reshape(-1, 4)
    twin = np.full(len(shapes), _NONE, dtype=np.int64)
    off = np.full(len(shapes), np.inf)
    # Every two that may be images, the nearest first, each shape once.
    offers: list[tuple[float, int, int]] = []
    for index, each in enumerate(drawn):
        image = axis.mapped(each)
        near = np.abs(bounds - np.array(image.bounds)).max(axis=1) <= ALIKE_MM
        for other in np.flatnonzero(near[: index + 1]).tolist():
            if shapes[other].kind != shapes[index].kind:
                continue
            apart = float(shapely.hausdorff_distance(image, drawn[other]))
            if apart <= ALIKE_MM:
                offers.append((round(apart, 6), other, index))
    for apart, one, other in sorted(offers):
        if twin[one] == _NONE and twin[other] == _NONE:
            twin[one], twin[other] = other, one
            off[one] = off[other] = apart
    return twin, off


def _drawn(shape: Shape) -> BaseGeometry:
    return shapely.MultiLineString([line.points for line in lines_of(shape, _LINE_MM)])


def made_even(shape: Shape, image: Shape, axis: Axis, off_mm: float) -> Shape:
    """Return a shape to fill of which the image's region holds the mirror image, to the last bit.

    Where a drawing is symmetric but for its rounding, only what both sides have is filled.
    """
    if off_mm <= EPS_MM:
        return shape
    both = region_of(shape).intersection(axis.mapped(region_of(image)))
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(both))]
    paths = tuple(_straight(ring) for ring in rings if len(ring) > 3)
    return replace(shape, paths=paths, fill_rule="evenodd") if paths else shape


def _straight(ring: Floats) -> Path:
    a, b = ring[:-1], ring[1:]
    return Path(np.stack([a, a + (b - a) / 3.0, a + (b - a) * 2.0 / 3.0, b], axis=1), closed=True)


def begun_on(shape: Shape, axis: Axis) -> Shape:
    """Return a shape whose closed lines begin where they first cross the axis."""
    return replace(shape, paths=tuple(_begun_on(p, axis) if p.closed else p for p in shape.paths))


def _begun_on(path: Path, axis: Axis) -> Path:
    beside = axis.beside(path.segments)
    if not len(beside) or abs(float(beside[0, 0])) <= EPS_MM:
        return path
    for index, values in enumerate(beside):
        if abs(float(values[0])) <= EPS_MM:
            return Path(np.roll(path.segments, -index, axis=0), closed=True)
        if np.sign(values[0]) == np.sign(values[3]) and abs(float(values[3])) > EPS_MM:
            continue
        before, after = _split(path.segments[index], _zero(values))
        rest = np.roll(path.segments, -index, axis=0)[1:]
        return Path(np.concatenate([after[None], rest, before[None]]), closed=True)
    return path


def _zero(values: Floats) -> float:
    """Return where a cubic of Bernstein values, of other sign at its ends, is 0: by halving."""
    low, high = 0.0, 1.0
    falling = values[0] > 0.0
    for _ in range(60):
        t = (low + high) / 2.0
        s = 1.0 - t
        at = s**3 * values[0] + 3 * s * s * t * values[1] + 3 * s * t * t * values[2]
        if (at + t**3 * values[3] > 0.0) == falling:
            low = t
        else:
            high = t
    return (low + high) / 2.0


def _split(segment: Floats, t: float) -> tuple[Floats, Floats]:
    """Return both parts of a cubic of control points (4, 2), split at t (de Casteljau)."""
    levels = [segment]
    while len(levels[-1]) > 1:
        points = levels[-1]
        levels.append(points[:-1] * (1.0 - t) + points[1:] * t)
    return np.array([level[0] for level in levels]), np.array([level[-1] for level in levels[::-1]])
