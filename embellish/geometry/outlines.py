"""Outlines: one closed chain of circular arcs and straight lines.

A segment runs from vertex i to vertex i + 1 (the last one back to the first). Its bulge is
tan(sweep / 4): 0 is a straight line, 1 a half circle; positive turns clockwise as seen (y down).
A chain runs clockwise as seen, so its shoelace area in (x, y-down) is positive and a convex
arc has a positive bulge. Gap, containment, template holes and drawings all use this one truth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.geometry.arrays import Floats, frozen


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed arc-and-line chain in its own frame, millimetres.

    Parameters
    ----------
    points : array of shape (n, 2)
        Vertices, clockwise as seen; n >= 2.
    bulges : array of shape (n,)
        tan(sweep / 4) of the segment that leaves each vertex.
    round_radius_mm
        The radius where the outline is a circle about the origin, else None: the fast way.
    """

    points: Floats
    bulges: Floats
    round_radius_mm: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        object.__setattr__(self, "bulges", frozen(self.bulges))

    def __len__(self) -> int:
        return len(self.points)


def circle(diameter_mm: float) -> Outline:
    """Return the circle of a round piece: two half circles about the origin."""
    r = diameter_mm / 2.0
    return Outline(np.array([[-r, 0.0], [r, 0.0]]), np.ones(2), round_radius_mm=r)
