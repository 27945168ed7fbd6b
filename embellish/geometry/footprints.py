"""Footprints: what a seat covers, one outline or several set together, about the seat's centre."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.outlines import Outline, bounds, placed, reach


@dataclass(frozen=True, eq=False)
class Part:
    """One outline of a footprint, moved by (dx, dy) and turned by an angle in the seat's frame."""

    outline: Outline
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    angle_deg: float = 0.0

    @property
    def still(self) -> bool:
        """Whether it is neither moved nor turned."""
        return not (self.dx_mm or self.dy_mm or self.angle_deg)

    @property
    def in_place(self) -> Outline:
        """The outline in the seat's frame."""
        return placed(self.outline, self.dx_mm, self.dy_mm, self.angle_deg)


@dataclass(frozen=True, eq=False)
class Footprint:
    """All that one seat covers, at max size.

    Parameters
    ----------
    parts
        The outlines; a single piece has one.
    reach_mm
        Radius of the circle about the seat's centre that holds every part.
    """

    parts: tuple[Part, ...]
    reach_mm: float

    @classmethod
    def of(cls, *parts: Part | Outline) -> Footprint:
        """Return the footprint of outlines or parts, with its reach."""
        every = tuple(Part(part) if isinstance(part, Outline) else part for part in parts)
        reaches = []
        for part in every:
            radius = part.outline.round_radius_mm
            away = math.hypot(part.dx_mm, part.dy_mm)
            reaches.append(reach(part.in_place) if radius is None else away + radius)
        return cls(every, max(reaches))

    @property
    def round_radius_mm(self) -> float | None:
        """The radius where all parts are circles about the seat's centre, else None.

        A bead on a sequin is as round as the sequin.
        """
        radii = [part.outline.round_radius_mm for part in self.parts]
        if any(part.dx_mm or part.dy_mm for part in self.parts):
            return None
        known = [radius for radius in radii if radius is not None]
        return max(known) if len(known) == len(radii) else None

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Exact bounds (x0, y0, x1, y1) about the seat's centre."""
        every = np.array([bounds(part.in_place) for part in self.parts])
        low, high = every[:, :2].min(axis=0), every[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


@dataclass(frozen=True, eq=False)
class Standing:
    """Footprints standing in their places.

    Parameters
    ----------
    xy : array of shape (n, 2)
        Centres in mm.
    angle_deg : array of shape (n,)
        Turns, clockwise as seen.
    footprint : array of shape (n,)
        Index into ``footprints``.
    footprints
        What may stand at a place.
    """

    xy: Floats
    angle_deg: Floats
    footprint: Ints
    footprints: tuple[Footprint, ...] = field(default=())

    def __len__(self) -> int:
        return len(self.xy)

    @property
    def reach_mm(self) -> Floats:
        """Reach of what stands at each place, shape (n,)."""
        reaches = np.array([footprint.reach_mm for footprint in self.footprints], dtype=np.float64)
        return reaches[self.footprint] if len(self) else np.zeros(0)

    def within(self, low: Floats, high: Floats) -> Standing:
        """Return what has its centre in a box, corners of shape (2,)."""
        inside = ((self.xy >= low) & (self.xy <= high)).all(axis=1)
        return Standing(
            self.xy[inside], self.angle_deg[inside], self.footprint[inside], self.footprints
        )

    @property
    def round_radius_mm(self) -> Floats | None:
        """Radii, shape (n,), where one circle about its centre stands at every place, else None."""
        radii = [footprint.round_radius_mm for footprint in self.footprints]
        used = np.flatnonzero(np.bincount(self.footprint, minlength=len(radii)))
        if any(radii[index] is None for index in used.tolist()):
            return None
        return np.array([radius or 0.0 for radius in radii])[self.footprint]
