"""Affine maps of the plane as immutable values: x' = a·x + c·y + e, y' = b·x + d·y + f."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Self

import numpy as np

from embellish.arrays import Floats


@dataclass(frozen=True, slots=True)
class Affine:
    """An affine map, in the order of SVG's ``matrix(a b c d e f)``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def move(cls, dx: float, dy: float) -> Self:
        """Return the map that moves by (dx, dy)."""
        return cls(1.0, 0.0, 0.0, 1.0, dx, dy)

    @classmethod
    def scale(cls, sx: float, sy: float | None = None) -> Self:
        """Return the map that scales about the origin."""
        return cls(sx, 0.0, 0.0, sx if sy is None else sy, 0.0, 0.0)

    @classmethod
    def turn(cls, angle_deg: float, x: float = 0.0, y: float = 0.0) -> Self:
        """Return the turn by an angle, clockwise as seen, about (x, y); quarter turns are exact."""
        quarters, rest = divmod(angle_deg, 90.0)
        if rest == 0.0:
            cos, sin = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][int(quarters) % 4]
        else:
            cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        return cls(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)

    @classmethod
    def mirror_x(cls, x: float = 0.0) -> Self:
        """Return the left-right mirror about the vertical line through x."""
        return cls(-1.0, 0.0, 0.0, 1.0, 2.0 * x, 0.0)

    @classmethod
    def reflect(cls, axis_deg: float, x: float = 0.0, y: float = 0.0) -> Self:
        """Return the mirror about the line through (x, y) in a direction; quarters are exact."""
        turn = cls.turn(2.0 * axis_deg)
        cos, sin = turn.a, turn.b
        return cls(cos, sin, sin, -cos, x - cos * x - sin * y, y - sin * x + cos * y)

    def __matmul__(self, first: Affine) -> Affine:
        """Return the map that applies ``first``, then this one."""
        return Affine(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    def __call__(self, xy: Floats) -> Floats:
        """Map points of shape (..., 2)."""
        x, y = xy[..., 0], xy[..., 1]
        return np.stack(
            [self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f], axis=-1
        )

    @property
    def determinant(self) -> float:
        """a·d − b·c: negative where the map mirrors."""
        return self.a * self.d - self.b * self.c

    @property
    def mirrors(self) -> bool:
        """Whether the map turns left into right."""
        return self.determinant < 0.0

    def inverse(self) -> Affine:
        """Return the map that undoes this one.

        Raises
        ------
        ZeroDivisionError
            Where the map flattens the plane.
        """
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def seen_through(self, frame: Affine) -> Affine:
        """Return this map for places that were all moved by another: the same, seen from there."""
        return self if self == IDENTITY else frame @ self @ frame.inverse()

    def stretches(self) -> tuple[float, float]:
        """Return by how much the map lengthens a step at the least, and at the most."""
        sizes = np.linalg.svd(np.array([[self.a, self.c], [self.b, self.d]]), compute_uv=False)
        return float(sizes[1]), float(sizes[0])

    def turned_deg(self, angle_deg: Floats) -> Floats:
        """Map directions (degrees clockwise as seen) by a rigid map, mirrored or not."""
        turn = math.degrees(math.atan2(self.b, self.a))
        return turn - angle_deg if self.mirrors else turn + angle_deg

    def as_list(self) -> list[float]:
        """Return [a, b, c, d, e, f]."""
        return [self.a, self.b, self.c, self.d, self.e, self.f]


IDENTITY = Affine()
