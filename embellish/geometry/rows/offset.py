"""Lines beside a line: every offset is a list of lines, each run the way the first one is."""

from __future__ import annotations

from typing import Literal

import numpy as np
import shapely

from embellish.arrays import Floats

Join = Literal["round", "mitre"]

_MITRE_LIMIT = 5.0
_LEAST_LENGTH_MM = 1e-6


def lines_beside(
    points: Floats,
    closed: bool,
    offset_mm: float,
    join: Join = "round",
    tolerance_mm: float = 1e-4,
) -> list[tuple[Floats, bool]]:
    """Return the lines at a distance from a line.

    Parameters
    ----------
    points : array of shape (m, 2)
        The line in mm, y down.
    closed
        Whether it closes.
    offset_mm
        Distance; positive to the right of the way it runs, as seen, negative to the left.
    join
        How corners on the outer side are carried round.
    tolerance_mm
        How far a rounded corner may leave its arc.

    Returns
    -------
    list of (points, closed)
        None where the offset has eaten the line up, several where it has cut it.
    """
    if offset_mm == 0.0:
        return [(points, closed)]
    line = np.asarray(points, dtype=np.float64)
    if len(line) < 2 or (len(line) == 2 and closed):
        return []
    if closed and not np.array_equal(line[0], line[-1]):
        line = np.concatenate([line, line[:1]])
    segments = _quarter_segments(abs(offset_mm), tolerance_mm)
    ring = closed and shapely.LinearRing(line).is_simple and len(line) > 3
    if ring:
        return _beside_ring(line, offset_mm, join, segments)
    # The library's left, where y points up, is the right that is seen where y points down.
    found = shapely.offset_curve(
        shapely.LineString(line),
        offset_mm,
        quad_segs=segments,
        join_style=join,
        mitre_limit=_MITRE_LIMIT,
    )
    return [
        (shapely.get_coordinates(part), bool(closed and part.is_closed))
        for part in shapely.get_parts(found).tolist()
        if part.length > _LEAST_LENGTH_MM
    ]


def _beside_ring(
    line: Floats, offset_mm: float, join: Join, segments: int
) -> list[tuple[Floats, bool]]:
    """Take the edge of a simple ring's grown or shrunk area: no loop of it is lost."""
    area = shapely.Polygon(line)
    signed = _signed_area(line)
    # A ring with positive area in (x, y-down) runs clockwise as seen: its right is inside.
    grown = area.buffer(
        -offset_mm if signed > 0.0 else offset_mm,
        quad_segs=segments,
        join_style=join,
        mitre_limit=_MITRE_LIMIT,
    )
    rings = []
    for part in shapely.get_parts(grown).tolist():
        if part.is_empty:
            continue
        for number, ring in enumerate((part.exterior, *part.interiors)):
            xy = shapely.get_coordinates(ring)
            if (_signed_area(xy) > 0.0) != ((signed > 0.0) == (number == 0)):
                xy = xy[::-1]
            rings.append((_from_nearest(xy[:-1], line[0]), True))
    return rings


def _from_nearest(ring: Floats, start: Floats) -> Floats:
    """Let a ring begin at its vertex nearest to a point, so that starts keep their place."""
    away = np.hypot(ring[:, 0] - start[0], ring[:, 1] - start[1])
    return np.roll(ring, -int(np.argmin(away)), axis=0)


def _signed_area(line: Floats) -> float:
    x, y = line[:, 0] - line[0, 0], line[:, 1] - line[0, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _quarter_segments(radius: float, tolerance: float) -> int:
    """How many chords a quarter circle needs to stay within a tolerance of its arc."""
    half = np.arccos(max(0.0, 1.0 - tolerance / max(radius, tolerance)))
    return int(min(2000, max(8, np.ceil(np.pi / 4.0 / max(half, 1e-4)))))
