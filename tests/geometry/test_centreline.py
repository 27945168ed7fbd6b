"""Centrelines: branches, joints, ends, radii; strokes that run on; tracks that fill evenly."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats
from embellish.geometry.centrelines.centreline import centrelines, corners, edge_distance
from embellish.geometry.centrelines.fill import Standing, fill
from embellish.geometry.centrelines.rows import best_sizes, row_runs, side_lines
from embellish.geometry.centrelines.strokes import strokes
from embellish.geometry.centrelines.tracks import Track, even_samples
from tests.layout.ways.fill_cases import FILL_REGIONS

TEE = shapely.union(shapely.box(0, 0, 40, 4), shapely.box(18, 0, 22, 30))
CROSS = shapely.union(shapely.box(0, 18, 40, 22), shapely.box(18, 0, 22, 40))
ELL = shapely.union(shapely.box(0, 0, 6, 30), shapely.box(0, 24, 25, 30))
RING = shapely.Point(0, 0).buffer(20).difference(shapely.Point(0, 0).buffer(14))


def straight(length: float, room: float, step: float = 0.02) -> Track:
    x = np.arange(0.0, length + step / 2, step)
    xy = np.stack([x, np.zeros_like(x)], axis=1)
    side = np.full(len(x), room)
    return Track(xy, np.minimum(side, np.minimum(x, length - x)), side)


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(sorted(FILL_REGIONS)), st.floats(0.1, 0.5))
def test_lines_lie_inside_and_know_their_radius(name, step):
    region = FILL_REGIONS[name]
    lines = centrelines(region, step)
    assert len(lines.branches) >= len(shapely.get_parts(region))
    for branch in lines.branches:
        assert edge_distance(region, branch.xy).min() >= -1e-9
        true = shapely.distance(region.boundary, shapely.points(branch.xy))
        assert branch.radius_mm == pytest.approx(true, abs=1e-9)
        assert all(-1 <= joint < len(lines.joints_xy) for joint in branch.joints)


@pytest.mark.parametrize(
    ("region", "branches", "joints"),
    [(TEE, 3, 1), (ELL, 1, 0), (RING, 1, 0), (FILL_REGIONS["star"], 5, 1)],
    ids=["tee", "ell", "ring", "star"],
)
def test_corners_make_no_branches(region, branches, joints):
    lines = centrelines(region, 0.2)
    assert len(lines.branches) == branches
    assert len(lines.joints_xy) == joints
    assert lines.branches[0].closed == (region is RING)


def test_a_square_is_a_single_point():
    lines = centrelines(shapely.box(0, 0, 10, 10), 0.2)
    assert len(lines.branches) == 1
    assert lines.branches[0].xy == pytest.approx(np.array([[5.0, 5.0]]), abs=1e-6)
    assert lines.branches[0].radius_mm == pytest.approx([5.0], abs=1e-6)


def test_ends_are_carried_on_straight_to_the_outline():
    branch = centrelines(shapely.box(0, 0, 40, 6), 0.2).branches[0]
    assert np.sort(branch.xy[[0, -1], 0]) == pytest.approx([0.0, 40.0], abs=1e-6)
    assert np.abs(branch.xy[:, 1] - 3.0).max() < 0.02
    assert branch.tails_mm == pytest.approx((3.0, 3.0), abs=0.1)
    bare = centrelines(shapely.box(0, 0, 40, 6), 0.2, extend=False).branches[0]
    assert np.sort(bare.xy[[0, -1], 0]) == pytest.approx([3.0, 37.0], abs=0.1)


def test_empty_and_narrow_regions():
    assert centrelines(shapely.Polygon(), 0.1).branches == ()
    thread = centrelines(shapely.box(0, 0, 50, 1e-3), 0.1)
    assert all(branch.radius_mm.max() <= 5.1e-4 for branch in thread.branches)


class TestStrokes:
    def test_a_stroke_runs_on_through_a_tee_and_straight(self):
        joined = strokes(centrelines(TEE, 0.2))
        assert [round(branch.length_mm) for branch in joined.branches] == [40, 28]
        assert len(joined.meeting) == 0
        assert np.abs(joined.branches[0].xy[:, 1] - 2.0).max() < 0.03, "no swerve at the joint"

    def test_a_cross_has_one_stroke_that_runs_on(self):
        joined = strokes(centrelines(CROSS, 0.2))
        assert round(joined.branches[0].length_mm) == 40
        assert len(joined.branches) in (2, 3)

    def test_arms_of_a_star_only_meet(self):
        lines = centrelines(FILL_REGIONS["star"], 0.2)
        joined = strokes(lines)
        assert joined.meeting.tolist() == [0]
        assert len(joined.branches) == 5

    def test_a_thin_stroke_does_not_run_on_through_a_wide_one(self):
        region = shapely.union(shapely.box(0, 0, 40, 3), shapely.box(15, 0, 25, 40))
        joined = strokes(centrelines(region, 0.2))
        assert len(joined.meeting) >= 1


class TestCorners:
    def test_one_sharp_point_a_bend(self):
        line = np.concatenate([[(x, 0.0) for x in range(11)], [(10.0, y) for y in range(1, 11)]])
        assert np.flatnonzero(corners(line, 3.0, 50.0, closed=False)).tolist() == [10]

    def test_curves_have_none(self):
        turn = np.linspace(0, 2 * np.pi, 200)
        circle = 20.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        assert not corners(circle, 3.0, 50.0, closed=True).any()

    def test_a_closed_line_may_bend_at_its_start(self):
        xy, _ = even_samples(
            np.array([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)], dtype=float), np.zeros(5), 8.0
        )
        assert np.count_nonzero(corners(xy, 2.0, 50.0, closed=True)) == 4


class TestFill:
    def pieces(self, track: Track, radii: list[float], gap: float) -> tuple[Floats, Floats]:
        standing = Standing(np.array(radii), gap)
        xy, size = fill(track, standing, None)
        return xy, standing.radii_mm[size]

    @settings(max_examples=40, deadline=None)
    @example(8.0, 1.0, 2.194464092829461e-76)
    @given(st.floats(8.0, 40.0), st.floats(0.3, 2.0), st.floats(0.0, 1.0))
    def test_a_straight_stroke_is_filled_evenly_to_both_ends(self, length, radius, gap):
        xy, radii = self.pieces(straight(length, radius), [radius], gap)
        most = (length - 2 * radius) / (2 * radius + gap) + 1
        assert math.floor(most - 0.05) <= len(xy) <= math.floor(most + 1e-9)
        apart = np.diff(xy[:, 0])
        # As numbers of a distance: a gap far below the last digit of it is none.
        assert np.all(apart >= radii[:-1] + radii[1:] + gap)
        between = apart - radii[:-1] - radii[1:]
        assert np.ptp(between) < 0.02 if len(between) else True
        assert xy[0, 0] == pytest.approx(radius, abs=0.05)
        # Bare at the end is no more than between two, but for a stroke of one or two pieces.
        bare = length - radius - xy[-1, 0]
        assert bare <= between.max(initial=0.0) + 0.1 or len(xy) < 2

    def test_the_largest_that_fits_is_taken(self):
        track = straight(60.0, 3.0)
        track = Track(
            track.xy, np.linspace(0.2, 3.0, len(track)), np.linspace(0.2, 3.0, len(track))
        )
        xy, radii = self.pieces(track.part(len(track) - 1, 0), [2.0, 1.0, 0.5], 0.3)
        room = 0.2 + 2.8 * xy[:, 0] / 60.0
        assert np.all(radii <= room + 1e-6)
        largest = np.where(room >= 2.0, 2.0, np.where(room >= 1.0, 1.0, 0.5))
        # At a change of size the piece that touches may not yet have the room.
        assert np.count_nonzero(radii != largest) <= 2
        assert set(radii.tolist()) == {2.0, 1.0, 0.5}

    def test_what_stands_is_kept_off(self):
        standing = Standing(np.array([1.0]), 0.5)
        standing.put(np.array([20.0, 0.5]), 0)
        xy, _ = fill(straight(40.0, 2.0), standing, None)
        away = np.hypot(xy[:, 0] - 20.0, xy[:, 1] - 0.5)
        assert away.min() >= 2.5

    def test_a_short_stretch_between_two_takes_a_smaller_piece(self):
        track = straight(6.0, 2.0)
        track = Track(track.xy, track.side_mm, track.side_mm)
        standing = Standing(np.array([1.5, 1.0, 0.6]), 0.3)
        standing.put(track.xy[0], 0)
        standing.put(track.xy[-1], 0)
        xy, size = fill(track, standing, 0)
        assert size.tolist() == [1]
        assert xy[0, 0] == pytest.approx(3.0, abs=0.05)


class TestRows:
    def test_rows_stand_side_by_side_where_there_is_room(self):
        track = straight(60.0, 2.6)
        radii = np.array([1.2])
        runs = row_runs(track, radii, 0.1, 2, np.zeros(len(track), dtype=np.bool_))
        assert [(run.rows, run.size) for run in runs] == [(2, 0)]
        lines = side_lines(track, runs[0], 1.2, 0.1)
        apart = np.hypot(*(lines[0] - lines[1]).T)
        assert apart.min() >= 2.5
        assert apart.max() <= 2 * (2.6 - 1.2) + 1e-9

    def test_too_narrow_or_too_short_a_stroke_keeps_one(self):
        barred = np.zeros(3001, dtype=np.bool_)
        assert row_runs(straight(60.0, 2.4), np.array([1.2]), 0.1, 3, barred) == []
        short = straight(9.0, 2.6)
        assert row_runs(short, np.array([1.2]), 0.1, 2, barred[: len(short)]) == []

    def test_the_best_sizes_cover_most(self):
        track = straight(100.0, 1.0)
        room = np.where(track.xy[:, 0] < 60.0, 2.0, 1.0)
        track = Track(track.xy, room, room)
        reach = np.array([1.9, 1.5, 0.9, 0.5])
        order = np.arange(4)
        assert best_sizes(order, reach, [track], 2).tolist() == [0, 2]
        assert best_sizes(order, reach, [track], 1).tolist() == [0]
        assert best_sizes(order, reach, [track], None).tolist() == [0, 1, 2, 3]
