"""The few stitches that show a seat: which shape, how large, and the proof that it is hidden.

A mark's path stands in the frame of the piece it hides under. Every path is its own half turn
about its centre, so that the bounds of its stitches stay centred at any angle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from embellish.arrays import Floats, frozen
from embellish.catalogue.piece import Hole, Piece
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.outlines import sampled
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout, SetBy
from embellish.plans.stitching.settings import MarkShape, StitchSettings
from embellish.units import MM_PER_STITCH_UNIT

CROSS_FROM_MM: Final = 4.0
"""Smaller pieces get a single tick (common practice, no source)."""
GRID_SLACK_MM: Final = 0.1
"""Rounding to the machine's tenth of a millimetre may move a stitch this far."""
_CHORD_MM: Final = 0.01
"""How far the straight edges of a cover may lie inside the arcs of the piece."""
_SHARE: Final = 0.6
"""A mark's share of the piece."""
_DOT_MM: Final = 0.5
_ARM_MM: Final = 8.0
"""Longer arms of a cross show no more."""

POINT_SYMMETRIC: Final = frozenset(
    ("round", "oval", "navette", "square", "rectangle", "octagon", "bugle")
)


@dataclass(frozen=True, eq=False)
class MarkPath:
    """A mark in the seat's frame.

    Parameters
    ----------
    shape
        What was chosen.
    path : array of shape (k, 2)
        Where the needle goes in, in order.
    centre_mm
        Centre of the path's bounds: the seat's centre or a thread hole.
    hidden
        Whether every stitch is hidden under the piece at its least size.
    cover : Polygon
        What hides it, in the seat's frame.
    girth_mm
        Diameter of the largest circle in the cover.
    """

    shape: MarkShape
    path: Floats
    centre_mm: tuple[float, float]
    hidden: bool
    cover: Polygon
    girth_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "path", frozen(self.path))


def mark_path(layout: Layout, footprint: int, set_by: SetBy, settings: StitchSettings) -> MarkPath:
    """Return the mark of whatever stands on a seat with this footprint."""
    part, piece = _marked_part(layout, footprint)
    cover = Polygon(sampled(piece_outline(piece, "min"), _CHORD_MM))
    shape = _chosen(piece, set_by, settings)
    points, centre = _points(shape, piece, cover, settings)
    shown = LineString(points)
    safe = cover.buffer(-settings.inset_mm + GRID_SLACK_MM)
    hidden = bool(safe.contains(shown))
    frame = directions(np.array(part.angle_deg))
    move = np.array([part.dx_mm, part.dy_mm])
    placed = _turned(points, frame) + move
    at = _turned(np.array([centre]), frame)[0] + move
    ring = _turned(np.asarray(cover.exterior.coords), frame) + move
    girth = 2.0 * float(shapely.length(shapely.maximum_inscribed_circle(cover)))
    return MarkPath(shape, placed, (float(at[0]), float(at[1])), hidden, Polygon(ring), girth)


def _turned(points: Floats, frame: tuple[Floats, Floats]) -> Floats:
    cos, sin = float(frame[0]), float(frame[1])
    x, y = points[:, 0], points[:, 1]
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=1)


def _marked_part(layout: Layout, footprint: int) -> tuple[Part, Piece]:
    """Return the part a mark hides under: the one about the seat's centre, the widest of these."""
    given: Footprint = layout.footprints[footprint]
    if footprint < len(layout.pieces):
        return given.parts[0], layout.pieces[footprint]
    unit = layout.units[footprint - len(layout.pieces)]
    by_code = {piece.code: piece for piece in layout.pieces}
    best = None
    for part, member in zip(given.parts, unit.members, strict=True):
        piece = by_code[member.piece]
        off = float(np.hypot(part.dx_mm, part.dy_mm))
        key = (round(off, 6), -piece.width_mm.min)
        if best is None or key < best[0]:
            best = (key, part, piece)
    assert best is not None  # noqa: S101 - a unit has at least one member
    return best[1], best[2]


def _chosen(piece: Piece, set_by: SetBy, settings: StitchSettings) -> MarkShape:
    plain: MarkShape = "cross"
    if min(piece.length_mm.nominal, piece.width_mm.nominal) < CROSS_FROM_MM:
        plain = "tick"
    asked = settings.shape
    if asked != "auto":
        turned = asked == "outline" and piece.shape not in POINT_SYMMETRIC
        return plain if turned or (asked == "holes" and not _through(piece)) else asked
    if set_by != "sewn":
        # Thread under a glued or pressed piece weakens the bond and tips it: as little as serves.
        return "tick"
    if any(hole.axis == "along" for hole in piece.holes) or piece.shape == "bugle":
        return "tick" if piece.length_mm.nominal < CROSS_FROM_MM else "bar"
    if any((hole.x_mm, hole.y_mm) != (0.0, 0.0) for hole in _through(piece)):
        return "holes"
    return plain


def _through(piece: Piece) -> tuple[Hole, ...]:
    return tuple(hole for hole in piece.holes if hole.axis == "through")


def _points(
    shape: MarkShape, piece: Piece, cover: Polygon, settings: StitchSettings
) -> tuple[Floats, tuple[float, float]]:
    """Return a mark's path in the piece's frame, and its centre."""
    length, width = piece.length_mm.min, piece.width_mm.min
    inset = settings.inset_mm + GRID_SLACK_MM
    # A third at most, also after rounding to the grid.
    points = tick = _bar(max(length / 3.0 - 1.5 * GRID_SLACK_MM, 2.0 * MM_PER_STITCH_UNIT))
    if shape == "holes":
        return _at_holes(piece, tick)
    if shape == "cross":
        points = _cross(_SHARE * length, _SHARE * width)
    elif shape == "bar":
        points = _bar(length - 2.0 * inset)
    elif shape == "dot":
        points = _bar(min(_DOT_MM, length / 3.0 - GRID_SLACK_MM))
    elif shape == "ring":
        points = _ring(_SHARE * length, _SHARE * width, settings.stitch_mm)
    elif shape == "outline":
        inner = cover.buffer(-inset - GRID_SLACK_MM, join_style="mitre")
        if inner.geom_type == "Polygon" and not inner.is_empty:
            points = _densified(np.asarray(inner.exterior.coords), settings.stitch_mm)
    return points, (0.0, 0.0)


def _at_holes(piece: Piece, tick: Floats) -> tuple[Floats, tuple[float, float]]:
    """Return needle points at the thread holes; one hole alone gets a tick of its own."""
    holes = np.array([(hole.x_mm, hole.y_mm) for hole in _through(piece)])
    # Fewest turns of the thread: along the piece.
    holes = holes[np.lexsort((holes[:, 1], holes[:, 0]))]
    if len(holes) == 1:
        return tick + holes[0], (float(holes[0, 0]), float(holes[0, 1]))
    opposite = -holes[::-1]
    if np.abs(holes - opposite).max() > MM_PER_STITCH_UNIT / 10:
        least = min(piece.length_mm.min, piece.width_mm.min) * _SHARE
        return _cross(least, least), (0.0, 0.0)
    return holes, (0.0, 0.0)


def _bar(length: float) -> Floats:
    return np.array([[-length / 2.0, 0.0], [length / 2.0, 0.0]])


def _cross(length: float, width: float) -> Floats:
    """Return both arms in one go; between them the thread goes back to the middle."""
    a, b = min(length, _ARM_MM) / 2.0, min(width, _ARM_MM) / 2.0
    return np.array([[-a, 0.0], [a, 0.0], [0.0, 0.0], [0.0, -b], [0.0, b]])


def _ring(length: float, width: float, stitch: float) -> Floats:
    a, b = length / 2.0, width / 2.0
    # An even count keeps the ring its own half turn.
    count = max(8, 2 * int(np.ceil(np.pi * max(a, b) / stitch)))
    cos, sin = directions(np.arange(count + 1) * 360.0 / count)
    return np.stack([a * cos, b * sin], axis=1)


def _densified(ring: Floats, stitch: float) -> Floats:
    """Return a closed ring with no step longer than a stitch."""
    steps = np.hypot(*np.diff(ring, axis=0).T)
    counts = np.maximum(1, np.ceil(steps / stitch)).astype(np.int64)
    pieces = [
        start + (end - start) * np.arange(count)[:, None] / count
        for start, end, count in zip(ring[:-1], ring[1:], counts, strict=True)
    ]
    return np.concatenate([*pieces, ring[-1:]])
