from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.outline_forms import oval, rectangle
from embellish.geometry.outlines import circle
from tests.shapes import OUTLINES, REGIONS, polygon_of

NAMES = sorted(OUTLINES)
FOOTPRINTS = tuple(Footprint.of(OUTLINES[name]) for name in NAMES)


def clearance(
    x: float, y: float, angle: float, footprint: Footprint, region: BaseGeometry
) -> float:
    found = edge_clearance(
        np.array([[x, y]]), np.array([angle]), np.array([0]), (footprint,), region
    )
    return float(found[0])


@pytest.mark.parametrize("name", REGIONS)
@given(st.integers(0, 10**6))
@settings(max_examples=8, deadline=None)
def test_clearance_agrees_with_dense_polygons(name, seed):
    region = REGIONS[name]
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = region.bounds
    xy = rng.uniform([x0 - 4, y0 - 4], [x1 + 4, y1 + 4], (40, 2))
    angle, kind = rng.uniform(0, 360, 40), rng.integers(0, len(NAMES), 40)
    found = edge_clearance(xy, angle, kind, FOOTPRINTS, region)
    places = zip(kind.tolist(), xy.tolist(), angle.tolist(), strict=True)
    dense = np.array([polygon_of(OUTLINES[NAMES[k]], x, y, turn) for k, (x, y), turn in places])
    inside = np.asarray(shapely.contains(region, dense))
    distance = np.asarray(shapely.distance(region.boundary, dense))
    assert found[inside] == pytest.approx(distance[inside], abs=2e-5)
    out = np.asarray(shapely.area(shapely.difference(dense, region)))
    assert np.all(found[out > 1e-3] < 0.0)
    near = edge_clearance(xy, angle, kind, FOOTPRINTS, region, within_mm=0.6)
    assert np.array_equal(near < 0.6, found < 0.6)
    assert near[found < 0.6] == pytest.approx(found[found < 0.6])


def test_round_clearance_is_the_distance_less_the_radius():
    square = shapely.box(0, 0, 10, 10)
    stone = Footprint.of(circle(3.0))
    assert clearance(2.0, 5.0, 0.0, stone, square) == 0.5
    assert clearance(1.0, 5.0, 0.0, stone, square) == -0.5
    assert clearance(-2.0, 5.0, 0.0, stone, square) == -3.5


def test_shaped_clearance_is_exact_on_arcs_and_after_turns():
    square = shapely.box(0, 0, 40, 40)
    assert clearance(20.0, 3.5, 0.0, Footprint.of(oval(8.0, 6.0)), square) == pytest.approx(0.5)
    assert clearance(20.0, 3.5, 90.0, Footprint.of(oval(8.0, 6.0)), square) == pytest.approx(-0.5)
    assert clearance(20.0, 1.0, 0.0, Footprint.of(rectangle(4.0, 2.0)), square) == 0.0


def test_an_arc_over_the_edge_between_its_ends_is_out():
    bulging = Footprint.of(OUTLINES["navette"])
    assert clearance(20.0, 2.4, 0.0, bulging, shapely.box(0, 0, 40, 40)) == pytest.approx(-0.1)


def test_a_hole_of_the_region_under_a_piece_is_out():
    hole = shapely.box(-0.2, -0.2, 0.2, 0.2)
    region = shapely.box(-20, -20, 20, 20).difference(hole)
    for outline in (OUTLINES["oval"], OUTLINES["round"], OUTLINES["bugle"]):
        assert clearance(0.3, 0.0, 10.0, Footprint.of(outline), region) < -0.1


def test_an_edge_within_an_inlet_of_the_piece_is_not_under_it():
    spike = shapely.Polygon([(20, -0.5), (1, 0), (20, 0.5)])
    region = shapely.box(-20, -20, 20, 20).difference(spike)
    found = clearance(0.0, 0.0, 0.0, Footprint.of(OUTLINES["cee"]), region)
    exact = shapely.distance(polygon_of(OUTLINES["cee"]), region.boundary)
    assert found == pytest.approx(exact, abs=2e-5)


def test_every_part_of_a_unit_counts():
    unit = Footprint.of(rectangle(4.0, 1.0), Part(circle(1.0), 3.0, 0.0))
    square = shapely.box(0, 0, 40, 40)
    assert clearance(20.0, 4.5, 270.0, unit, square) == pytest.approx(1.0)
    assert clearance(20.0, 4.5, 90.0, unit, square) == pytest.approx(2.5)


def test_an_empty_region_holds_nothing():
    assert clearance(0.0, 0.0, 0.0, FOOTPRINTS[0], shapely.Polygon()) == -np.inf
    none = np.zeros(0, dtype=np.int64)
    found = edge_clearance(np.zeros((0, 2)), np.zeros(0), none, FOOTPRINTS, REGIONS["square"])
    assert found.shape == (0,)
