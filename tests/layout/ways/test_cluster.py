"""Clusters: built-in arrangements and one's own, repeated, turned, mirrored, kept apart."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.artwork.artwork import Shape
from embellish.errors import JobError
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import least_gap
from embellish.geometry.streams import Stream
from embellish.layout.ways.arrangements import gap_within, rays
from embellish.layout.ways.cluster import CLUSTER, ClusterSettings
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import DRAWN_STAR, FILL_REGIONS, kit_of, shape_of
from tests.layout.ways.test_points import dot, open_line
from tests.shapes import CONVEX_OUTLINES

OWN = [
    {"piece": 1},
    {"piece": 2, "dx_mm": 3.0, "dy_mm": 1.5, "angle_deg": 20.0},
    {"piece": 2, "dx_mm": -2.0, "dy_mm": 4.0},
]


def lay(shapes: list[Shape], kit: Kit, **settings: Any) -> Laid:
    ground = Ground(tuple(shapes))
    return CLUSTER.lay(ground, kit, ClusterSettings(**settings), Stream.of(1, "c"), no_progress)


def gap_of(laid: Laid, kit: Kit) -> float:
    xy = np.round(laid.seats.xy, 6)
    found = least_gap(xy, laid.seats.angle_deg, laid.seats.choice, kit.footprints)
    return math.inf if found is None else found[0]


def test_a_flower_of_six_touches_its_centre_and_its_neighbours():
    places = rays(kit_of(2.0, gap=0.4), [1] * 6)
    radius = [math.hypot(place.dx_mm, place.dy_mm) for place in places]
    assert radius == pytest.approx([0.0] + [2.4] * 6, abs=1e-4)
    assert (places[1].dx_mm, places[1].dy_mm) == pytest.approx((0.0, -2.4), abs=1e-4)


def test_a_flower_of_many_is_as_wide_as_its_ring_needs():
    places = rays(kit_of(2.0, gap=0.4), [1] * 12)
    assert math.hypot(places[1].dx_mm, places[1].dy_mm) == pytest.approx(
        1.2 / math.sin(math.pi / 12), abs=1e-4
    )


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(sorted(CONVEX_OUTLINES)),
    st.sampled_from(sorted(CONVEX_OUTLINES)),
    st.integers(2, 12),
    st.integers(1, 3),
    st.floats(0.0, 2.0),
)
def test_gaps_within_any_built_in_cluster_hold_and_are_tight(centre, petal, count, length, gap):
    footprints = tuple(Footprint.of(CONVEX_OUTLINES[name]) for name in (centre, petal))
    kit = Kit(footprints, (360.0, 360.0), None, gap)
    within = gap_within(rays(kit, [length] * count), kit)
    assert gap <= within <= gap + 1e-4


@pytest.mark.parametrize("arrangement", ["flower", "cross", "burst"])
@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_gaps_hold_along_awkward_outlines(name, arrangement):
    kit = kit_of(1.5, 1.0, gap=0.3)
    laid = lay([shape_of(FILL_REGIONS[name])], kit, arrangement=arrangement)
    assert gap_of(laid, kit) >= (laid.gap_mm or kit.gap_mm)
    size = len(ClusterSettings(arrangement=arrangement).places(kit))
    assert len(laid.seats) % size == 0, "clusters stand or fall whole"
    assert np.array_equal(laid.seats.u, np.tile(np.arange(size), len(laid.seats) // size))


def test_a_pitch_is_brought_to_a_whole_number():
    laid = lay([open_line([(0, 0), (100, 0)])], kit_of(2.0), pitch_mm=19.0)
    centres = laid.seats.xy[laid.seats.u == 0]
    assert centres[:, 0] == pytest.approx([0, 20, 40, 60, 80, 100])
    ring = lay([shape_of(shapely.Point(0, 0).buffer(20))], kit_of(2.0), pitch_mm=15.0)
    assert np.count_nonzero(ring.seats.u == 0) == round(2 * math.pi * 20 / 15)


def test_corners_have_a_cluster_and_the_sides_between_them_are_alike():
    square = shape_of(shapely.box(0, 0, 50, 50))
    laid = lay([square], kit_of(2.0), pitch_mm=19.0)
    centres = laid.seats.xy[laid.seats.u == 0]
    on = centres[np.abs(centres[:, 1]) < 1e-6]
    # Two between the corners; those of a corner stand askew, so that equal gaps are not thirds.
    assert np.sort(on[:, 0]) == pytest.approx([0.0, 50 / 3, 100 / 3, 50.0], abs=0.1)
    assert len(centres) == 12
    free = lay([square], kit_of(2.0), pitch_mm=19.0, corner_deg=180.0)
    assert np.count_nonzero(free.seats.u == 0) == round(200 / 19)


def test_where_corners_leave_no_even_room_they_have_no_cluster():
    angle = np.radians(np.arange(10) * 36.0 - 90.0)
    reach = np.where(np.arange(10) % 2 == 0, 42.0, 17.0)
    star = shape_of(shapely.Polygon(np.stack([reach * np.cos(angle), reach * np.sin(angle)], 1)))
    laid = lay([star], kit_of(2.8, 2.0, gap=0.9))
    centres = laid.seats.xy[laid.seats.u == 0]
    assert not [each for each in laid.findings if each.code == "clusters-too-near"]
    mirrored = centres * [-1.0, 1.0]
    apart = np.hypot(*(centres[:, None] - mirrored[None]).transpose(2, 0, 1)).min(axis=1)
    assert apart.max() < 1e-3, "alike on both sides"


def test_a_star_has_a_flower_in_every_corner_and_even_gaps_between():
    laid = lay([shape_of(DRAWN_STAR)], kit_of(2.85, 2.1, gap=0.9))
    centres = laid.seats.xy[laid.seats.u == 0]
    away = np.hypot(*(centres[:, None] - np.array(DRAWN_STAR.exterior.coords)).transpose(2, 0, 1))
    assert away.min(axis=0).max() < 0.01, "in the points and between them"
    apart = np.hypot(*(centres[:, None] - centres).transpose(2, 0, 1))
    nearest = np.sort(apart, axis=1)[:, 1]
    assert nearest.max() - nearest.min() < 1.5, "no hole beside a point"
    assert len(centres) == 25


def test_clusters_turn_with_the_line_or_stand_alike():
    line = open_line([(0, 0), (0, 60)])
    kit = kit_of(2.0, 1.0)
    turned = lay([line], kit, members=OWN, pitch_mm=30.0).seats
    assert turned.xy[1] - turned.xy[0] == pytest.approx([-1.5, 3.0])
    assert turned.angle_deg[1] - turned.angle_deg[0] == pytest.approx(20.0)
    alike = lay([line], kit, members=OWN, pitch_mm=30.0, turn="fixed").seats
    assert alike.xy[1] - alike.xy[0] == pytest.approx([3.0, 1.5])


def test_pairs_and_halves_are_mirrored():
    line = open_line([(0, 0), (90, 0)])
    kit = kit_of(2.0, 1.0)
    pairs = lay([line], kit, members=OWN, pitch_mm=30.0, mirror="alternate").seats
    steps = pairs.xy[1::3] - pairs.xy[0::3]
    assert steps == pytest.approx(np.array([(3, 1.5), (-3, 1.5)] * 2))
    halves = lay([line], kit, members=OWN, pitch_mm=30.0, mirror="halves").seats
    mirrored = halves.xy * [-1.0, 1.0] + [90.0, 0.0]
    away = np.hypot(*(halves.xy[:, None] - mirrored[None]).transpose(2, 0, 1))
    assert away.min(axis=0).max() < 1e-6, "the whole line is its own mirror image"


def test_at_points_of_the_drawing_and_too_near_ones_left_out_whole():
    shapes = [dot(x, 0.0, name=f"d{x}") for x in (0.0, 20.0, 23.0)]
    laid = lay(shapes, kit_of(2.0), at="centre")
    assert len(laid.seats) == 14
    assert [finding.code for finding in laid.findings] == ["clusters-too-near"]
    assert laid.seats.row.tolist() == [0] * 14
    assert laid.seats.shape.tolist() == [0] * 7 + [1] * 7


def test_members_that_touch_are_refused_with_their_gap():
    near = [{"piece": 1}, {"piece": 1, "dx_mm": 2.1}]
    with pytest.raises(JobError, match=r"0\.100 mm apart"):
        lay([open_line([(0, 0), (50, 0)])], kit_of(2.0, gap=0.3), members=near)


def test_members_listed_exactly_at_the_gap_stay():
    exact = [{"piece": 1}, {"piece": 1, "dx_mm": 2.3}]
    kit = kit_of(2.0, gap=0.3)
    laid = lay([open_line([(0, 0), (50, 7)])], kit, members=exact, pitch_mm=10.0)
    assert laid.gap_mm is not None
    assert 0.297 <= laid.gap_mm < 0.3
    assert gap_of(laid, kit) >= laid.gap_mm


def test_a_member_alone_is_a_cluster():
    kit = kit_of(1.0, gap=0.6)
    laid = lay([open_line([(0.0, 0.0), (40.0, 0.0)])], kit, members=[{"piece": 1}])
    assert len(laid.seats) > 10
    assert laid.gap_mm is None
    assert gap_of(laid, kit) >= 0.6


def test_a_member_that_names_no_piece_is_refused():
    with pytest.raises(JobError, match="piece 3 of the lay, which has 2"):
        lay([open_line([(0, 0), (50, 0)])], kit_of(2.0, 1.0), members=[{"piece": 3}])


@pytest.mark.parametrize(
    "wrong",
    [
        {"arrangement": "posy"},
        {"rays": 1},
        {"members": [{"piece": 0}]},
        {"members": [{"piece": 1}], "rays": 5},
        {"pitch_mm": 0},
    ],
)
def test_settings_out_of_bounds_are_refused(wrong):
    with pytest.raises(ValidationError):
        ClusterSettings(**wrong)
