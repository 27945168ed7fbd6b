"""Fills against figures from outside: published stones a square inch, the densest lattice, the
bound no packing passes.
"""

from __future__ import annotations

import math

import pytest
import shapely

from embellish.geometry.insets import centre_region
from embellish.layout.ways.grid import GRID
from embellish.layout.ways.rings import RINGS
from tests.layout.ways.fill_cases import FILL_REGIONS, bound, kit_of, lay

# Size, published stones per square inch, mean diameter in mm. The figures equal a touching square
# grid at the mean diameter. Source: rhinestonesetc.com, "How many rhinestones needed to
# rhinestone boots".
PER_SQUARE_INCH = [
    ("SS12", 67.14, 3.10),
    ("SS16", 42.41, 3.90),
    ("SS20", 29.20, 4.70),
    ("SS30", 15.68, 6.41),
]


@pytest.mark.parametrize(("size", "published", "diameter"), PER_SQUARE_INCH)
def test_published_stones_per_square_inch(size, published, diameter):
    """Twenty inches square, so that the edge counts little; it can only cost, never add."""
    side = 20 * 25.4
    kit = kit_of(diameter, gap=0.0, edge=0.0)
    laid = lay(GRID, [shapely.box(0, 0, side, side)], kit, pattern="square", angle_deg=0.0)
    # A grid of n by n touching stones covers n diameters: what is left at the edge is no stone.
    n = math.floor(side / diameter * (1 - 1e-6))
    assert len(laid.seats) == n * n
    per_inch = len(laid.seats) / (n * diameter / 25.4) ** 2
    assert per_inch == pytest.approx(published, rel=0.0015), size


def test_hex_nears_the_densest_lattice():
    """pi / (2 sqrt 3) of the plane, Lagrange 1773; Thue 1892, Fejes Toth 1940 for any packing."""
    best = math.pi / (2.0 * math.sqrt(3.0))
    shares = []
    for diameter in (8.0, 4.0, 2.0, 1.0):
        region = shapely.Point(0, 0).buffer(75, quad_segs=200)
        count = len(lay(GRID, [region], kit_of(diameter, gap=0.0, edge=0.0)).seats)
        shares.append(count * math.pi * diameter**2 / 4.0 / region.area)
    assert shares == sorted(shares)
    assert 0.97 * best < shares[-1] < best


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("way", [GRID, RINGS], ids=["grid", "rings"])
def test_no_fill_passes_the_bound_of_groemer_and_oler(way, name):
    """2A/(sqrt 3 d^2) + P/(2d) + chi for the region of centres.

    Groemer 1960; Oler 1961; Folkman & Graham 1969 (papers named in ``fill_cases.bound``).
    """
    region = FILL_REGIONS[name]
    for diameter in (1.2, 3.0):
        laid = lay(way, [region], kit_of(diameter, gap=0.0, edge=0.0))
        assert len(laid.seats) <= bound(centre_region(region, diameter / 2), diameter) + 1e-3


def test_the_bound_is_reached_where_it_can_be():
    """A triangle of the lattice's own shape holds n (n + 1) / 2: Oler's bound with equality."""
    n, d = 12, 2.0
    side = (n - 1) * d * (1 + 1e-5)
    corners = [(0.0, 0.0), (side, 0.0), (side / 2, side * math.sqrt(0.75))]
    centres = shapely.Polygon(corners)
    region = centres.buffer(d / 2, quad_segs=2048)
    laid = lay(GRID, [region], kit_of(d, gap=0.0, edge=0.0))
    assert len(laid.seats) == n * (n + 1) // 2
    assert bound(centres, d) == pytest.approx(n * (n + 1) / 2, rel=1e-3)
