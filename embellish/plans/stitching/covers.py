"""What hides thread: the pieces that are marked, at their least size, and how much shows between.

Only pieces that are marked anyway count: thread is not led under stones that must bond.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import sampled
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout
from embellish.plans.stitching.shapes import MarkPath

Size = Literal["min", "max"]

_CHORD_MM: Final = 0.002
"""How far straight edges may lie inside the arcs of a cover: below a hundredth of a stitch unit."""


@dataclass(frozen=True, eq=False)
class Cover:
    """What hides a mark: half planes about the seat's centre, in the seat's frame.

    Parameters
    ----------
    normal : array of shape (k, 2)
        Outward normals.
    reach : array of shape (k,)
        Distance of each edge from the centre along its normal.
    radius
        Of the circle about the centre that holds it.
    """

    normal: Floats
    reach: Floats
    radius: float

    @classmethod
    def of(cls, polygon: Polygon) -> Cover:
        """Return the cover of a polygon; of a hollow one, the part all its edges look on."""
        ring = np.asarray(polygon.exterior.coords, dtype=np.float64)[:-1]
        if not polygon.exterior.is_ccw:
            ring = ring[::-1]
        edge = np.roll(ring, -1, axis=0) - ring
        length = np.hypot(edge[:, 0], edge[:, 1])
        keep = length > 1e-9
        normal = np.stack([edge[:, 1], -edge[:, 0]], axis=1)[keep] / length[keep][:, None]
        radius = float(np.hypot(ring[:, 0], ring[:, 1]).max())
        return cls(normal, np.sum(normal * ring[keep], axis=1), radius)


class Covers:
    """The covers of all seats of a layout that are marked."""

    def __init__(self, layout: Layout, paths: Mapping[tuple[int, int], MarkPath]) -> None:
        kinds: list[Cover] = []
        seats: list[Ints] = [np.zeros(0, dtype=np.int64)]
        kind: list[Ints] = [np.zeros(0, dtype=np.int64)]
        for (footprint, lay), path in paths.items():
            mine = np.flatnonzero((layout.footprint == footprint) & (layout.lay == lay))
            one = footprint < len(layout.pieces)
            # Every piece of a unit hides what runs beneath it.
            for part in [path.cover] if one else members_of(layout, footprint, "min"):
                seats.append(mine)
                kind.append(np.full(len(mine), len(kinds)))
                kinds.append(Cover.of(part))
        of = np.concatenate(seats)
        self.kinds = tuple(kinds)
        self.kind: Ints = np.concatenate(kind)
        self.places: Floats = layout.xy[np.unique(of)]
        """Where the seats are, each once."""
        self.xy: Floats = layout.xy[of]
        self.cos, self.sin = directions(layout.angle_deg[of])
        radius = np.array([cover.radius for cover in self.kinds])[self.kind]
        low, high = self.xy - radius[:, None], self.xy + radius[:, None]
        self.tree = shapely.STRtree(shapely.box(*low.T, *high.T).tolist())

    def shown_mm(self, start: Floats, end: Floats) -> Floats:
        """Return the longest stretch of each straight travel that no piece hides, shape (m,).

        Parameters
        ----------
        start, end : arrays of shape (m, 2)
            Where it leaves and arrives.
        """
        step = end - start
        length = np.hypot(step[:, 0], step[:, 1])
        unit = step / np.where(length > 0.0, length, 1.0)[:, None]
        lines = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
        line, seat = self.tree.query(lines)
        into, out = self._crossed(start[line], unit[line], seat)
        into, out = np.maximum(into, 0.0), np.minimum(out, length[line])
        met = out > into
        line, into, out = line[met], into[met], out[met]
        # The far end of every travel closes its last stretch.
        every = np.arange(len(length))
        line = np.concatenate([line, every])
        into, out = np.concatenate([into, length]), np.concatenate([out, length])
        order = np.lexsort((into, line))
        line, into, out = line[order], into[order], out[order]
        # How far each travel is hidden before each stretch: a running maximum within the line.
        lift = float(length.max(initial=0.0)) + 1.0
        hidden = np.maximum.accumulate(out + lift * line) - lift * line
        first = np.flatnonzero(np.diff(line, prepend=-1))
        before = np.concatenate([[0.0], hidden[:-1]])
        before[first] = 0.0
        shown: Floats = np.maximum.reduceat(np.maximum(into - before, 0.0), first)
        return shown

    def _crossed(self, start: Floats, unit: Floats, seat: Ints) -> tuple[Floats, Floats]:
        """Return where lines go into covers and out again, in mm from their starts."""
        into, out = np.full(len(seat), np.inf), np.full(len(seat), -np.inf)
        for number, cover in enumerate(self.kinds):
            mine = np.flatnonzero(self.kind[seat] == number)
            at = seat[mine]
            cos, sin = self.cos[at][:, None], self.sin[at][:, None]
            turned = []
            for given in (start[mine] - self.xy[at], unit[mine]):
                x, y = given[:, :1], given[:, 1:]
                turned.append(np.concatenate([x * cos + y * sin, y * cos - x * sin], axis=1))
            point, way = turned
            toward = way @ cover.normal.T
            left = cover.reach - point @ cover.normal.T
            cut = left / np.where(np.abs(toward) > 1e-9, toward, 1.0)
            leaves = np.where(toward > 1e-9, cut, np.inf).min(axis=1)
            enters = np.where(toward < -1e-9, cut, -np.inf).max(axis=1)
            outside = ((np.abs(toward) <= 1e-9) & (left < 0.0)).any(axis=1)
            into[mine] = np.where(outside, np.inf, enters)
            out[mine] = np.where(outside, -np.inf, leaves)
        return into, out


def in_frame(layout: Layout, seats: Ints, points: Floats) -> Floats:
    """Return points in the frames of seats, one seat a point."""
    cos, sin = directions(layout.angle_deg[seats])
    x, y = (points - layout.xy[seats]).T
    return np.stack([x * cos + y * sin, y * cos - x * sin], axis=1)


def cover_of(layout: Layout, footprint: int, size: Size) -> BaseGeometry:
    """Return what stands on a seat with this footprint, at one end of its sizes, in its frame."""
    return shapely.union_all(members_of(layout, footprint, size))


def members_of(layout: Layout, footprint: int, size: Size) -> list[Polygon]:
    """Return the pieces on a seat with this footprint, at one end of their sizes, in its frame."""
    if footprint < len(layout.pieces):
        return [_polygon(layout, layout.pieces[footprint].code, size)]
    return [
        affinity.translate(
            # Y runs down here, so that the counterclockwise turn looks clockwise.
            affinity.rotate(
                _polygon(layout, member.piece, size), member.angle_deg, origin=(0.0, 0.0)
            ),
            member.dx_mm,
            member.dy_mm,
        )
        for member in layout.units[footprint - len(layout.pieces)].members
    ]


def _polygon(layout: Layout, code: str, size: Size) -> Polygon:
    piece = next(piece for piece in layout.pieces if piece.code == code)
    outline = piece_outline(piece, "min") if size == "min" else piece_outline(piece, "max")
    return Polygon(sampled(outline, _CHORD_MM))
