"""Insets: safe against chords at corners, tight, and true distances as the last word."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.insets import Room, centre_region, inside
from tests.layout.ways.fill_cases import FILL_REGIONS

names = st.sampled_from(sorted(FILL_REGIONS))


def true_distance(region: Any, xy: Any) -> Any:
    """Distance to the nearest edge, segment by segment in plain arithmetic."""
    rings = shapely.get_rings(shapely.get_parts(region))
    least = np.full(len(xy), np.inf)
    for ring in rings:
        line = shapely.get_coordinates(ring)
        a, step = line[:-1], np.diff(line, axis=0)
        share = ((xy[:, None] - a) * step).sum(-1) / (step**2).sum(-1)
        foot = a + np.clip(share, 0, 1)[..., None] * step
        least = np.minimum(least, np.hypot(*(xy[:, None] - foot).transpose(2, 0, 1)).min(1))
    return least


@settings(max_examples=40, deadline=None)
@given(names, st.floats(0.2, 6.0), st.floats(0.0, 2.0))
def test_every_point_of_a_centre_region_is_far_enough_from_the_edge(name, radius, edge):
    region = FILL_REGIONS[name]
    centres = centre_region(region, radius, edge)
    assert centres.is_valid
    spots = shapely.get_coordinates(shapely.segmentize(centres, max(radius / 4, 0.5)))[:400]
    if len(spots):
        assert true_distance(region, spots).min() >= radius + edge


@settings(max_examples=30, deadline=None)
@given(names, st.floats(0.5, 4.0), st.integers(0, 1000))
def test_little_is_lost(name, radius, seed):
    region = FILL_REGIONS[name]
    x0, y0, x1, y1 = region.bounds
    xy = np.random.default_rng(seed).uniform((x0, y0), (x1, y1), (300, 2))
    far = shapely.contains_xy(region, *xy.T) & (true_distance(region, xy) >= radius * 1.012)
    centres = centre_region(region, radius)
    assert np.all(shapely.contains_xy(centres, *xy[far].T))


def test_the_corner_that_points_inward_is_where_a_plain_buffer_errs():
    region = shapely.Polygon([(0, 0), (20, 0), (20, 20), (10, 10), (0, 20)])
    plain = region.buffer(-3.0, quad_segs=4)
    corner = shapely.Point(10, 10)
    assert plain.distance(corner) < 3.0 - 1e-3
    assert centre_region(region, 3.0).distance(corner) >= 3.0


@settings(max_examples=25, deadline=None)
@given(names, st.floats(0.2, 4.0), st.floats(0.0, 1.0), st.integers(0, 1000))
def test_inside_agrees_with_plain_distances(name, radius, edge, seed):
    region = FILL_REGIONS[name]
    x0, y0, x1, y1 = region.bounds
    xy = np.random.default_rng(seed).uniform((x0, y0), (x1, y1), (200, 2))
    far = true_distance(region, xy)
    want = shapely.contains_xy(region, *xy.T) & (far >= radius + edge)
    got = inside(xy, region, radius, edge, slack_mm=0.0)
    unsure = np.abs(far - radius - edge) < 1e-9
    assert np.array_equal(got[~unsure], want[~unsure])
    each = inside(xy, region, np.full(len(xy), radius), edge, slack_mm=0.0)
    assert np.array_equal(got, each)


def test_a_distance_that_is_just_enough_is_enough():
    box = shapely.box(0, 0, 10, 10)
    assert inside(np.array([[0.5, 5.0]]), box, 0.5, slack_mm=0.0)[0]
    assert not inside(np.array([[0.5, 5.0]]), box, 0.5)[0]
    assert inside(np.array([[0.4999999, 5.0]]), box, 0.5, slack_mm=-1e-6)[0]
    assert not inside(np.array([[-1.0, 5.0]]), box, 0.5, slack_mm=-2.0)[0]


@settings(max_examples=25, deadline=None)
@given(st.floats(0.3, 2.0), st.integers(0, 1000))
def test_what_stands_already_and_keep_outs_are_left_free(radius, seed):
    rng = np.random.default_rng(seed)
    region = shapely.box(0, 0, 30, 30)
    others, reach = rng.uniform(0, 30, (6, 2)), rng.uniform(0.5, 4.0, 6)
    keep_out = shapely.Polygon([(12, 12), (18, 13), (15, 18)])
    room = Room(region, 0.3, keep_out, others, reach)
    centres = room.centres(radius)
    spots = shapely.get_coordinates(shapely.segmentize(centres, 0.5))
    away = np.hypot(*(spots[:, None] - others).transpose(2, 0, 1))
    assert np.all(away >= radius + reach)
    assert shapely.distance(keep_out, shapely.points(spots)).min(initial=np.inf) >= radius
    assert room.holds(spots, radius, slack_mm=0.0).all()
    anywhere = rng.uniform(0, 30, (300, 2))
    far = np.hypot(*(anywhere[:, None] - others).transpose(2, 0, 1))
    broken = np.any(far < radius + reach, axis=1)
    assert not room.holds(anywhere, radius)[broken].any()
    # A forgiving slack forgives the edge, never a gap.
    assert not room.holds(anywhere, radius, slack_mm=-0.5)[broken].any()


def test_nothing_fits_in_nothing():
    none = shapely.Polygon()
    assert centre_region(none, 1.0).is_empty
    assert centre_region(shapely.box(0, 0, 1, 1), 1.0).is_empty
    assert not inside(np.zeros((2, 2)), none, 1.0).any()
    assert Room(shapely.box(0, 0, 1, 1)).holds(np.zeros((0, 2)), 1.0).shape == (0,)


def test_the_area_is_that_of_the_true_inset():
    # A box with a notch to its middle: known inset by hand (straight sides and one quarter arc).
    region = shapely.box(0, 0, 20, 20).difference(shapely.box(10, 10, 20, 20))
    r = 2.0
    exact = 16.0 * 6.0 + 6.0 * 10.0 + r * r * (1.0 - math.pi / 4.0)
    assert centre_region(region, r).area == pytest.approx(exact, rel=1e-4)
