"""Footprints: what a seat covers, one outline or several set together, about the seat's centre."""

from __future__ import annotations

from dataclasses import dataclass

from embellish.geometry.outlines import Outline


@dataclass(frozen=True, eq=False)
class Part:
    """One outline of a footprint, moved by (dx, dy) and turned by an angle in the seat's frame."""

    outline: Outline
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    angle_deg: float = 0.0


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

    @property
    def round_radius_mm(self) -> float | None:
        """The radius where the footprint is one circle about the seat's centre, else None."""
        if len(self.parts) != 1:
            return None
        part = self.parts[0]
        if part.dx_mm or part.dy_mm:
            return None
        return part.outline.round_radius_mm
