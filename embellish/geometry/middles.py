"""Where a line beside an edge has no room for both its sides, and the middle it shares there.

A line at a distance from the edge of a stroke runs up one side and down the other. Where these are
nearer than rows may be, a row would lean on one side: down the middle it serves both.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.geometry.centrelines.centreline import centrelines
from embellish.geometry.insets import areal

_LEAST_LONG: Final = 4.0
"""In pitches: a stroke, not a tip, in which a row finds its way by itself."""
_LEAST_WIDE: Final = 0.02
"""In pitches: in what is narrower no eye sees a row lean."""
_HAIR: Final = 1e-3
_QUAD_SEGS: Final = 16
_SAMPLE: Final = 0.1


def lines_with_middles(core: BaseGeometry, pitch_mm: float) -> list[tuple[Floats, bool]]:
    """Return the outline of a region, with one line down the middle where it is narrow.

    Parameters
    ----------
    core
        Polygon or multipolygon whose outline a row is to follow.
    pitch_mm
        Least distance between two rows.

    Returns
    -------
    list of (points, closed)
        Whole rings where nothing is narrow; else what is left of them, and the middles.
    """
    if pitch_mm <= 0.0:
        return [(shapely.get_coordinates(ring), True) for ring in _rings(core)]
    half = pitch_mm / 2.0
    wide = core.buffer(-half, quad_segs=_QUAD_SEGS).buffer(
        half * (1.0 + _HAIR), quad_segs=_QUAD_SEGS
    )
    narrow = [
        part
        for part in shapely.get_parts(areal(core.difference(wide)))
        if part.length > 2.0 * _LEAST_LONG * pitch_mm and _wide(part) > _LEAST_WIDE * pitch_mm
    ]
    if not narrow:
        return [(shapely.get_coordinates(ring), True) for ring in _rings(core)]
    near = shapely.union_all(narrow).buffer(_HAIR * pitch_mm)
    found: list[tuple[Floats, bool]] = []
    for ring in _rings(core):
        left = ring.difference(near)
        if left.length >= ring.length * (1.0 - 1e-9):
            found.append((shapely.get_coordinates(ring), True))
            continue
        # Bits between two middles have no room beside those.
        parts = [
            part for part in shapely.get_parts(shapely.line_merge(left)) if part.length > pitch_mm
        ]
        found.extend((shapely.get_coordinates(part), False) for part in parts)
    for part in narrow:
        lines = centrelines(part, min(_SAMPLE * pitch_mm, 0.5 * _wide(part)), extend=False)
        long = [line for line in lines.branches if _length(line.xy) > pitch_mm]
        found.extend((line.xy, line.closed) for line in long)
    return found


def _wide(part: BaseGeometry) -> float:
    """Return how wide a stroke is on average."""
    return float(2.0 * part.area / part.length)


def _length(line: Floats) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _rings(core: BaseGeometry) -> list[BaseGeometry]:
    return [
        ring
        for part in shapely.get_parts(core)
        if part.area > 0.0
        for ring in (part.exterior, *part.interiors)
    ]
