"""What the tests of region-filling ways share: awkward regions, a ground of them, the two laws."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely

from embellish.artwork.artwork import Path, Shape
from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.outlines import circle
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.layout.ways.way import Ground, Kit, Laid, Occupied, Way, no_progress
from embellish.units import EPS_MM
from tests.shapes import REGIONS


def polar(radius, count: int) -> shapely.Polygon:
    """Return the polygon of a radius as a function of the angle."""
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    r = np.array([radius(t) for t in turn])
    return shapely.Polygon(np.stack([r * np.cos(turn), r * np.sin(turn)], axis=1))


def spiral() -> shapely.Polygon:
    turn = np.linspace(1.0, 14.0, 300)
    line = np.stack([2.0 * turn * np.cos(turn), 2.0 * turn * np.sin(turn)], axis=1)
    return shapely.LineString(line).buffer(3.0)


DRAWN_STAR = shapely.Polygon(
    [
        *((135.0, 4.0), (145.6, 31.4), (174.9, 33.0), (152.1, 51.6), (159.7, 80.0)),
        *((135.0, 64.0), (110.3, 80.0), (117.9, 51.6), (95.1, 33.0), (124.4, 31.4)),
    ]
)
"""A star as a hand draws it: its two halves are alike, its five points only nearly."""

FILL_REGIONS: dict[str, Any] = {
    **REGIONS,
    "star": shapely.Polygon(
        [
            (
                (30 if k % 2 else 12) * math.cos(k * math.pi / 5),
                (30 if k % 2 else 12) * math.sin(k * math.pi / 5),
            )
            for k in range(10)
        ]
    ),
    "needle": shapely.Polygon([(0, 0), (80, 3), (0, 6)]),
    "sliver": shapely.box(0, 0, 60, 2.5),
    "spiral": spiral(),
    "lobes that nearly touch": shapely.union_all(
        [
            shapely.Point(0, 0).buffer(12),
            shapely.Point(24.2, 0).buffer(12),
            shapely.box(8, -1, 16, 1),
        ]
    ),
    "glyph, an e": shapely.Point(0, 0)
    .buffer(20)
    .difference(shapely.Point(0, 0).buffer(12))
    .union(shapely.box(-15, -3, 19, 3))
    .difference(shapely.box(8, 3, 30, 9)),
    "five thousand vertices": polar(
        lambda t: 25 + 4 * math.cos(7 * t) + 0.2 * math.cos(90 * t), 5000
    ),
}


def shape_of(region: shapely.Polygon | shapely.MultiPolygon, name: str = "shape") -> Shape:
    """Return artwork whose straight lines are the rings of a region."""
    paths = []
    for ring in shapely.get_rings(shapely.get_parts(region)):
        xy = shapely.get_coordinates(ring)
        a, b = xy[:-1], xy[1:]
        segments = np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)
        paths.append(Path(segments, closed=True))
    return Shape(name, "", (), "#000000", None, 0.0, "evenodd", tuple(paths))


def kit_of(*diameters: float, gap: float = 0.3, edge: float = 0.2, shares=None) -> Kit:
    footprints = tuple(Footprint.of(circle(diameter)) for diameter in diameters)
    return Kit(footprints, (0.0,) * len(footprints), shares, gap, edge)


def lay(way: Way, regions, kit: Kit, seed: int = 1, ground=None, **settings) -> Laid:
    """Lay a way in regions; ``ground`` takes further fields of the ground."""
    shapes = tuple(shape_of(region, f"shape {i}") for i, region in enumerate(regions))
    stood = Ground(shapes, **(ground or {}))
    return way.lay(stood, kit, way.settings(**settings), Stream.of(seed, "lay"), no_progress)


def occupied(xy, diameter: float, gap: float) -> Occupied:
    n = len(xy)
    return Occupied(
        np.asarray(xy, dtype=float),
        np.zeros(n),
        np.zeros(n, dtype=np.int64),
        (Footprint.of(circle(diameter)),),
        np.full(n, gap),
    )


def check_laws(laid: Laid, kit: Kit, regions, *, as_laid: bool = False) -> None:
    """No gap below the asked one to the last bit; all inside less the margin; sound columns."""
    seats = laid.seats
    # A layout is turned, moved and rounded before it is judged: the gap must outlive any of it.
    for turn in (0.0, 33.3, 45.0, 217.0):
        xy = np.round(Affine.turn(turn, 90.1, 47.7)(seats.xy), 6)
        angle = np.round(seats.angle_deg + turn, 6)
        _, gaps = neighbour_gaps(xy, angle, seats.choice, kit.footprints, kit.gap_mm + 0.1)
        assert gaps.min(initial=np.inf) >= kit.gap_mm
        if as_laid:
            break
    for number, region in enumerate(regions):
        mine = seats.shape == number
        clearance = edge_clearance(
            np.round(seats.xy[mine], 6),
            seats.angle_deg[mine],
            seats.choice[mine],
            kit.footprints,
            region,
        )
        assert clearance.min(initial=np.inf) >= kit.edge_mm - EPS_MM
        order = np.lexsort((seats.u[mine], seats.row[mine]))
        assert np.array_equal(order, np.arange(mine.sum())), "rows in order, along each row"
    assert np.all(np.diff(seats.shape) >= 0)
    columns = (seats.angle_deg, seats.choice, seats.shape, seats.row, seats.u, seats.weight)
    assert all(len(column) == len(seats) for column in columns)


def bound(centres: Any, pitch: float) -> float:
    """Return how many points a pitch apart a region of centres can hold at most.

    Groemer 1960, "Über die Einlagerung von Kreisen in einen konvexen Bereich"; Oler 1961, "An
    inequality in the geometry of numbers"; Folkman & Graham 1969, "A packing inequality for
    compact convex subsets of the plane" (with the Euler characteristic, for any region).
    """
    euler = sum(1 - len(part.interiors) for part in shapely.get_parts(centres))
    area = 2.0 * centres.area / (math.sqrt(3.0) * pitch**2)
    return float(area + centres.length / (2.0 * pitch) + euler)
