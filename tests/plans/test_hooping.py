"""Hoopings: fields hold what they sew, few of them, split between pieces, crosses shared."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.equipment import Equipment, Hoop, Position
from embellish.formats.stitches import encode
from embellish.plans.hooping import bounds_of, fit_somewhere, fits, middle_of, out_mm
from embellish.plans.hooping_moves import move_into, move_together, move_words
from embellish.plans.hooping_search import windows_for
from embellish.plans.stitching.stitch import HoopSettings, StitchSettings, plan_stitches
from tests.decoders import decode_dst
from tests.plans.stitch_cases import grid, layout_of

FIELD = Hoop(name="invented", field_mm=(100.0, 80.0))
places = st.tuples(st.floats(-300, 300), st.floats(-300, 300), st.just(0.0), st.just(1))


def test_one_field_is_centred_and_holds_all():
    layout = layout_of(grid(9, 7, 9.0))
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    assert plan.findings == ()
    (hooping,) = plan.hoopings
    x0, y0, x1, y1 = hooping.design.bounds_mm() or (np.nan,) * 4
    assert (x0 + x1, y0 + y1) == pytest.approx((0.0, 0.0), abs=0.11)
    assert hooping.to_stitch.as_list()[:4] == [1.0, 0.0, 0.0, 1.0]


def test_a_design_that_fits_only_turned_is_turned_and_told():
    layout = layout_of(grid(7, 11, 9.0))
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    assert [finding.code for finding in plan.findings] == ["hoop-turned"]
    (hooping,) = plan.hoopings
    assert hooping.to_stitch.as_list()[:4] == [0.0, 1.0, -1.0, 0.0]
    x0, y0, x1, y1 = hooping.design.bounds_mm() or (np.nan,) * 4
    assert x1 - x0 <= 100.0
    assert y1 - y0 <= 80.0


@settings(max_examples=20, deadline=None)
@given(st.lists(places, min_size=1, max_size=25), st.sampled_from(["rectangle", "oval"]))
def test_every_hooping_holds_what_it_sews_and_every_seat_is_sewn_once(seats, shape):
    hoop = Hoop(name="invented", shape=shape, field_mm=(120.0, 90.0))
    layout = layout_of(seats)
    plan = plan_stitches(layout, StitchSettings(), hoop)
    sewn = [seat for h in plan.hoopings for mark in h.marks for seat in mark.seats]
    assert sorted(sewn) == list(range(len(layout)))
    assert not [finding for finding in plan.findings if finding.severity == "error"]
    for hooping in plan.hoopings:
        points = np.abs(np.array(decode_dst(encode(hooping.design, "dst")[0]).stitches_mm))
        share = points / np.array([60.0, 45.0])
        if shape == "rectangle":
            # The grid may put a stitch 0.05 mm farther out.
            assert share.max() <= 1.0 + 0.1 / 45.0
        else:
            assert np.hypot(*share.T).max() <= 1.0 + 0.2 / 45.0


def test_whole_lays_stay_together_where_that_takes_no_more_hoopings():
    seats = [*grid(8, 8, 9.0), *[(x + 110.0, y + 5.0, a, p) for x, y, a, p in grid(8, 8, 9.0)]]
    layout = layout_of(seats, lays=[0] * 64 + [1] * 64)
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    assert len(plan.hoopings) == 2
    for hooping in plan.hoopings:
        rows = [seat for mark in hooping.marks for seat in mark.seats]
        assert len(set(layout.lay[rows].tolist())) == 1


def test_fewest_windows_on_a_grid_that_needs_four():
    boxes = bounds_of(
        np.array([[x, y], [x + 2.0, y + 2.0]]) for x in range(0, 150, 5) for y in range(0, 140, 5)
    )
    windows = windows_for(FIELD, boxes, np.zeros(len(boxes), dtype=np.int64))
    assert len(windows) == 4
    assert sorted(np.concatenate([window.rows for window in windows])) == list(range(len(boxes)))


def test_neighbouring_hoopings_share_two_crosses():
    layout = layout_of([(6.0 * i, 0.3 * i, 0.0, 1) for i in range(26)])
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    assert [finding.code for finding in plan.findings] == ["several-hoopings"]
    one, two = plan.hoopings
    places = []
    for hooping in (one, two):
        crosses = [mark for mark in hooping.marks if mark.kind == "cross"]
        assert len(crosses) == 2
        assert {mark.block for mark in crosses} == {0}
        back = hooping.to_stitch.inverse()
        places.append(sorted(tuple(np.round(back(np.array(m.centre)), 4)) for m in crosses))
    assert places[0] == places[1]
    (ax, ay), (bx, by) = places[0]
    assert np.hypot(ax - bx, ay - by) >= 30.0
    gaps = np.hypot(*(layout.xy[:, None] - np.array(places[0])[None]).transpose(2, 0, 1))
    assert gaps.min() > 3.0


@pytest.mark.parametrize("mark", ["line", "outline"])
def test_a_line_longer_than_the_field_is_cut_between_pieces(mark):
    turn = np.linspace(0.0, 2 * np.pi, 120, endpoint=False)
    layout = layout_of([(130 * np.cos(a), 130 * np.sin(a), 0.0, 1) for a in turn], mark=mark)
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    assert len(plan.hoopings) > 4
    assert not [finding for finding in plan.findings if finding.severity == "error"]
    for hooping in plan.hoopings:
        assert (np.abs(hooping.design.stitches) <= np.array([50.1, 40.1])).all()
    marks = [one for hooping in plan.hoopings for one in hooping.marks if one.kind != "cross"]
    seats = [seat for one in marks for seat in one.seats]
    assert set(seats) == set(range(120))
    if mark == "line":
        assert len(seats) == 120


def test_a_mark_larger_than_the_field_is_an_error_that_says_how_far():
    tiny = Hoop(name="tiny", field_mm=(2.0, 40.0))
    plan = plan_stitches(layout_of([(0.0, 0.0, 0.0, 1)]), StitchSettings(), tiny)
    (finding,) = [f for f in plan.findings if f.code == "outside-hoop"]
    assert finding.severity == "error"
    # A cross of 0.6 of a piece that is at least 5.9 mm.
    assert f"{(0.6 * 5.9 - 2.0) / 2:.1f} mm" in finding.message
    assert finding.lay == "lay-0"


def test_positions_of_one_hoop_make_one_hooping():
    hoop = Hoop(
        name="three positions",
        field_mm=(100.0, 100.0),
        positions=(
            Position(name="top", y_mm=-36.0),
            Position(name="middle"),
            Position(name="bottom", y_mm=36.0),
        ),
    )
    layout = layout_of(grid(6, 17, 9.5))
    plan = plan_stitches(layout, StitchSettings(), hoop)
    assert [hooping.position for hooping in plan.hoopings] == ["top", "bottom"]
    assert {hooping.number for hooping in plan.hoopings} == {0}
    top, bottom = (hooping.to_stitch.inverse()(np.zeros(2)) for hooping in plan.hoopings)
    assert bottom - top == pytest.approx([0.0, 72.0])
    for hooping in plan.hoopings:
        assert np.abs(hooping.design.stitches).max() <= 50.05


def test_registration_crosses_take_no_hooping_of_their_own():
    layout = layout_of(grid(20, 4, 9.0))
    at = np.array([[-20.0, 0.0], [30.0, 14.0], [190.0, 0.0]])
    plan = plan_stitches(layout, StitchSettings(), FIELD, crosses_mm=at)
    assert len(plan.hoopings) == 2
    assert "cross-outside-hoop" in [finding.code for finding in plan.findings]


def test_how_far_a_box_is_out():
    boxes = np.array([[-50.0, -40.0, 50.0, 40.0], [0.0, 0.0, 53.0, 10.0], [0.0, -45.5, 1.0, 0.0]])
    assert out_mm(FIELD, boxes, (0.0, 0.0)) == pytest.approx([0.0, 3.0, 5.5])
    assert out_mm(FIELD, boxes[:1], (0.0, 0.0), 90) == pytest.approx([10.0])
    ring = Hoop(name="ring", shape="round", field_mm=(100.0, 100.0))
    assert out_mm(ring, np.array([[30.0, 40.0, 30.0, 40.0]]), (0.0, 0.0)) == pytest.approx([0.0])
    assert out_mm(ring, np.array([[36.0, 48.0, 36.0, 48.0]]), (0.0, 0.0)) == pytest.approx([10.0])
    assert middle_of(boxes) == (1.5, -2.75)


def test_a_hoop_is_given_once():
    assert HoopSettings(field_mm=(100.0, 80.0)).field_mm == (100.0, 80.0)
    with pytest.raises(ValueError, match="no field"):
        HoopSettings()
    with pytest.raises(ValueError, match="two fields"):
        HoopSettings(field_mm=(100.0, 80.0), hoop="x")
    with pytest.raises(ValueError, match="shape of the hoop 'x' are the catalogue's"):
        HoopSettings(shape="oval", hoop="x")


def test_a_hoop_of_ones_own_has_positions():
    upper, lower = Position(name="upper", y_mm=-30.0), Position(name="lower", y_mm=30.0)
    given = HoopSettings(field_mm=(100.0, 80.0), positions=(upper, lower))
    assert given.chosen(Equipment()).positions == (upper, lower)
    with pytest.raises(ValueError, match="same name"):
        HoopSettings(field_mm=(100.0, 80.0), positions=(upper, upper))
    with pytest.raises(ValueError, match="one size"):
        HoopSettings(field_mm=(100.0, 80.0), shape="round")


def exhaustive(hoop: Hoop, boxes: np.ndarray, turns: tuple[int, ...]) -> int:
    """The fewest fields that hold all boxes, by trying every way to part them."""
    count = len(boxes)
    least = count
    for turn in turns:
        good = [
            bits
            for bits in range(1, 1 << count)
            if fit_somewhere(hoop, boxes[[i for i in range(count) if bits >> i & 1]], turn)
        ]
        best = [0] + [count] * ((1 << count) - 1)
        for bits in range(1, 1 << count):
            low = bits & -bits
            best[bits] = 1 + min(best[bits & ~each] for each in good if each & low)
        least = min(least, best[-1])
    return least


corners = st.tuples(st.floats(0, 260), st.floats(0, 260), st.floats(1, 30), st.floats(1, 30))


@settings(max_examples=40, deadline=None)
@given(st.lists(corners, min_size=1, max_size=7), st.sampled_from(["rectangle", "round"]))
def test_no_way_to_part_few_marks_takes_fewer_fields(table, shape):
    hoop = Hoop(name="invented", shape=shape, field_mm=(100.0, 100.0 if shape == "round" else 80.0))
    boxes = np.array([[x, y, x + w, y + h] for x, y, w, h in table])
    windows = windows_for(hoop, boxes, np.arange(len(boxes)) % 3)
    assert sorted(np.concatenate([w.rows for w in windows]).tolist()) == list(range(len(boxes)))
    for window in windows:
        assert fits(hoop, boxes[window.rows], window.middle, window.turn_deg)
    least = exhaustive(hoop, boxes, (0, 90))
    # A round field's best places are not searched for one by one.
    assert len(windows) <= least + (shape == "round")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(corners, min_size=2, max_size=7), st.lists(st.integers(0, 2), min_size=7, max_size=7)
)
def test_no_lay_is_parted_where_as_few_fields_hold_whole_lays(table, of):
    boxes = np.array([[x, y, x + w, y + h] for x, y, w, h in table])
    lays = np.array(of[: len(boxes)])
    windows = windows_for(FIELD, boxes, lays, (0,))
    names = np.unique(lays)
    around = np.array(
        [[*boxes[lays == k, :2].min(axis=0), *boxes[lays == k, 2:].max(axis=0)] for k in names]
    )
    if all(fit_somewhere(FIELD, box[None], 0) for box in around):
        whole = exhaustive(FIELD, around, (0,))
        parted = sum(len(np.unique(lays[w.rows])) for w in windows) > len(names)
        assert not parted or len(windows) < whole


def test_a_round_field_lies_about_the_least_circle():
    ring = Hoop(name="ring", shape="round", field_mm=(100.0, 100.0))
    turn = np.radians([90.0, 210.0, 330.0])
    boxes = np.array([[x, y, x, y] for x, y in 49.0 * np.stack([np.cos(turn), np.sin(turn)], 1)])
    # Their bounds' middle is 12 mm off the circle's.
    assert fits(ring, boxes, middle_of(boxes, ring), 0)
    assert not fits(ring, boxes, middle_of(boxes), 0)
    assert len(windows_for(ring, boxes, np.zeros(3, dtype=np.int64))) == 1


@pytest.mark.parametrize("shape", ["rectangle", "round", "oval"])
def test_a_move_told_is_enough_and_not_a_step_too_long(shape):
    hoop = Hoop(name="invented", shape=shape, field_mm=(100.0, 100.0 if shape == "round" else 80.0))
    still = np.array([[-30.0, -20.0, 30.0, 20.0]])
    boxes = np.array([[40.0, 5.0, 63.3, 18.0], [60.0, -12.0, 71.7, -3.0]])
    shorter = np.array([0.1, 0.0])
    move = move_into(hoop, boxes, (0.0, 0.0))
    assert move is not None
    assert fits(hoop, boxes + np.tile(move, 2), (0.0, 0.0), 0)
    assert not fits(hoop, boxes + np.tile(move + shorter, 2), (0.0, 0.0), 0)
    move = move_together(hoop, still, boxes)
    assert move is not None
    assert fit_somewhere(hoop, np.concatenate([still, boxes + np.tile(move, 2)]), 0)
    nearer = boxes + np.tile(move + shorter, 2)
    assert not fit_somewhere(hoop, np.concatenate([still, nearer]), 0)
    assert move_together(hoop, still, boxes * 3.0) is None
    assert move_words(np.array([-2.34, 0.0])) == "2.3 mm to the left"
    assert move_words(np.array([1.0, -2.0])) == "1.0 mm to the right and 2.0 mm up"


def test_the_move_told_does_save_a_hooping():
    seats = [*grid(8, 5, 9.0), (110.0, 10.0, 0.0, 1)]
    layout = layout_of(seats, lays=[0] * 40 + [1])
    plan = plan_stitches(layout, StitchSettings(), FIELD)
    (told,) = [finding for finding in plan.findings if finding.code == "several-hoopings"]
    assert "2 files in 2 hoopings" in told.message
    assert "1 piece lies" in told.message
    words = told.mend.split("Move that piece (40) ")[1].split(" mm to the left")[0]
    move = float(words)
    nearer = layout_of([*seats[:40], (110.0 - move, 10.0, 0.0, 1)], lays=[0] * 40 + [1])
    assert len(plan_stitches(nearer, StitchSettings(), FIELD).hoopings) == 1
    farther = layout_of([*seats[:40], (110.2 - move, 10.0, 0.0, 1)], lays=[0] * 40 + [1])
    assert len(plan_stitches(farther, StitchSettings(), FIELD).hoopings) == 2


def test_a_field_in_a_place_of_its_own_tells_how_far_to_move_the_design():
    layout = layout_of(grid(8, 5, 9.0))
    plan = plan_stitches(layout, StitchSettings(), FIELD, field_at_mm=(0.0, 18.0))
    (told,) = [finding for finding in plan.findings if finding.code == "several-hoopings"]
    x = float(told.mend.split("Move the design ")[1].split(" mm to the left")[0])
    moved = layout_of([(a - x, b, c, d) for a, b, c, d in grid(8, 5, 9.0)])
    at = plan_stitches(moved, StitchSettings(), FIELD, field_at_mm=(0.0, 18.0))
    assert len(at.hoopings) == 1
    assert at.findings == ()
    assert at.hoopings[0].to_stitch(np.array([0.0, 18.0])).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turned", [False, True])
def test_positions_are_where_the_hoop_has_them_from_either_side(mirrored, turned):
    step = np.array([60.0, 10.0])
    hoop = Hoop(
        name="two",
        field_mm=(100.0, 80.0),
        positions=(Position(name="a"), Position(name="b", x_mm=60.0, y_mm=10.0)),
    )
    # As a person sees it in the hoop, the second half lies right of the first and lower.
    seen = [(x + 60.0 * b, y + 10.0 * b, 0.0, 1) for b in (0, 1) for x, y, _, _ in grid(9, 6, 11.0)]
    if turned:
        seen = [(y, -x, a, n) for x, y, a, n in seen]
    if mirrored:
        seen = [(-x, y, a, n) for x, y, a, n in seen]
    plan = plan_stitches(layout_of(seen), StitchSettings(mirrored=mirrored), hoop)
    assert [hooping.position for hooping in plan.hoopings] == ["a", "b"]
    assert {hooping.number for hooping in plan.hoopings} == {0}
    one, other = (hooping.to_stitch(np.array([3.0, 7.0])) for hooping in plan.hoopings)
    assert one - other == pytest.approx(step)
    assert all(hooping.mirrored == mirrored for hooping in plan.hoopings)


def test_a_position_hung_the_other_way_round_sews_its_file_turned():
    hoop = Hoop(
        name="turn-round",
        field_mm=(100.0, 80.0),
        positions=(
            Position(name="one", y_mm=-35.0),
            Position(name="other", y_mm=35.0, turn_deg=180),
        ),
    )
    layout = layout_of(grid(9, 15, 9.5))
    plan = plan_stitches(layout, StitchSettings(), hoop)
    assert [hooping.position for hooping in plan.hoopings] == ["one", "other"]
    assert {hooping.number for hooping in plan.hoopings} == {0}
    one, other = (hooping.to_stitch.as_list() for hooping in plan.hoopings)
    assert one[:4] == [1.0, 0.0, 0.0, 1.0]
    assert other[:4] == [-1.0, 0.0, 0.0, -1.0]
    sewn = sorted(seat for h in plan.hoopings for mark in h.marks for seat in mark.seats)
    assert sewn == list(range(len(layout)))
    assert "note" in {f.severity for f in plan.findings if f.code == "several-hoopings"}


@settings(max_examples=12, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 90), st.floats(0, 165), st.just(0.0), st.just(1)),
        min_size=2,
        max_size=30,
    )
)
def test_positions_hold_what_lies_within_all_of_them(seats):
    hoop = Hoop(
        name="three",
        field_mm=(100.0, 100.0),
        positions=tuple(Position(name=str(y), y_mm=y) for y in (-36.0, 0.0, 36.0)),
    )
    plan = plan_stitches(layout_of(seats), StitchSettings(), hoop)
    assert {hooping.number for hooping in plan.hoopings} == {0}
    assert len(plan.hoopings) <= 2
    sewn = sorted(seat for h in plan.hoopings for mark in h.marks for seat in mark.seats)
    assert sewn == list(range(len(seats)))
    for hooping in plan.hoopings:
        assert np.abs(hooping.design.stitches).max() <= 50.06
