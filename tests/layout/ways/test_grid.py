"""The grid: its laws in awkward regions, its patterns, what stands in whose place."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.geometry.footprints import Footprint
from embellish.geometry.insets import centre_region
from embellish.geometry.outline_forms import navette, pear, rectangle
from embellish.geometry.outlines import circle
from embellish.geometry.vacancies import filled_holes
from embellish.layout.ways.grid import GRID, GridSettings
from embellish.layout.ways.way import Kit
from tests.layout.ways.fill_cases import FILL_REGIONS, bound, check_laws, kit_of, lay, occupied

regions = st.sampled_from(sorted(FILL_REGIONS))
PATTERNS = ("hex", "square", "brick")
PATTERN = st.sampled_from(PATTERNS)


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("pattern", PATTERNS)
def test_laws_hold_in_awkward_regions(name, pattern):
    region, kit = FILL_REGIONS[name], kit_of(2.0)
    laid = lay(GRID, [region], kit, pattern=pattern)
    check_laws(laid, kit, [region])
    assert len(laid.seats) or laid.findings
    centres = centre_region(region, 1.0, 0.2)
    assert len(laid.seats) <= bound(centres, 2.3) + 1e-6


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("form", [circle(2.8), navette(6.0, 3.0)])
def test_a_shape_that_is_alike_on_both_sides_is_laid_alike(form, pattern):
    turn = np.arange(10) * np.pi / 5.0
    far = np.where(np.arange(10) % 2, 16.0, 40.0)
    star = shapely.Polygon(np.stack([far * np.sin(turn) + 7.0, -far * np.cos(turn)], axis=1))
    kit = Kit((Footprint.of(form),), (180.0,), None, 0.5)
    seats = lay(GRID, [star], kit, pattern=pattern).seats
    image = np.stack([14.0 - seats.xy[:, 0], seats.xy[:, 1]], axis=1)
    assert np.max(cKDTree(seats.xy).query(image)[0]) < 1e-3
    assert len(seats) > 40


@settings(max_examples=40, deadline=None)
@given(
    regions,
    st.floats(0.4, 6.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 2.0),
    st.sampled_from(PATTERNS),
    st.one_of(st.just("best"), st.floats(0.0, 180.0)),
)
def test_laws_hold_for_any_size(name, diameter, gap, edge, pattern, angle):
    region, kit = FILL_REGIONS[name], kit_of(diameter, gap=gap, edge=edge)
    laid = lay(GRID, [region], kit, pattern=pattern, angle_deg=angle)
    check_laws(laid, kit, [region])


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("pattern", PATTERNS)
def test_fitted_to_the_edge_the_laws_hold_and_nothing_more_fits(name, pattern):
    region, kit = FILL_REGIONS[name], kit_of(2.0)
    laid = lay(GRID, [region], kit, pattern=pattern, fit_edge=True)
    check_laws(laid, kit, [region])
    centres = centre_region(region, 1.0, kit.edge_mm + 1e-6)
    assert bool(len(laid.seats)) != any(each.code == "region-too-small" for each in laid.findings)
    if len(laid.seats):
        more = filled_holes(laid.seats.xy, np.full(len(laid.seats), 1.151), centres, 1.151)
        assert len(more) <= 0.01 * len(laid.seats)


@settings(max_examples=30, deadline=None)
@given(regions, st.floats(0.4, 6.0), st.floats(0.0, 2.0), st.floats(0.0, 2.0), PATTERN)
def test_fitted_to_the_edge_the_laws_hold_for_any_size(name, diameter, gap, edge, pattern):
    region, kit = FILL_REGIONS[name], kit_of(diameter, gap=gap, edge=edge)
    laid = lay(GRID, [region], kit, pattern=pattern, fit_edge=True)
    check_laws(laid, kit, [region])


def test_fitted_to_the_edge_a_row_stands_on_it_and_the_lattice_stays_within():
    region, kit = shapely.Point(0, 0).buffer(40, quad_segs=64), kit_of(2.0)
    seats = lay(GRID, [region], kit, fit_edge=True, angle_deg=0.0).seats
    edge = np.hypot(*seats.xy.T) > 40 - 1 - kit.edge_mm - 0.02
    assert np.count_nonzero(edge) == int(np.pi / np.arcsin(1.15 / (39 - kit.edge_mm)))
    inner = seats.xy[np.hypot(*seats.xy.T) < 40 - 4 * 2.3]
    rows = np.unique(np.round(inner[:, 1], 3))
    assert np.diff(rows) == pytest.approx(np.full(len(rows) - 1, 2.3 * np.sqrt(0.75)), abs=2e-3)
    plain = lay(GRID, [region], kit, angle_deg=0.0).seats
    assert len(seats) > 0.97 * len(plain)


def test_fitted_to_the_edge_pieces_that_are_not_round_have_their_row_too():
    region, footprint = shapely.Point(0, 0).buffer(20), Footprint.of(navette(4.0, 2.0))
    kit = Kit((footprint,), (180.0,), None, 0.2, 0.1)
    laid = lay(GRID, [region], kit, fit_edge=True)
    check_laws(laid, kit, [region])
    plain = lay(GRID, [region], kit)

    def beside(xy: Floats) -> float:
        return float(np.sum(shapely.distance(region.boundary, shapely.points(xy)) < 1.15))

    # What stands is kept clear of by the circle about it, which costs some within.
    assert len(laid.seats) > 0.75 * len(plain.seats)
    assert beside(laid.seats.xy) > 1.2 * beside(plain.seats.xy)


@pytest.mark.parametrize("name", ["notched, with two holes", "star", "five thousand vertices"])
@pytest.mark.parametrize("turn", [0.0, 33.0, 90.0])
@pytest.mark.parametrize(
    ("outline", "symmetry"),
    [(rectangle(4.0, 1.5), 180.0), (navette(4.0, 2.0), 180.0), (pear(3.0, 2.0), 360.0)],
    ids=["bugle", "navette", "pear"],
)
def test_shaped_pieces_keep_the_laws_by_their_outlines(name, turn, outline, symmetry):
    region = FILL_REGIONS[name]
    footprint = Footprint.of(outline)
    kit = Kit((footprint,), (symmetry,), None, 0.2, 0.1)
    laid = lay(GRID, [region], kit, pieces_deg=turn)
    check_laws(laid, kit, [region])
    # By reach alone far fewer would fit.
    around = lay(GRID, [region], kit_of(2.0 * footprint.reach_mm, gap=0.2, edge=0.1))
    assert len(laid.seats) > len(around.seats)


def test_shaped_pieces_pack_as_tight_as_their_gap_allows():
    kit = Kit((Footprint.of(rectangle(6.0, 2.0)),), (180.0,), None, 0.5, 0.0)
    # Ten of 6 mm and nine gaps of 0.5 mm are 64.5 mm; ten of 2 mm with their gaps 24.5 mm.
    for length, width, count in ((64.51, 24.51, 100), (64.49, 24.51, 90), (64.51, 24.49, 90)):
        box = shapely.box(0, 0, length, width)
        laid = lay(GRID, [box], kit, pattern="square", angle_deg=0.0)
        assert len(laid.seats) == count
        check_laws(laid, kit, [box])


def test_units_of_several_parts_are_kept_apart_by_all_of_them():
    base = Footprint.of(circle(2.0))
    part = type(base.parts[0])
    footprint = Footprint(
        (part(circle(2.0), -2.0, 0.0), part(rectangle(2.0, 1.0)), part(circle(2.0), 2.0, 0.0)), 3.0
    )
    kit = Kit((footprint,), (180.0,), None, 0.3, 0.2)
    region = FILL_REGIONS["square"]
    laid = lay(GRID, [region], kit)
    check_laws(laid, kit, [region])
    assert len(laid.seats) > 0.8 * 40 * 30 / (6.3 * 2.3)


@pytest.mark.parametrize("pattern", ["square", "brick"])
def test_an_exact_fit_is_not_lost_to_the_slack(pattern):
    box = shapely.box(0, 0, 10.5 if pattern == "brick" else 10.0, 10)
    kit = kit_of(1.0, gap=0.0, edge=0.0)
    laid = lay(GRID, [box], kit, ground={"as_laid": True}, pattern=pattern)
    assert len(laid.seats) == 100
    check_laws(laid, kit, [box], as_laid=True)
    # Where the layout is turned afterwards the slack is needed, so one row and column go.
    assert len(lay(GRID, [box], kit, pattern=pattern).seats) < 100


def test_an_exact_fit_that_would_break_a_gap_in_its_last_bit_is_not_taken():
    box = shapely.box(0, 0, 22.7, 22.7)
    kit = kit_of(2.0, gap=0.3, edge=0.0)
    laid = lay(GRID, [box], kit, ground={"as_laid": True}, pattern="square")
    check_laws(laid, kit, [box], as_laid=True)


def test_a_region_with_room_to_spare_is_filled_evenly_about_its_middle():
    laid = lay(
        GRID, [shapely.box(0, 0, 12.6, 12.6)], kit_of(2.0, gap=0.5, edge=0.0), pattern="square"
    )
    assert len(laid.seats) == 25
    assert laid.seats.xy.mean(axis=0) == pytest.approx([6.3, 6.3], abs=1e-4)


def test_turning_the_region_turns_the_layout():
    region, kit = FILL_REGIONS["notched, with two holes"], kit_of(2.0)
    plain = lay(GRID, [region], kit, angle_deg=0.0).seats.xy
    for quarter in (90, 180, 270):
        turned = shapely.affinity.rotate(region, quarter, origin=(0, 0))
        there = lay(GRID, [turned], kit, angle_deg=quarter % 180).seats.xy
        back = shapely.affinity.rotate(shapely.MultiPoint(there), -quarter, origin=(0, 0))
        assert len(there) == len(plain)
        gone = shapely.MultiPoint(plain).hausdorff_distance(back)
        assert gone < 0.2, "only the middle of a run of equal shifts may differ by a step"


def test_best_is_no_worse_than_any_fixed_turn():
    for name in ("star", "notched, with two holes", "glyph, an e"):
        region, kit = FILL_REGIONS[name], kit_of(1.5)
        best = len(lay(GRID, [region], kit).seats)
        fixed = [len(lay(GRID, [region], kit, angle_deg=a).seats) for a in (0.0, 7.0, 22.5, 45.0)]
        assert best >= max(fixed) - 1


def test_a_sequence_has_no_equal_neighbours():
    kit = kit_of(2.0, 2.0, 2.0, gap=0.0, edge=0.0)
    seats = lay(GRID, [shapely.box(0, 0, 40, 30)], kit).seats
    gap = np.hypot(*(seats.xy[:, None] - seats.xy[None]).transpose(2, 0, 1))
    i, j = np.nonzero((gap > 0) & (gap < 2.01))
    assert len(i)
    assert np.all(seats.choice[i] != seats.choice[j])
    rows = lay(GRID, [shapely.box(0, 0, 40, 30)], kit, alternate="row").seats
    assert np.array_equal(rows.choice, rows.row % 3)


@settings(max_examples=10, deadline=None)
@given(st.floats(0.05, 0.95), st.integers(0, 5))
def test_a_mix_is_exact_to_one_piece(share, seed):
    kit = kit_of(1.0, 2.0, shares=(share, 1.0 - share))
    seats = lay(GRID, [FILL_REGIONS["square"]], kit, seed=seed).seats
    assert abs(np.count_nonzero(seats.choice == 0) - share * len(seats)) < 1.0
    again = lay(GRID, [FILL_REGIONS["square"]], kit, seed=seed).seats
    assert np.array_equal(seats.choice, again.choice)


def test_earlier_seats_and_keep_outs_are_laid_around():
    region, kit = FILL_REGIONS["square"], kit_of(2.0)
    stood = occupied([(10, 10), (30.5, 20)], 6.0, 0.8)
    hole = shapely.Point(20, 8).buffer(3)
    laid = lay(GRID, [region], kit, ground={"occupied": stood, "keep_out": hole})
    check_laws(laid, kit, [region])
    away = np.hypot(*(laid.seats.xy[:, None] - stood.xy[None]).transpose(2, 0, 1))
    assert away.min() >= 3.0 + 1.0 + 0.8
    assert shapely.distance(hole, shapely.points(laid.seats.xy)).min() > 1.0
    assert len(laid.seats) > 0.7 * len(lay(GRID, [region], kit).seats)
    shaped = Kit((Footprint.of(rectangle(4.0, 1.5)),), (180.0,), None, 0.2, 0.1)
    laid = lay(GRID, [region], shaped, ground={"occupied": stood, "keep_out": hole})
    check_laws(laid, shaped, [region])
    pieces = [
        shapely.affinity.translate(
            shapely.affinity.rotate(shapely.box(-2, -0.75, 2, 0.75), a, origin=(0, 0)), x, y
        )
        for (x, y), a in zip(laid.seats.xy, laid.seats.angle_deg, strict=True)
    ]
    assert shapely.distance(shapely.Point(10, 10), pieces).min() >= 3.0 + 0.8 - 1e-6
    assert shapely.distance(hole, pieces).min() > 0.0


def test_shapes_side_by_side_keep_their_gap():
    pair = [shapely.box(0, 0, 15, 15), shapely.box(15, 0, 30, 15)]
    kit = kit_of(2.0, gap=1.0, edge=0.0)
    laid = lay(GRID, pair, kit)
    check_laws(laid, kit, pair)
    assert set(laid.seats.shape) == {0, 1}


def test_a_region_without_room_is_a_finding():
    kit = kit_of(4.0)
    laid = lay(GRID, [FILL_REGIONS["sliver"], FILL_REGIONS["square"]], kit)
    assert [finding.code for finding in laid.findings] == ["region-too-small"]
    assert "shape 0" in laid.findings[0].message
    assert laid.findings[0].severity == "warning"
    where = laid.findings[0].where_mm
    assert where is not None
    assert FILL_REGIONS["sliver"].contains(shapely.Point(where))
    assert set(laid.seats.shape) == {1}


def test_equal_jobs_give_equal_bytes():
    kit = kit_of(1.5)
    one, two = (lay(GRID, [FILL_REGIONS["star"]], kit).seats for _ in range(2))
    assert one.xy.tobytes() == two.xy.tobytes()


def test_unknown_settings_are_refused():
    with pytest.raises(ValidationError):
        GridSettings(pattern="round")
