"""Rings: their laws in awkward regions, crisp rows, even middles."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.geometry.containment import edge_clearance
from embellish.geometry.footprints import Footprint, Standing
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.geometry.insets import centre_region
from embellish.geometry.outline_forms import navette, oval, rectangle
from embellish.layout.ways.rings import RINGS, RingsSettings
from embellish.layout.ways.way import Kit
from tests.layout.ways.fill_cases import (
    FILL_REGIONS,
    bound,
    check_laws,
    kit_of,
    lay,
    occupied,
    polar,
)
from tests.shapes import polygon_of


@pytest.mark.parametrize("packing", ["crisp", "dense"])
@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_laws_hold_in_awkward_regions(name, packing):
    region, kit = FILL_REGIONS[name], kit_of(2.0)
    laid = lay(RINGS, [region], kit, packing=packing)
    check_laws(laid, kit, [region])
    assert len(laid.seats) or laid.findings
    assert len(laid.seats) <= bound(centre_region(region, 1.0, 0.2), 2.3) + 1e-6


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.floats(1.0, 8.0),
    st.floats(0.5, 1.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 2.0),
    st.sampled_from(["place", "row"]),
)
def test_laws_hold_for_any_sizes(name, diameter, ratio, gap, edge, alternate):
    region, kit = FILL_REGIONS[name], kit_of(diameter, diameter * ratio, gap=gap, edge=edge)
    laid = lay(RINGS, [region], kit, alternate=alternate)
    check_laws(laid, kit, [region])


def test_the_edge_row_is_crisp():
    region, kit = shapely.Point(0, 0).buffer(20, quad_segs=400), kit_of(2.0, gap=0.3, edge=0.5)
    seats = lay(RINGS, [region], kit).seats
    edge = seats.xy[seats.row == 0]
    assert np.ptp(np.hypot(*edge.T)) < 1e-3
    chord = np.hypot(*(np.roll(edge, -1, axis=0) - edge).T)
    assert np.ptp(chord) < 1e-5
    # As many as a whole number allows.
    assert len(edge) == math.floor(math.pi / math.asin(2.3 / 2 / 18.5) + 1e-6)


def test_a_rectangle_has_a_piece_in_each_corner_of_each_row():
    region, kit = shapely.box(0, 0, 60, 40), kit_of(3.0, gap=0.5, edge=0.25)
    seats = lay(RINGS, [region], kit).seats
    for row in range(4):
        low = 0.25 + 1.5 + 3.5 * row
        for corner in ((low, low), (60 - low, low), (60 - low, 40 - low), (low, 40 - low)):
            mine = seats.xy[seats.row == row]
            # To a tenth of a piece: spaced wider than they touch, rows nest a little.
            assert np.hypot(*(mine - corner).T).min() < 0.3
    assert np.count_nonzero(seats.weight == 1.0) >= 16


def test_what_is_left_in_the_middle_of_a_strip_is_one_centred_row():
    region, kit = shapely.box(0, 0, 60, 8.2), kit_of(2.0, gap=0.4, edge=0.0)
    seats = lay(RINGS, [region], kit).seats
    inner = seats.xy[(seats.xy[:, 1] > 1.5) & (seats.xy[:, 1] < 6.7)]
    middle = inner[(inner[:, 0] > 6.0) & (inner[:, 0] < 54.0)]
    assert len(middle) >= 18
    assert np.ptp(middle[:, 1]) < 0.05
    assert middle[:, 1].mean() == pytest.approx(4.1, abs=0.05)


def test_a_narrow_tip_is_the_same_on_both_sides():
    region, kit = shapely.Polygon([(0, 0), (60, 14), (60, -14)]), kit_of(2.0, gap=0.2, edge=0.3)
    xy = lay(RINGS, [region], kit).seats.xy
    tip = xy[xy[:, 0] < 15.0]
    mirrored = tip * [1.0, -1.0]
    away = np.hypot(*(tip[:, None] - mirrored[None]).transpose(2, 0, 1)).min(axis=1)
    assert away.max() < 0.05
    assert tip[:, 0].min() < 6.0, "a piece stands in the very tip"


def test_no_further_piece_fits():
    for name in ("star", "glyph, an e", "notched, with two holes"):
        region, kit = FILL_REGIONS[name], kit_of(2.0)
        xy = lay(RINGS, [region], kit).seats.xy
        centres = centre_region(region, 1.0, 0.2)
        left = centres.difference(shapely.union_all(shapely.buffer(shapely.points(xy), 2.31)))
        assert left.is_empty


@pytest.mark.parametrize(("packing", "least"), [("crisp", 0.87), ("dense", 0.88)])
def test_density_stands_near_the_bound(packing, least):
    region = polar(lambda t: 30 + 6 * math.cos(3 * t), 400)
    kit = kit_of(1.5, gap=0.0, edge=0.0)
    seats = lay(RINGS, [region], kit, packing=packing).seats
    assert len(seats) >= least * bound(centre_region(region, 0.75), 1.5)


def test_a_number_of_rows_is_kept_to():
    region, kit = shapely.box(0, 0, 40, 30), kit_of(2.0)
    seats = lay(RINGS, [region], kit, rows=2).seats
    check_laws(lay(RINGS, [region], kit, rows=2), kit, [region])
    assert set(seats.row) == {0, 1}
    depth = shapely.distance(region.exterior, shapely.points(seats.xy))
    assert depth.max() < 2.3 + 1.3


def test_sequences_go_by_row_or_by_place():
    region, kit = shapely.Point(0, 0).buffer(25, quad_segs=200), kit_of(3.0, 2.0, gap=0.2)
    seats = lay(RINGS, [region], kit, alternate="row", rows=4).seats
    assert np.array_equal(seats.choice, seats.row % 2)
    seats = lay(RINGS, [region], kit, rows=1).seats
    assert np.array_equal(seats.choice, np.arange(len(seats)) % 2)
    chord = np.hypot(*(np.roll(seats.xy, -1, axis=0) - seats.xy).T)
    assert np.ptp(chord) < 1e-5


def test_a_mix_is_exact_to_one_piece():
    kit = kit_of(2.0, 2.0, 2.0, shares=(0.5, 0.3, 0.2))
    laid = lay(RINGS, [FILL_REGIONS["square"]], kit)
    check_laws(laid, kit, [FILL_REGIONS["square"]])
    count = np.bincount(laid.seats.choice, minlength=3)
    assert np.all(np.abs(count - np.array([0.5, 0.3, 0.2]) * len(laid.seats)) < 1.0)


def test_earlier_seats_and_keep_outs_are_laid_around():
    region, kit = FILL_REGIONS["square"], kit_of(2.0)
    stood = occupied([(10, 10), (30.5, 20)], 6.0, 0.8)
    hole = shapely.Point(20, 8).buffer(3)
    laid = lay(RINGS, [region], kit, ground={"occupied": stood, "keep_out": hole})
    check_laws(laid, kit, [region])
    away = np.hypot(*(laid.seats.xy[:, None] - stood.xy[None]).transpose(2, 0, 1))
    assert away.min() >= 3.0 + 1.0 + 0.8
    assert shapely.distance(hole, shapely.points(laid.seats.xy)).min() > 1.0


def test_a_region_without_room_is_a_finding():
    laid = lay(RINGS, [FILL_REGIONS["sliver"]], kit_of(4.0))
    assert not len(laid.seats)
    assert [finding.code for finding in laid.findings] == ["region-too-small"]


def test_room_for_one_piece_gets_one():
    region = shapely.Point(5, 5).buffer(1.3)
    seats = lay(RINGS, [region], kit_of(2.0)).seats
    assert len(seats) == 1
    assert seats.xy[0] == pytest.approx([5, 5], abs=0.1)


def test_equal_jobs_give_equal_bytes():
    kit = kit_of(1.5)
    one, two = (lay(RINGS, [FILL_REGIONS["star"]], kit).seats for _ in range(2))
    assert one.xy.tobytes() == two.xy.tobytes()


def test_unknown_settings_are_refused():
    with pytest.raises(ValidationError):
        RingsSettings(rows=0)


SHAPED = {"bugle": rectangle(5.0, 1.4), "navette": navette(5.0, 2.2), "oval": oval(4.0, 3.0)}


def shaped_kit(name: str, gap: float = 0.4, edge: float = 0.3) -> Kit:
    return Kit((Footprint.of(SHAPED[name]),), (180.0,), None, gap, edge)


@pytest.mark.parametrize("turn", ["along", "across", "fixed"])
@pytest.mark.parametrize("name", sorted(SHAPED))
@pytest.mark.parametrize("region", ["square", "glyph, an e", "disc and square", "star"])
def test_laws_hold_for_pieces_that_are_not_round(region, name, turn):
    kit, area = shaped_kit(name), FILL_REGIONS[region]
    laid = lay(RINGS, [area], kit, turn=turn)
    check_laws(laid, kit, [area])
    assert len(laid.seats) > 10


def test_pieces_that_are_not_round_follow_their_row():
    region, kit = shapely.Point(0, 0).buffer(25, quad_segs=300), shaped_kit("bugle")
    for turn, off in (("along", 90.0), ("across", 0.0)):
        seats = lay(RINGS, [region], kit, turn=turn, rows=3).seats
        # On a circle the row runs square to the way out.
        out = np.degrees(np.arctan2(seats.xy[:, 1], seats.xy[:, 0]))
        away = np.mod(seats.angle_deg - out - off + 90.0, 180.0) - 90.0
        assert np.abs(away).max() < 0.5
    fixed = lay(RINGS, [region], kit, turn="fixed", turn_deg=30.0).seats
    assert set(np.mod(fixed.angle_deg, 180.0)) == {30.0}


def test_pieces_that_are_not_round_keep_clear_of_what_stands():
    region, kit = FILL_REGIONS["square"], shaped_kit("navette")
    stood = occupied([(10, 10), (30.5, 20)], 6.0, 0.8)
    hole = shapely.Point(20, 8).buffer(3)
    laid = lay(RINGS, [region], kit, ground={"occupied": stood, "keep_out": hole})
    check_laws(laid, kit, [region])
    mine = Standing(laid.seats.xy, laid.seats.angle_deg, laid.seats.choice, kit.footprints)
    theirs = Standing(stood.xy, stood.angle_deg, stood.footprint, stood.footprints)
    assert neighbour_gaps_between(mine, theirs, 20.0)[1].min() >= 0.8
    for x, y, angle in zip(*laid.seats.xy.T, laid.seats.angle_deg, strict=True):
        assert not polygon_of(SHAPED["navette"], x, y, angle).intersects(hole)


LENS = shapely.Point(-30, 0).buffer(44, quad_segs=90) & shapely.Point(30, 0).buffer(
    44, quad_segs=90
)
"""A leaf upright: two arcs that meet in tips."""


@pytest.mark.parametrize("region", [LENS, FILL_REGIONS["star"], FILL_REGIONS["square"]])
def test_rows_of_turned_pieces_leave_no_hole_that_takes_one_more(region):
    kit = Kit((Footprint.of(navette(6.0, 3.0)),), (180.0,), None, 0.9, 0.5)
    laid = lay(RINGS, [region], kit)
    check_laws(laid, kit, [region])
    seats = laid.seats
    standing = Standing(seats.xy, seats.angle_deg, seats.choice, kit.footprints)
    x0, y0, x1, y1 = region.bounds
    places = np.stack(np.meshgrid(np.arange(x0, x1, 0.31), np.arange(y0, y1, 0.31)), -1)
    places = places.reshape(-1, 2)
    # With a tenth of a millimetre to spare in every gap, turned like the piece beside it.
    beside = np.argmin(np.hypot(*(places[:, None] - seats.xy).transpose(2, 0, 1)), axis=1)
    tried = Standing(
        places, seats.angle_deg[beside], np.zeros(len(places), dtype=np.int64), kit.footprints
    )
    free = edge_clearance(places, tried.angle_deg, tried.footprint, kit.footprints, region) > 0.6
    pairs, _ = neighbour_gaps_between(tried, standing, 1.0)
    free[pairs[:, 0]] = False
    assert not free.any()


def test_pieces_all_turned_alike_stay_so_where_they_fill_holes():
    laid = lay(RINGS, [LENS], shaped_kit("navette"), turn="fixed", turn_deg=30.0)
    assert np.unique(laid.seats.angle_deg).tolist() == [30.0]
