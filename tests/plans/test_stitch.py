"""Marks as planned, read back from the written file by a decoder of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.catalogue.shapes import piece_outline
from embellish.formats.stitches import encode
from embellish.geometry.outlines import placed, sampled
from embellish.plans.stitching.covers import Covers
from embellish.plans.stitching.marks import paths_of
from embellish.plans.stitching.shapes import mark_path
from embellish.plans.stitching.stitch import StitchPlan, StitchSettings, plan_stitches
from tests.decoders import Decoded, decode_dst
from tests.plans.stitch_cases import (
    BUGLE,
    PIECES,
    SMALL,
    TOP_HOLE,
    TWO_HOLES,
    grid,
    layout_of,
    marked,
)

places = st.floats(-150.0, 150.0, allow_nan=False)
angles = st.one_of(st.floats(0.0, 359.0), st.sampled_from([0.0, 45.0, 90.0]))
seats = st.lists(
    st.tuples(places, places, angles, st.integers(0, len(PIECES) - 1)), min_size=1, max_size=12
)
ways_set = st.sampled_from(["sewn", "hand"])


def written(plan: StitchPlan) -> list[Decoded]:
    return [decode_dst(encode(hooping.design, "dst")[0]) for hooping in plan.hoopings]


def of_mark(found: Decoded, mark) -> np.ndarray:
    return np.array(found.stitches_mm[mark.first : mark.last + 1])


@settings(max_examples=60, deadline=None)
@given(seats, ways_set, st.booleans())
def test_every_seat_has_one_mark_whose_stitches_are_centred_on_it(table, set_by, mirrored):
    layout = layout_of(table, set_by=set_by)
    plan = plan_stitches(layout, StitchSettings(mirrored=mirrored))
    (hooping,), (found,) = plan.hoopings, written(plan)
    marks = hooping.marks
    assert sorted(seat for mark in marks for seat in mark.seats) == list(range(len(layout)))
    assert hooping.mirrored == mirrored
    centres = hooping.to_stitch(layout.xy)
    for mark in marks:
        points = of_mark(found, mark)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
        # Half a unit of the format is usual; what is promised is a whole one.
        assert np.abs(middle - mark.centre).max() <= 0.1
        (seat,) = mark.seats
        piece = layout.pieces[int(layout.piece[seat])]
        if piece is not TOP_HOLE or set_by == "hand":
            assert np.abs(centres[seat] - mark.centre).max() <= 1e-5
        else:
            assert np.hypot(*(centres[seat] - mark.centre)) == pytest.approx(2.6, abs=1e-5)


@settings(max_examples=60, deadline=None)
@given(seats, ways_set)
def test_every_stitch_of_a_mark_hides_under_its_piece_at_its_least_size(table, set_by):
    layout = layout_of(table, set_by=set_by)
    plan = plan_stitches(layout, StitchSettings())
    assert not [finding for finding in plan.findings if finding.code == "mark-shows"]
    (hooping,), (found,) = plan.hoopings, written(plan)
    back = hooping.to_stitch.inverse()
    for mark in hooping.marks:
        (seat,) = mark.seats
        piece = layout.pieces[int(layout.piece[seat])]
        x, y = layout.xy[seat]
        outline = placed(piece_outline(piece, "min"), x, y, float(layout.angle_deg[seat]))
        cover = shapely.Polygon(sampled(outline, 0.001))
        line = shapely.LineString(back(of_mark(found, mark)))
        assert cover.contains(line)
        # At least 0.1 mm inside, whatever rounding did.
        assert cover.exterior.distance(line) >= 0.1


@settings(max_examples=40, deadline=None)
@given(seats, st.sampled_from(["each", "line", "ends", "outline"]))
@example([(0.0, 0.0, 0.0, 0), (0.0, 0.0, 0.0, 0)], "line")
def test_no_stitch_is_long_and_none_stays_in_place(table, mark):
    layout = layout_of(table, mark=mark)
    asked = StitchSettings()
    plan = plan_stitches(layout, asked)
    for found in written(plan):
        lengths = np.array(found.lengths_mm)
        assert lengths.max() <= max(asked.longest_mm, asked.stitch_mm) + 0.15
        assert lengths.min() > 0.0
    again = plan_stitches(layout, asked)
    for one, two in zip(plan.hoopings, again.hoopings, strict=True):
        assert encode(one.design, "dst") == encode(two.design, "dst")


def test_a_tick_is_at_most_a_third_of_a_glued_piece():
    for number, piece in enumerate(PIECES):
        layout = layout_of([(0.0, 0.0, 33.0, number)], set_by="hand")
        plan = plan_stitches(layout, StitchSettings())
        points = of_mark(written(plan)[0], plan.hoopings[0].marks[0])
        assert len(points) == 2
        assert np.hypot(*(points[1] - points[0])) <= piece.length_mm.min / 3.0


def test_shapes_follow_the_piece():
    shapes = {
        piece.code: mark_path(layout_of([]), number, "sewn", StitchSettings()).shape
        for number, piece in enumerate(PIECES)
    }
    assert shapes == {
        "SMALL": "tick",
        "LARGE": "cross",
        "NAVETTE": "cross",
        "PEAR": "cross",
        "SQUARE": "cross",
        "BUGLE": "bar",
        "TWO-HOLES": "holes",
        "TOP-HOLE": "holes",
        "BEAD": "tick",
    }


@pytest.mark.parametrize("shape", ["cross", "tick", "ring", "dot", "outline", "bar"])
@pytest.mark.parametrize("number", range(len(PIECES)))
def test_any_shape_asked_for_is_centred_and_told_where_it_shows(shape, number):
    layout = layout_of([(3.33, -7.77, 17.0, number)])
    plan = plan_stitches(layout, StitchSettings(shape=shape))
    (hooping,), (found,) = plan.hoopings, written(plan)
    points = of_mark(found, hooping.marks[0])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    assert np.abs(middle - hooping.to_stitch(layout.xy[:1])).max() <= 0.1
    x, y = layout.xy[0]
    outline = placed(piece_outline(PIECES[number], "min"), x, y, 17.0)
    cover = shapely.Polygon(sampled(outline, 0.001))
    inside = cover.contains(shapely.LineString(hooping.to_stitch.inverse()(points)))
    shows = "mark-shows" in [finding.code for finding in plan.findings]
    assert inside or shows


def test_thread_holes_get_their_needle_points():
    layout = layout_of([(0.0, 0.0, 30.0, PIECES.index(TWO_HOLES))])
    plan = plan_stitches(layout, StitchSettings())
    points = plan.hoopings[0].to_stitch.inverse()(
        of_mark(written(plan)[0], plan.hoopings[0].marks[0])
    )
    arm = 3.5 * np.array([np.cos(np.radians(30.0)), np.sin(np.radians(30.0))])
    assert np.abs(points[0] + arm).max() <= 0.1 or np.abs(points[0] - arm).max() <= 0.1
    assert np.abs(points[0] + points[-1]).max() <= 0.11


def test_a_bar_lies_along_its_bugle():
    layout = layout_of([(0.0, 0.0, 90.0, PIECES.index(BUGLE))])
    plan = plan_stitches(layout, StitchSettings())
    points = of_mark(written(plan)[0], plan.hoopings[0].marks[0])
    width, height = points.max(axis=0) - points.min(axis=0)
    assert width == 0.0
    assert 5.5 <= height <= 6.3


def test_blocks_one_a_code_say_what_to_do():
    layout = layout_of([*grid(3, 2, 9.0, 1), *[(40.0 + 5 * i, 0.0, 0.0, 0) for i in range(4)]])
    plan = plan_stitches(
        layout, StitchSettings(), crosses_mm=np.array([[-9.0, -9.0], [60.0, 12.0]])
    )
    (hooping,) = plan.hoopings
    assert [stop.code for stop in hooping.stops] == ["alignment crosses", "LARGE", "SMALL"]
    assert [stop.words for stop in hooping.stops][1:] == ["sew on 6 LARGE", "sew on 4 SS10 clear"]
    assert [stop.count for stop in hooping.stops] == [2, 6, 4]
    assert len({stop.hex for stop in hooping.stops}) == 3
    found = written(plan)[0]
    for mark in hooping.marks:
        assert set(found.stitch_blocks[mark.first : mark.last + 1]) == {mark.block}
    assert [mark.kind for mark in hooping.marks[:2]] == ["cross", "cross"]
    for mark, at in zip(
        sorted(hooping.marks[:2], key=lambda m: m.centre), [(-9.0, -9.0), (60.0, 12.0)], strict=True
    ):
        points = of_mark(found, mark)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
        wanted = hooping.to_stitch(np.array(at))
        assert np.abs(middle - wanted).max() <= 0.1
    one = plan_stitches(layout, StitchSettings(blocks="one"))
    assert len(one.hoopings[0].design.blocks) == 1
    assert one.hoopings[0].stops[0].count == 10


def test_colours_stay_apart_for_many_codes():
    pieces = tuple(SMALL.model_copy(update={"code": f"P{i}"}) for i in range(30))
    layout = layout_of([(4.0 * i, 0.0, 0.0, i) for i in range(30)], pieces=pieces)
    stops = plan_stitches(layout, StitchSettings()).hoopings[0].stops
    assert len({stop.hex for stop in stops}) == 30


def test_crosses_alone_are_sewn_only_where_asked():
    layout = layout_of([(0.0, 0.0, 0.0, 0)], mark="none", set_by="template")
    at = np.array([[0.0, 0.0], [50.0, 0.0]])
    assert plan_stitches(layout, StitchSettings(), crosses_mm=at).hoopings == ()
    plan = plan_stitches(layout, StitchSettings(crosses=True), crosses_mm=at)
    assert [mark.kind for mark in plan.hoopings[0].marks] == ["cross", "cross"]
    off = plan_stitches(marked(layout, "each"), StitchSettings(crosses=False), crosses_mm=at)
    assert [mark.kind for mark in off.hoopings[0].marks] == ["each"]


def test_a_line_runs_through_its_seats_with_a_tick_at_the_ends_and_every_tenth():
    layout = layout_of([(3.0 * i, 0.0, 0.0, 0) for i in range(31)], mark="line")
    plan = plan_stitches(layout, StitchSettings())
    (hooping,) = plan.hoopings
    (mark,) = hooping.marks
    assert mark.kind == "line"
    assert mark.seats == tuple(range(31))
    points = hooping.to_stitch.inverse()(of_mark(written(plan)[0], mark))
    off = np.abs(points[:, 1]) > 0.2
    ticked = sorted(set(np.round(points[off, 0] / 3.0).astype(int).tolist()))
    assert ticked == [0, 10, 20, 30]
    assert points[:, 0].min() == pytest.approx(0.0, abs=0.06)
    assert points[:, 0].max() == pytest.approx(90.0, abs=0.06)
    # The ticks hide: a third of the piece across.
    assert np.abs(points[:, 1]).max() <= 2.8 / 6.0 + 0.06


def test_a_ring_of_seats_is_closed():
    turn = np.linspace(0.0, 2 * np.pi, 40, endpoint=False)
    layout = layout_of([(30 * np.cos(a), 30 * np.sin(a), 0.0, 1) for a in turn], mark="line")
    plan = plan_stitches(layout, StitchSettings())
    points = of_mark(written(plan)[0], plan.hoopings[0].marks[0])
    assert np.hypot(*(points[-1] - points[0])) <= 0.2


def test_an_outline_hides_under_the_outermost_pieces_of_a_fill():
    layout = layout_of(grid(8, 6, 6.6), mark="outline")
    plan = plan_stitches(layout, StitchSettings())
    (hooping,) = plan.hoopings
    assert {mark.kind for mark in hooping.marks} == {"outline"}
    points = hooping.to_stitch.inverse()(
        np.concatenate([of_mark(written(plan)[0], mark) for mark in hooping.marks])
    )
    low, high = points.min(axis=0), points.max(axis=0)
    assert low == pytest.approx([-2.7, -2.7], abs=0.15)
    assert high == pytest.approx([7 * 6.6 + 2.7, 5 * 6.6 + 2.7], abs=0.15)
    ring = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0], [0.0, 0.0]])
    given_ring = plan_stitches(layout, StitchSettings(), outlines={"lay-0": [ring]})
    assert given_ring.hoopings[0].design.bounds_mm() == pytest.approx((-10, -10, 10, 10), abs=0.1)


def test_joining_saves_half_the_time_and_keeps_each_mark():
    layout = layout_of(grid(12, 12, 6.5))
    plan = plan_stitches(layout, StitchSettings())
    (hooping,) = plan.hoopings
    before = hooping.unjoined.minutes(plan.settings)
    assert hooping.effort.minutes(plan.settings) <= before / 2.0
    assert hooping.unjoined.trims == 143
    found = written(plan)[0]
    assert len(found.stitches_mm) == hooping.effort.stitches
    apart = plan_stitches(layout, StitchSettings(join_visible_mm=0.0)).hoopings[0]
    assert apart.effort.trims == 143


def test_joined_travel_shows_no_further_than_allowed():
    allowed = 1.0
    layout = layout_of([*grid(6, 6, 6.8), *[(60.0 + 9.0 * i, 20.0, 0.0, 1) for i in range(5)]])
    plan = plan_stitches(layout, StitchSettings(join_visible_mm=allowed))
    (hooping,) = plan.hoopings
    back = hooping.to_stitch.inverse()
    covers = shapely.union_all([shapely.Point(p).buffer(2.95, quad_segs=64) for p in layout.xy])
    (block,) = hooping.design.blocks
    runs = np.split(block.xy, np.flatnonzero(block.kind != 0))
    longest = 0.0
    for run in runs:
        if len(run) < 3:
            continue
        shown = shapely.LineString(back(run[1:])).difference(covers)
        parts = getattr(shown, "geoms", [shown])
        longest = max([longest, *(part.length for part in parts)])
    assert 0.0 < longest <= allowed + 0.15


def test_travel_also_hides_under_a_marked_piece_of_another_code_but_not_under_a_pressed_one():
    seats = [(5.4 * i, 0.0, 0.0, 1 - i % 2) for i in range(12)]
    layout = layout_of(seats)
    plan = plan_stitches(layout, StitchSettings())
    # Two blocks, each sewn in one go under the pieces of the other.
    assert plan.hoopings[0].effort.trims == 1
    pressed = layout_of(seats, lays=[i % 2 for i in range(12)])
    bonded = replace(pressed.lays[1], mark="none", set_by="template")
    pressed = replace(pressed, lays=(pressed.lays[0], bonded))
    assert plan_stitches(pressed, StitchSettings()).hoopings[0].effort.trims == 5


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 40), st.floats(0, 40), angles, st.sampled_from([0, 1, 2, 4])),
        min_size=1,
        max_size=8,
    ),
    st.tuples(st.floats(-5, 45), st.floats(-5, 45)),
    st.tuples(st.floats(-5, 45), st.floats(-5, 45)),
)
def test_what_shows_of_a_travel_is_what_a_geometry_library_finds(table, start, end):
    layout = layout_of(table)
    paths = paths_of(layout, StitchSettings())
    a, b = np.array([start]), np.array([end])
    shown = Covers(layout, paths).shown_mm(a, b)[0]
    pieces = []
    for x, y, angle, number in zip(*layout.xy.T, layout.angle_deg, layout.piece, strict=True):
        outline = placed(piece_outline(PIECES[number], "min"), x, y, angle)
        pieces.append(shapely.Polygon(sampled(outline, 0.01)))
    line = shapely.LineString([start, end]).difference(shapely.union_all(pieces))
    longest = max((part.length for part in getattr(line, "geoms", [line])), default=0.0)
    assert shown == pytest.approx(longest, abs=1e-5)


def test_nothing_marked_is_nothing_sewn():
    plan = plan_stitches(layout_of([(0.0, 0.0, 0.0, 0)], mark="none"), StitchSettings())
    assert plan.hoopings == ()
    assert plan_stitches(layout_of([]), StitchSettings()).hoopings == ()


def test_short_stitches_are_told():
    tiny = SMALL.model_copy(
        update={"length_mm": replace_span(1.0), "width_mm": replace_span(1.0), "code": "TINY"}
    )
    layout = layout_of([(0.0, 0.0, 0.0, 0)], pieces=(tiny,))
    codes = [f.code for f in plan_stitches(layout, StitchSettings(least_mm=0.5)).findings]
    assert "stitch-short" in codes


def replace_span(size: float):
    return SMALL.length_mm.model_copy(update={"min": size, "nominal": size, "max": size})


def test_turning_the_layout_keeps_marks_on_their_seats():
    layout = layout_of(grid(4, 3, 11.0, 3))
    turned = replace(layout, angle_deg=np.full(12, 77.7))
    plan = plan_stitches(turned, StitchSettings())
    found = written(plan)[0]
    for mark in plan.hoopings[0].marks:
        points = of_mark(found, mark)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
        assert np.abs(middle - mark.centre).max() <= 0.1


def test_a_line_is_held_against_a_mark_for_each_piece():
    layout = layout_of([(3.0 * i, 0.0, 0.0, 0) for i in range(31)], mark="line")
    (hooping,) = plan_stitches(layout, StitchSettings()).hoopings
    one_by_one = plan_stitches(marked(layout, "each"), StitchSettings(join_visible_mm=0.0))
    assert hooping.singly == one_by_one.hoopings[0].unjoined
    assert hooping.singly.trims == 30
    assert hooping.unjoined.trims == 0


def test_an_outline_follows_the_pieces_not_circles_about_them():
    # Navettes of 10 x 5 mm side by side across: 2.5 mm to each side of the first and the last.
    layout = layout_of([(6.0 * i, 0.0, 90.0, 2) for i in range(9)], mark="outline")
    (hooping,) = plan_stitches(layout, StitchSettings()).hoopings
    points = hooping.to_stitch.inverse()(hooping.design.stitches)
    assert points[:, 0].min() == pytest.approx(-2.45 + 0.3, abs=0.25)
    assert points[:, 0].max() == pytest.approx(48.0 + 2.45 - 0.3, abs=0.25)
    assert np.abs(points[:, 1]).max() <= 4.95 - 0.3 + 0.15
