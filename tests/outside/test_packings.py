"""The tightest packing against the best-known ones (source beside the table)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from embellish.geometry.insets import Room
from embellish.geometry.streams import Stream
from embellish.geometry.tightest import tightest_points
from tests.outside.packings import CIRCLE_RATIO, SQUARE_DISTANCE

RADIUS = 1e-3


def distance_in(region: shapely.Polygon, count: int, **how: Any) -> float:
    """Return the least distance of the points found in a region grown by their radius."""
    radius = np.full(count, RADIUS)
    found = tightest_points(Room(region), radius, Stream.of(1, "packing"), **how)
    return found.gap_mm + 2.0 * RADIUS


def square(side: float = 100.0) -> shapely.Polygon:
    return shapely.box(0.0, 0.0, side + 2.0 * RADIUS, side + 2.0 * RADIUS)


def disc(radius: float = 50.0) -> shapely.Polygon:
    return shapely.Point(0, 0).buffer(radius + RADIUS, quad_segs=500)


@pytest.mark.parametrize("count", [3, 5, 9, 10])
def test_the_best_known_in_a_square_is_found(count):
    found = distance_in(square(), count, starts=12, shakes=6) / 100.0
    assert found == pytest.approx(SQUARE_DISTANCE[count], rel=1e-6)
    assert found <= SQUARE_DISTANCE[count]


@pytest.mark.parametrize("count", [4, 7])
def test_the_best_known_in_a_circle_is_found(count):
    found = 100.0 / distance_in(disc(), count, starts=10, shakes=4) + 1.0
    assert CIRCLE_RATIO[count] / found >= 0.999
    assert CIRCLE_RATIO[count] / found <= 1.0
