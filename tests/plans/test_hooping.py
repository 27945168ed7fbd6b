"""Hoopings: fields hold what they sew, few of them, split between pieces, crosses shared."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.equipment import Hoop, Position
from embellish.formats.stitches import encode
from embellish.plans.hooping import bounds_of, middle_of, out_mm, windows_for
from embellish.plans.stitch import HoopSettings, StitchSettings, plan_stitches
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


@settings(max_examples=40, deadline=None)
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
    with pytest.raises(ValueError, match="either"):
        HoopSettings()
    with pytest.raises(ValueError, match="either"):
        HoopSettings(field_mm=(100.0, 80.0), hoop="x")
