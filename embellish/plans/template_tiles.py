"""Tiles: a template larger than its sheet, cut along seams that run between holes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.findings import Finding
from embellish.geometry.arrays import Floats, Ints
from embellish.plans.registration import Bounds
from embellish.plans.template_holes import Holes


@dataclass(frozen=True, eq=False)
class Tile:
    """One tile, in layout mm.

    Parameters
    ----------
    trim : array of shape (k, 2)
        Its closed edge.
    members : array of shape (n,)
        Numbers of its holes, ascending.
    points : array of shape (m,)
        Numbers of its registration holes.
    matches
        Ticks at its seams.
    """

    trim: Floats
    members: Ints
    points: Ints
    matches: tuple[Floats, ...] = ()


@dataclass(frozen=True, slots=True)
class Tiling:
    """How tiles are to be.

    Parameters
    ----------
    room_mm
        Greatest width and height of a tile, or None.
    wall_mm
        Least wall between two holes: a seam leaves half of it to each side.
    point_radius_mm
        Of the registration holes.
    words
        What the template is called in findings.
    """

    room_mm: tuple[float, float] | None
    wall_mm: float
    point_radius_mm: float
    words: str


def tiles_of(
    holes: Holes, points: Floats, frame: Bounds, tiling: Tiling
) -> tuple[list[Tile], list[Finding]]:
    """Return the tiles of one template, and what could not be had."""
    x0, y0, x1, y1 = frame
    whole = Tile(
        np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]),
        np.arange(len(holes)),
        np.arange(len(points)),
    )
    return [whole], []
