"""Contours: equal straight gaps round rings, corners and narrow tips."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.contours import along_ring, edge_rings
from tests.layout.ways.fill_cases import FILL_REGIONS


def ring_of(region: Any) -> Any:
    return shapely.get_coordinates(region.exterior)


@settings(max_examples=30, deadline=None)
@given(st.floats(3.0, 20.0), st.floats(0.3, 1.0))
def test_chords_round_a_ring_are_equal_and_as_many_as_fit(radius, half):
    ring = ring_of(shapely.Point(0, 0).buffer(radius, quad_segs=300))
    row = along_ring(ring, np.array([half]))
    chord = np.hypot(*(np.roll(row.xy, -1, axis=0) - row.xy).T)
    assert np.ptp(chord) < 1e-7
    assert chord.min() >= 2 * half - 1e-8
    length = shapely.length(shapely.LinearRing(ring))
    assert len(row.xy) == int(length / (2 * half)) or chord.mean() < 2 * half * (1 + 2 / len(chord))
    assert np.all(np.diff(row.u) > 0)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.2, 1.0))
def test_a_sequence_leaves_the_same_gap_between_all(large, share):
    ring = ring_of(shapely.Point(0, 0).buffer(20, quad_segs=300))
    half = np.array([large, large * share, large * share])
    row = along_ring(ring, half)
    each = half[row.size]
    gap = np.hypot(*(np.roll(row.xy, -1, axis=0) - row.xy).T) - each - np.roll(each, -1)
    assert np.ptp(gap) < 1e-7
    assert gap.min() >= -1e-8
    assert np.array_equal(row.size, np.arange(len(row.xy)) % 3)
    assert len(row.xy) % 3 == 0


def test_corners_get_a_point_each_and_sides_share_out_evenly():
    row = along_ring(ring_of(shapely.box(0, 0, 10.3, 7.1)), np.array([0.5]))
    assert row.corner.sum() == 4
    assert {tuple(xy) for xy in row.xy[row.corner].tolist()} == {
        (0.0, 0.0),
        (10.3, 0.0),
        (10.3, 7.1),
        (0.0, 7.1),
    }
    chord = np.sort(np.hypot(*(np.roll(row.xy, -1, axis=0) - row.xy).T))
    assert chord == pytest.approx([7.1 / 7] * 14 + [1.03] * 20)


@pytest.mark.parametrize("angle", [10.0, 25.0, 36.0, 50.0, 59.0])
def test_a_narrow_tip_has_a_middle_and_a_pair_that_touches_it(angle):
    far = 40.0
    rise = far * np.tan(np.radians(angle / 2))
    row = along_ring(np.array([[0, 0], [far, rise], [far, -rise], [0, 0.0]]), np.array([0.5]))
    xy = row.xy[np.argsort(row.xy[:, 0], kind="stable")]
    middle = xy[(np.abs(xy[:, 1]) < 1e-9) & (xy[:, 0] < far / 2)]
    assert middle[:, 0] == pytest.approx(np.arange(len(middle)))
    assert len(middle) >= 2
    pair = xy[np.abs(xy[:, 1]) > 1e-9][:2]
    assert np.hypot(*(pair[0] - pair[1])) >= 1.0
    assert np.hypot(*(pair - middle[-1]).T) == pytest.approx([1.0, 1.0])
    # Every pair keeps its distance near the tip.
    near = xy[xy[:, 0] < far / 2]
    i, j = np.triu_indices(len(near), 1)
    assert np.hypot(*(near[i] - near[j]).T).min() >= 1.0 - 1e-9


def test_a_blunt_corner_has_no_tip():
    ring = np.array([[0, 0], [10, 0], [5, 5 * np.sqrt(3)], [0, 0.0]])
    assert along_ring(ring, np.array([0.5])).corner.sum() == 3


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_contours_are_a_step_apart_and_end(name):
    region = FILL_REGIONS[name]
    contour, level = region, 0
    while not contour.is_empty:
        for line in edge_rings(contour, 1.0):
            depth = shapely.distance(region.boundary, shapely.points(line))
            # A middle line of what is too narrow lies deeper than its contour.
            assert np.all(depth >= level * 0.98 - 1e-9)
            assert np.all(depth <= level * 1.02 + 0.5)
        contour, level = contour.buffer(-1.0, quad_segs=32), level + 1
    assert level > 0
    assert edge_rings(contour, 1.0) == []


def test_rings_too_short_for_two_points_give_none():
    tiny = ring_of(shapely.Point(0, 0).buffer(0.1, quad_segs=16))
    assert len(along_ring(tiny, np.array([0.5])).xy) == 0
    assert len(along_ring(np.zeros((4, 2)), np.array([0.5])).xy) == 0
