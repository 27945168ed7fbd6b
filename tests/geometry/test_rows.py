"""Rows: gaps, ends, corners and tips on smooth, awkward and tiny paths."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist

from embellish.arrays import Floats
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.gaps.gaps import gaps_between, neighbour_gaps
from embellish.geometry.outline_forms import navette, oval, pear, rectangle
from embellish.geometry.outlines import circle
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.row import Row, Rule, round_bodies, space_row
from embellish.geometry.transforms import Affine
from tests.paths import AWKWARD_PATHS, PATHS, SMOOTH_PATHS, TINY_PATHS, star

GAP = 0.5
RADIUS = np.array([1.4])
OPEN, CLOSED = False, True


def row_of(name: str, radius: np.ndarray = RADIUS, gap: float = GAP, **rule: Any) -> Row:
    points, closed = PATHS[name]
    return space_row(points, closed, round_bodies(radius), Rule(gap, **rule))


def least_gap(row: Row, radius: np.ndarray) -> float:
    """The least gap of all pairs, from the plain table of distances."""
    if len(row) < 2:
        return np.inf
    i, j = np.triu_indices(len(row), 1)
    r = radius[row.choice]
    return float((pdist(row.xy) - r[i] - r[j]).min())


def chords(row: Row, closed: bool) -> Floats:
    xy = np.concatenate([row.xy, row.xy[:1]]) if closed else row.xy
    step = np.diff(xy, axis=0)
    return np.asarray(np.sqrt((step**2).sum(axis=1)))


@pytest.mark.parametrize("name", PATHS)
@pytest.mark.parametrize("gap", [0.0, 0.5, 1.7])
def test_no_gap_is_below_the_one_asked(name, gap):
    row = row_of(name, gap=gap)
    assert len(row) >= 1
    assert least_gap(row, RADIUS) >= gap + 1e-6


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(sorted(PATHS)),
    radii=st.lists(st.floats(0.4, 3.5), min_size=1, max_size=4),
    gap=st.floats(0.0, 2.5),
    ends=st.sampled_from(["on", "inset", "free"]),
    mirrored=st.booleans(),
    reverse=st.booleans(),
    start=st.floats(0.0, 1.0),
    corner_deg=st.floats(10.0, 180.0),
)
def test_no_gap_is_below_the_one_asked_whatever_the_sizes_and_settings(
    name, radii, gap, ends, mirrored, reverse, start, corner_deg
):
    radius = np.array(radii)
    row = row_of(
        name,
        radius,
        gap,
        ends=ends,
        mirrored=mirrored,
        reverse=reverse,
        start=start,
        corner_deg=corner_deg,
    )
    assert len(row) >= 1
    assert least_gap(row, radius) >= gap + 1e-6
    assert np.all((row.u >= 0.0) & (row.u <= 1.0))


@pytest.mark.parametrize("name", SMOOTH_PATHS)
def test_chords_are_equal_on_smooth_paths_and_one_more_piece_would_not_fit(name):
    closed = PATHS[name][1]
    row = row_of(name)
    chord = chords(row, closed)
    assert np.ptp(chord) <= 1e-9
    assert chord[0] - 2.8 >= GAP + 2e-6
    length = np.hypot(*np.diff(PATHS[name][0], axis=0).T).sum()
    # The gap that is left over, shared by all, is less than what one more piece would take.
    assert len(chord) * (chord[0] - 2.8 - GAP) <= 3.3 + 0.05 * length / len(chord)
    assert not row.corner.any()
    assert not row.short


@pytest.mark.parametrize("name", [*SMOOTH_PATHS, *AWKWARD_PATHS])
@pytest.mark.parametrize("turn", [30.0, 211.7])
def test_turning_the_path_turns_the_row(name, turn):
    points, closed = PATHS[name]
    affine = Affine.move(13.0, -7.0) @ Affine.turn(turn)
    row = row_of(name)
    turned = space_row(affine(points), closed, round_bodies(RADIUS), Rule(GAP))
    assert len(turned) == len(row)
    assert np.abs(turned.xy - affine(row.xy)).max() <= 1e-6


@pytest.mark.parametrize("name", ["star", "blunt star", "heart", "rectangle", "zigzag", "deltoid"])
def test_every_corner_has_a_piece_exactly_on_it(name):
    points, closed = PATHS[name]
    row = row_of(name)
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    came, goes = points - before, after - points
    angle = np.degrees(
        np.abs(
            np.arctan2(came[:, 0] * goes[:, 1] - came[:, 1] * goes[:, 0], (came * goes).sum(axis=1))
        )
    )
    sharp = points[angle > 40.0] if closed else points[1:-1]
    apart = np.hypot(*(sharp[:, None, :] - row.xy).transpose(2, 0, 1))
    assert len(sharp) == row.corner.sum()
    assert apart.min(axis=1).max() <= 1e-9


def test_stairs_of_a_traced_picture_are_no_corners():
    row = row_of("traced disc")
    assert not row.corner.any()
    assert np.ptp(chords(row, closed=True)) <= 1e-6


def test_a_bend_much_tighter_than_a_piece_is_a_corner():
    turn = np.linspace(-np.pi / 2, 0.0, 50)
    arc = 0.3 * np.stack([np.cos(turn), np.sin(turn)], axis=1) + [30.0, 0.3]
    points = np.concatenate([[[0.0, 0.0]], arc, [[30.3, 30.0]]])
    row = space_row(points, OPEN, round_bodies(RADIUS), Rule(GAP))
    assert row.corner.sum() == 1
    middle = np.array([30.0, 0.3]) + 0.3 * np.array([1.0, -1.0]) / np.sqrt(2.0)
    assert np.abs(row.xy[row.corner][0] - middle).max() <= 1e-3


@pytest.mark.parametrize("opening", [8.0, 15.0, 22.0, 29.0, 36.0, 45.0, 52.0, 58.0])
def test_an_acute_tip_is_even_on_both_sides_and_leaves_no_hole(opening):
    half = np.radians(opening / 2.0)
    far = 120.0 * np.array([np.cos(half), np.sin(half)])
    row = space_row(
        np.array([far, [0.0, 0.0], far * [1.0, -1.0]]), OPEN, round_bodies(RADIUS), Rule(GAP)
    )
    assert row.corner.sum() == 1
    # Alike on both sides of the axis.
    flipped = row.xy * [1.0, -1.0]
    apart = np.hypot(*(flipped[:, None, :] - row.xy).transpose(2, 0, 1))
    assert apart.min(axis=1).max() <= 1e-6
    # No hole: nowhere along the axis, as long as the sides are near it, would a piece fit.
    assert least_gap(row, RADIUS) >= GAP
    pitch = 2.8 + GAP
    reach = 0.5 * pitch / np.sin(half)
    for x in np.linspace(0.0, reach, 400):
        near = np.hypot(row.xy[:, 0] - x, row.xy[:, 1]).min()
        assert near <= 1.02 * pitch
    # The tip's own piece has a neighbour nearly as near as any.
    order = np.sort(np.hypot(*row.xy.T))
    assert order[0] == 0.0
    assert order[1] <= 1.3 * pitch


@pytest.mark.parametrize(("name", "count"), [("figure eight", 1), ("trefoil", 3)])
def test_a_crossing_has_one_piece_for_both_ways(name, count):
    row = row_of(name)
    assert row.corner.sum() == count
    assert not len(row.left_out_mm)


def test_lobes_that_all_but_touch_are_laid_around_without_holes():
    row = row_of("lobes", np.array([1.4]), 0.5)
    assert least_gap(row, RADIUS) >= GAP
    # The waist is covered: some piece stands nearer to it than a pitch.
    assert np.hypot(*row.xy.T).min() <= 3.3


@pytest.mark.parametrize("ends", ["on", "inset", "free"])
def test_ends_of_an_open_path(ends):
    row = row_of("wave", ends=ends)
    points = PATHS["wave"][0]
    to_ends = [np.hypot(*(row.xy[i] - points[i])) for i in (0, -1)]
    gap = chords(row, closed=False)[0] - 2.8
    wanted = {"on": 0.0, "inset": 1.4, "free": 1.4 + gap / 2.0}[ends]
    assert to_ends == pytest.approx([wanted, wanted], abs=1e-8)


def test_sizes_repeat_a_whole_number_of_times_round_a_loop():
    radius = np.array([2.0, 1.0, 1.0])
    row = row_of("flower", radius)
    assert len(row) % 3 == 0
    assert np.array_equal(row.choice, np.arange(len(row)) % 3)
    gaps = chords(row, closed=True) - radius[row.choice] - radius[np.roll(row.choice, -1)]
    assert np.ptp(gaps) <= 1e-9


def test_every_corner_has_the_first_piece_of_a_sequence():
    row = row_of("rectangle", np.array([2.0, 1.0, 1.0]))
    assert row.corner.sum() == 4
    assert np.all(row.choice[row.corner] == 0)


@settings(deadline=None)
@given(
    side=st.floats(20.0, 90.0),
    corners=st.integers(4, 7),
    small=st.integers(1, 4),
    mirrored=st.booleans(),
)
def test_two_large_ones_of_a_sequence_never_stand_side_by_side(side, corners, small, mirrored):
    turn = 2.0 * np.pi * np.arange(corners) / corners
    path = side / (2.0 * np.sin(np.pi / corners)) * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    bodies = round_bodies(np.array([2.4] + small * [1.0]))
    row = space_row(path, closed=True, bodies=bodies, rule=Rule(0.9, mirrored=mirrored))
    large = row.choice[np.argsort(row.s)] == 0
    assert large[row.corner].all()
    assert not (large & np.roll(large, 1)).any()
    # Each side reads alike from both its corners.
    first = np.flatnonzero(row.corner)
    for one, other in zip(first, [*first[1:], len(row)], strict=True):
        assert np.array_equal(large[one + 1 : other], large[one + 1 : other][::-1])


def test_a_mirrored_sequence_reads_alike_from_both_ends():
    row = row_of("wave", np.array([2.0, 1.2, 0.8]), mirrored=True)
    assert np.array_equal(row.choice, row.choice[::-1])
    assert row.choice[0] == 0


def test_a_row_starts_where_it_is_told_and_runs_the_way_it_is_told():
    points, _ = PATHS["ellipse"]
    there = row_of("ellipse", start=0.25)
    assert np.abs(there.xy - [0.0, 12.0]).sum(axis=1).min() <= 1e-3
    back = row_of("wave", np.array([2.0, 1.0]), reverse=True)
    assert back.u[0] == 1.0
    assert back.u[-1] == 0.0
    assert np.all(np.diff(back.u) < 0.0)
    assert len(points) == 3000


def test_about_takes_the_nearest_whole_number_and_tells_the_gap_it_keeps():
    line = np.array([[0.0, 0.0], [30.0, 0.0]])
    bodies = round_bodies(np.array([1.0]))
    # Nine gaps are 30/9 - 2 = 1.333 mm, ten 1.0 mm: 1.1 mm is nearer to ten.
    least = space_row(line, OPEN, bodies, Rule(1.1))
    about = space_row(line, OPEN, bodies, Rule(1.1, fit="about"))
    assert (len(least), len(about)) == (10, 11)
    assert about.gap_mm == pytest.approx(1.0, abs=1e-9)
    assert least.gap_mm == 1.1
    assert len(space_row(line, OPEN, bodies, Rule(1.2, fit="about"))) == 10


@pytest.mark.parametrize("name", TINY_PATHS)
def test_tiny_paths_have_a_sensible_answer(name):
    row = row_of(name)
    wanted = {"ring for two": 2, "ring for three": 3}.get(name, 1)
    assert len(row) == wanted
    assert row.short == (wanted < 3)
    points, _ = PATHS[name]
    if wanted == 1:
        middle = points.mean(axis=0)
        assert row.xy[0] == pytest.approx(middle, abs=1e-9)


def test_nothing_at_all():
    row = space_row(np.zeros((0, 2)), OPEN, round_bodies(RADIUS), Rule(GAP))
    assert len(row) == 0


SHAPED = {
    "oval": (oval(6.0, 4.0), 0.0),
    "pear": (pear(6.0, 4.0), 0.0),
    "bugle": (rectangle(7.0, 1.8), 0.0),
    "navette, across": (navette(6.0, 3.0), 90.0),
    "square on its corner": (rectangle(3.0, 3.0), 45.0),
}


@pytest.mark.parametrize("piece", SHAPED)
@pytest.mark.parametrize("name", ["ellipse", "wave", "flower", "circle"])
def test_gaps_between_true_outlines_are_equal_on_smooth_paths(piece, name):
    outline, turn = SHAPED[piece]
    points, closed = PATHS[name]
    bodies = Bodies((Footprint.of(outline),), turn_deg=turn)
    row = space_row(points, closed, bodies, Rule(GAP))
    n = len(row)
    standing = Standing(row.xy, row.angle_deg, row.choice, bodies.footprints)
    following = np.arange(1, n + 1) % n
    pairs = np.stack([np.arange(n), following], axis=1)[: n if closed else n - 1]
    gaps = gaps_between(standing, standing, pairs)
    assert np.ptp(gaps) <= 1e-8
    assert gaps.min() >= GAP + 1e-6


@pytest.mark.parametrize("piece", SHAPED)
@pytest.mark.parametrize("name", ["heart", "star", "deltoid", "figure eight", "zigzag"])
def test_no_true_gap_is_below_the_one_asked(piece, name):
    outline, turn = SHAPED[piece]
    points, closed = PATHS[name]
    bodies = Bodies((Footprint.of(outline), Footprint.of(circle(2.0))), turn_deg=turn)
    row = space_row(points, closed, bodies, Rule(GAP))
    assert len(row) > 4
    pairs, _ = neighbour_gaps(row.xy, row.angle_deg, row.choice, bodies.footprints, GAP + 0.9e-6)
    assert not len(pairs)


def test_a_row_is_laid_around_what_stands_already():
    points, closed = PATHS["circle"]
    bodies = round_bodies(RADIUS)
    others = Standing(
        np.array([[-20.5, 0.0], [0.0, 19.0]]),
        np.zeros(2),
        np.zeros(2, dtype=np.int64),
        bodies.footprints,
    )
    row = space_row(points, closed, bodies, Rule(GAP), others)
    apart = np.hypot(*(row.xy[:, None, :] - others.xy).transpose(2, 0, 1))
    assert apart.min() >= 2.8 + GAP + 1e-6
    # Its neighbours there stand at the very gap asked.
    assert np.sort(apart[:, 0])[:2] == pytest.approx([3.3, 3.3], abs=1e-5)
    assert len(row.left_out_mm) == 2


def test_many_spikes_of_a_star_are_all_alike():
    row = space_row(star(24, 60.0, 40.0), CLOSED, round_bodies(RADIUS), Rule(GAP))
    turn = Affine.turn(15.0)
    apart = np.hypot(*(turn(row.xy)[:, None, :] - row.xy).transpose(2, 0, 1))
    assert apart.min(axis=1).max() <= 1e-6


@pytest.mark.parametrize("ends", ["on", "inset", "free"])
@pytest.mark.parametrize("length", [9.0, 25.4, 50.8, 71.3, 120.0])
@pytest.mark.parametrize("diameter", [2.0, 2.8, 3.9, 7.17])
def test_a_straight_line_holds_the_most_pieces_that_fit(ends, length, diameter):
    gap = 0.2
    line = np.array([[0.0, 0.0], [length, 0.0]])
    row = space_row(line, OPEN, round_bodies(np.array([diameter / 2])), Rule(gap, ends=ends))
    asked = gap + 2e-6
    # n pieces and n - 1 gaps, less half a piece at each end, or with half a gap more there.
    taken = {"on": diameter, "inset": 0.0, "free": -asked}[ends]
    most = int(np.floor((length + taken + asked) / (diameter + asked)))
    assert len(row) == max(most, 1)


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from([*SMOOTH_PATHS, *AWKWARD_PATHS]),
    radius=st.floats(0.5, 3.0),
    gap=st.floats(0.0, 2.0),
)
def test_nowhere_along_the_path_is_room_for_one_more(name, radius, gap):
    points, closed = PATHS[name]
    row = row_of(name, np.array([radius]), gap)
    line = shapely.LineString(np.concatenate([points, points[:1]]) if closed else points)
    places = shapely.get_coordinates(line.segmentize(0.1))
    away, _ = cKDTree(row.xy).query(places)
    # Stretches of free places shorter than an eighth of the pitch do not count.
    assert np.max(away) <= 1.08 * (2.0 * radius + gap)


def test_a_path_that_turns_straight_back_has_a_piece_on_its_turn():
    row = row_of("there and back")
    assert row.xy[row.corner].tolist() == [[0.0, 0.0], [30.0, 0.0]]
    assert np.ptp(np.diff(np.sort(row.xy[:, 0]))) <= 1e-9


def test_an_open_path_that_ends_where_it_started_closes():
    points, _ = PATHS["circle"]
    around = np.concatenate([points, points[:1]])
    row = space_row(around, OPEN, round_bodies(RADIUS), Rule(GAP))
    assert np.array_equal(row.xy, row_of("circle").xy)


@pytest.mark.parametrize("width", [1.6, 2.0, 2.6, 3.0])
def test_the_round_end_of_a_narrow_stroke_has_a_piece_on_it(width):
    stroke = shapely.LineString([(0, 0), (40, 7), (60, 0)]).buffer(width / 2, quad_segs=64)
    row = space_row(
        shapely.get_coordinates(stroke.exterior), CLOSED, round_bodies(RADIUS), Rule(GAP)
    )
    ends = [shapely.Point(0, 0), shapely.Point(60, 0)]
    for end in ends:
        assert shapely.distance(end, shapely.points(row.xy)).min() <= width / 2 + 1e-3
    # One line of pieces from end to end, evenly.
    assert len(row) >= 60.6 // 3.3


@pytest.mark.parametrize("count", [12, 16, 20, 24, 30, 36, 45])
def test_a_count_is_met_and_stands_as_wide_in_the_tips_of_a_sickle_as_between(count):
    sickle = shapely.Point(0, 0).buffer(40, 256).difference(shapely.Point(14, 0).buffer(34, 256))
    line = shapely.get_coordinates(sickle)[:-1]
    row = space_row(line, closed=True, bodies=round_bodies(RADIUS), rule=Rule(GAP, count=count))
    assert len(row) == count
    assert not len(row.left_out_mm)
    assert np.count_nonzero(row.corner) == 2
    apart = np.hypot(*(row.xy[:, None] - row.xy).transpose(2, 0, 1))
    nearest = np.sort(apart, axis=1)[:, 1]
    tip, between = nearest[row.corner], np.median(nearest[~row.corner])
    assert (tip > 0.75 * between).all()
    assert (tip < 1.35 * between).all()
