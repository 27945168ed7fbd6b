"""The first look at points near lines: it never misses one, and passes few that are far."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from embellish.geometry.near_edges import perhaps_near
from tests.layout.ways.fill_cases import FILL_REGIONS


@pytest.mark.parametrize("distance", [0.0, 0.05, 1.2, 9.0])
@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_every_near_point_is_found_and_few_far_ones(name, distance):
    region = FILL_REGIONS[name]
    x0, y0, x1, y1 = region.bounds
    xy = np.random.default_rng(5).uniform((x0, y0), (x1, y1), (4_000, 2))
    # Some lie on the very edge, and within a hair of the distance.
    xy[:200] = shapely.get_coordinates(shapely.segmentize(region.boundary, 0.5))[:200][
        np.arange(200) % 150
    ]
    away = shapely.distance(region.boundary, shapely.points(xy))
    found = perhaps_near(region.boundary, xy, distance)
    assert found[away <= distance].all()
    step = max(distance, region.boundary.length / 50_000, 1e-3)
    assert not found[away > distance + 2.0 * step].any()


def test_few_points_are_all_measured():
    region = FILL_REGIONS["square"]
    assert perhaps_near(region.boundary, np.full((3, 2), 1e3), 0.1).all()
