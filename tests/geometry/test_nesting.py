"""Rows that nest in one another: they touch all along, and none comes too near."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from embellish.geometry.contours import along_ring, ring_lines
from embellish.geometry.nesting import MEAN_STEP, Nest, further_in
from tests.layout.ways.fill_cases import polar


@settings(max_examples=30, deadline=None)
@given(
    radius=st.floats(18.0, 40.0),
    waves=st.integers(2, 5),
    deep=st.floats(0.0, 0.12),
    distance=st.floats(2.0, 3.5),
)
def test_a_row_touches_the_one_outside_all_along_and_comes_no_nearer(radius, waves, deep, distance):
    region = shapely.orient_polygons(
        polar(lambda t: radius * (1.0 + deep * np.cos(waves * t)), 400)
    )
    half = np.array([distance / 2.0])
    (line,) = ring_lines(region, distance)
    outer = along_ring(line, half)
    (inner_line,) = ring_lines(
        shapely.orient_polygons(further_in([[outer.line]], MEAN_STEP * distance)), distance
    )
    nest = Nest(outer.xy, np.full(len(outer.xy), distance / 2.0), distance / 2.0)
    inner = along_ring(inner_line, half, nest=nest)
    away = np.asarray(cKDTree(outer.xy).query(inner.xy)[0])
    assert away.min() >= distance - 1e-9
    # Equal gaps along the row let pieces stand a hair off where the line was drawn.
    assert np.quantile(away, 0.9) <= 1.02 * distance


def test_on_average_rows_that_touch_are_nearer_than_a_whole_distance():
    # The mean of sqrt(1 - t^2) from over a piece to over a gap, by Simpson's rule.
    t = np.linspace(0.0, 0.5, 2001)
    weights = np.array([1.0, *([4.0, 2.0] * 999), 4.0, 1.0])
    mean = float((weights * np.sqrt(1.0 - t * t)).sum() * (0.5 / 2000) / 3.0 / 0.5)
    assert mean == pytest.approx(MEAN_STEP, abs=1e-9)
