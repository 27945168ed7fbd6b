"""Regions of a field of numbers above a level: edges between the places of its numbers."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from embellish.arrays import Floats
from embellish.formats.extras import extra


def regions_above(field: Any, level: float) -> list[shapely.Polygon]:
    """Return where a field is above a level, holes and all.

    Parameters
    ----------
    field : array of shape (rows, columns)
        Its numbers stand in the middle of squares of side 1, the first at (0.5, 0.5); beyond its
        edge it is taken as far below the level as it is above inside, so that what reaches the
        edge ends there.

    Returns
    -------
    list of Polygon
        x to the right, y down; each is valid.
    """
    framed = np.pad(np.asarray(field, dtype=np.float64), 1, mode="edge")
    for side in (np.s_[0, :], np.s_[-1, :], np.s_[:, 0], np.s_[:, -1]):
        framed[side] = np.minimum(framed[side], 2.0 * level - framed[side])
    contours = extra("contourpy").contour_generator(z=framed, fill_type="OuterOffset")
    points, offsets = contours.filled(level, np.inf)
    found: list[shapely.Polygon] = []
    for ring, ends in zip(points, offsets, strict=True):
        loops: list[Floats] = [ring[a:b] - 0.5 for a, b in pairwise(ends)]
        polygon = shapely.make_valid(shapely.Polygon(loops[0], loops[1:]))
        found += [each for each in shapely.get_parts(polygon) if each.geom_type == "Polygon"]
    return found
