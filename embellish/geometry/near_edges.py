"""A quick first look at which of many points come near lines, before distances are measured."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats

_FEW: Final = 1_000
"""So few points are measured sooner than looked at."""
_MOST_SAMPLES: Final = 50_000


def perhaps_near(lines: BaseGeometry, xy: Floats, distance_mm: float) -> Bools:
    """Tell which points may lie within a distance of lines: all that do, and few that do not.

    Parameters
    ----------
    lines
        Lines or rings, such as a region's boundary.
    xy : array of shape (n, 2)
        The points.
    distance_mm
        The distance.

    Returns
    -------
    bool array of shape (n,)
    """
    if len(xy) < _FEW or lines.is_empty or not np.isfinite(distance_mm):
        return np.ones(len(xy), dtype=np.bool_)
    # Every point of a line is within half a step of a sample.
    step = max(distance_mm, lines.length / _MOST_SAMPLES, 1e-3)
    samples = shapely.get_coordinates(shapely.segmentize(lines, step))
    away, _ = cKDTree(samples).query(xy, distance_upper_bound=distance_mm + step)
    return np.asarray(np.isfinite(away), dtype=np.bool_)
