"""How full and how even fills are, and how fast: `python -m tests.benchmarks fills`."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import shapely
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.geometry.insets import centre_region
from embellish.geometry.lattices import Lattice, best_grid
from embellish.geometry.settling import put_back, settle
from embellish.layout.ways.grid import GRID
from embellish.layout.ways.rings import RINGS
from embellish.layout.ways.way import Way
from tests.benchmarks.yardstick import kd_seconds, seconds, tell
from tests.layout.ways.fill_cases import bound, kit_of, lay

POLYGON = shapely.Polygon(
    [(0, 0), (100, -8), (130, 40), (95, 95), (60, 70), (20, 105), (-15, 50)],
    [
        [(30, 30), (50, 28), (48, 50), (28, 52)],
        [(75, 40), (90, 35), (95, 60), (80, 66)],
    ],
)
"""The polygon with two holes that all fills are measured on."""


def share_of_bound(way: Way, count: float, **settings: Any) -> tuple[float, float, int]:
    """Return the share of the bound a way reaches at about a count, its kd and its count."""
    diameter = math.sqrt(0.82 * POLYGON.area / count)
    kit = kit_of(diameter, gap=0.0, edge=0.0)
    seats = lay(way, [POLYGON], kit, **settings).seats
    took = seconds(lambda: lay(way, [POLYGON], kit, **settings), rounds=1)
    share = len(seats) / bound(centre_region(POLYGON, diameter / 2), diameter)
    return share, took / kd_seconds(seats.xy, diameter), len(seats)


def hex_grids() -> None:
    """The hex grid with the best turn and shift, of the bound of Groemer and Oler."""
    for count, target in ((1.7e3, 0.93), (1.7e4, 0.975), (1e5, 0.975)):
        share, kd, n = share_of_bound(GRID, count)
        tell(f"hex grid, {n} pieces", share, target, "of the bound", at_most=False)
        tell(f"hex grid, {n} pieces, time", kd, 400, "kd")


_NEAR: Final = "near its target: over or under it from run to run where the machine is shared"


def rings() -> None:
    """Contour rings: dense ones, and the crisp ones that are the default."""
    for packing, count, target in (
        ("dense", 1.7e3, 0.87),
        ("dense", 1.7e4, 0.87),
        ("crisp", 1.7e3, 0.87),
        ("crisp", 1.7e4, 0.87),
    ):
        share, kd, n = share_of_bound(RINGS, count, packing=packing)
        tell(f"{packing} rings, {n} pieces", share, target, "of the bound", at_most=False)
        tell(f"{packing} rings, {n} pieces, time", kd, 2000, "kd", why=_NEAR)


def shaken(centres: Any, count: int) -> Floats:
    """Return about a count of points, lattice places shaken by nearly half a pitch."""
    pitch = math.sqrt(centres.area / count * 2.0 / math.sqrt(3.0))
    grid = best_grid(centres, Lattice.hex(pitch), 0.0)
    shake = np.random.default_rng(1).uniform(-0.45, 0.45, (len(grid), 2)) * pitch
    return put_back(grid.xy + shake, [centres], np.zeros(len(grid), dtype=np.int64))


def settling() -> None:
    """Settling from shaken places to a share of the area, until every gap holds, and evenly."""
    for count, share, target in ((10_000, 0.77, 400.0), (100_000, 0.74, 150.0)):
        diameter = math.sqrt(POLYGON.area * share / (count * math.pi / 4.0))
        centres = centre_region(POLYGON, diameter / 2.0)
        xy = shaken(centres, count)
        half, ground = np.full(len(xy), diameter / 2.0), np.zeros(len(xy), dtype=np.int64)
        settled = settle(xy, half, [centres], ground, evening=0)
        took = seconds(
            lambda: settle(xy, half, [centres], ground, evening=0),  # noqa: B023 - run here
            rounds=1,
        )
        near = np.asarray(cKDTree(settled.xy).query(settled.xy, k=2)[0])[:, 1]
        kd = took / kd_seconds(settled.xy, near.min())
        tell(f"settle {len(xy)} to {share}", kd, target, "kd", why=_NEAR)
        tell(f"settle {len(xy)}, short", settled.short_mm / diameter, 0.0, "d")
        tell(f"settle {len(xy)}, spread", float(near.std() / near.mean()), 0.015, "CV")


BENCHMARKS = (hex_grids, rings, settling)
