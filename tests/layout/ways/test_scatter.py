"""Scatter: its laws in awkward regions, exact mixes, densities, fades, what it refuses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.errors import JobError
from embellish.geometry.footprints import Footprint
from embellish.geometry.insets import centre_region
from embellish.geometry.mixes import counts_of
from embellish.geometry.streams import Stream
from embellish.layout.ways.scatter import SCATTER, ScatterSettings
from embellish.layout.ways.way import Ground, Kit
from tests.layout.ways.fill_cases import (
    FILL_REGIONS,
    bound,
    check_laws,
    kit_of,
    lay,
    occupied,
    shape_of,
)
from tests.shapes import OUTLINES

SETTINGS: dict[str, dict[str, Any]] = {
    "random": {},
    "evened": {"settle": 1.0},
    "dense": {"density": 0.74},
    "sparse": {"density": 0.3, "settle": 0.5},
    "fade": {"fade": {"from_mm": (0.0, 0.0), "to_mm": (30.0, 20.0)}},
    "fade from a point": {
        "settle": 0.3,
        "fade": {"kind": "point", "from_mm": (5, 5), "to_mm": (30, 20), "reverse": True},
    },
}


def nearest(xy: Floats) -> Floats:
    return np.asarray(cKDTree(xy).query(xy, k=[2])[0])[:, 0]


@pytest.mark.parametrize("how", sorted(SETTINGS))
@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_laws_hold_in_awkward_regions(name, how):
    region, kit = FILL_REGIONS[name], kit_of(2.0)
    laid = lay(SCATTER, [region], kit, **SETTINGS[how])
    check_laws(laid, kit, [region])
    assert len(laid.seats) or laid.findings
    assert len(laid.seats) <= bound(centre_region(region, 1.0, 0.2), 2.3) + 1e-6


@settings(max_examples=15, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.floats(1.0, 6.0),
    st.floats(0.3, 1.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 1.0),
    st.sampled_from([None, (0.7, 0.3), (0.5, 0.5)]),
    st.sampled_from(["mix", "pave"]),
)
def test_laws_hold_for_any_sizes(name, diameter, ratio, gap, edge, shares, sizes):
    region = FILL_REGIONS[name]
    shares = None if sizes == "pave" else shares
    kit = kit_of(diameter, diameter * ratio, gap=gap, edge=edge, shares=shares)
    laid = lay(SCATTER, [region], kit, sizes=sizes)
    check_laws(laid, kit, [region])
    if sizes == "mix":
        count = np.bincount(laid.seats.choice, minlength=2)
        assert count == pytest.approx(counts_of(shares or (0.5, 0.5), len(laid.seats)), abs=1)


def test_no_further_piece_fits():
    for name in ("star", "glyph, an e", "needle"):
        for evenness in (0.0, 0.5):
            region, kit = FILL_REGIONS[name], kit_of(2.0)
            xy = lay(SCATTER, [region], kit, settle=evenness).seats.xy
            centres = centre_region(region, 1.0, 0.2)
            left = centres.difference(shapely.union_all(shapely.buffer(shapely.points(xy), 2.31)))
            assert left.is_empty


def test_pave_leaves_no_room_for_any_size():
    region, kit = FILL_REGIONS["disc and square"], kit_of(4.0, 2.5, 1.5, gap=0.2, edge=0.0)
    seats = lay(SCATTER, [region], kit, sizes="pave").seats
    reach = kit.reach_mm
    for size in range(3):
        # Sizes at least as large were laid first; smaller ones may only stand where they do not.
        stood = seats.choice <= size
        keep = (reach[seats.choice[stood]] + reach[size] + 0.2) * 1.0015
        discs = shapely.buffer(shapely.points(seats.xy[stood]), keep, quad_segs=64)
        left = centre_region(region, float(reach[size])).difference(shapely.union_all(discs))
        assert left.area < 1e-6
    covered = (np.pi * reach[seats.choice] ** 2).sum() / region.area
    one = (
        len(lay(SCATTER, [region], kit_of(4.0, gap=0.2, edge=0.0)).seats) * np.pi * 4 / region.area
    )
    assert covered > one + 0.05


def test_a_mix_of_colours_of_one_size_is_maximal_and_exact():
    region, kit = FILL_REGIONS["square"], kit_of(2.0, 2.0, 2.0, shares=(0.5, 0.3, 0.2))
    seats = lay(SCATTER, [region], kit).seats
    plain = lay(SCATTER, [region], kit_of(2.0)).seats
    assert np.array_equal(seats.xy, plain.xy)
    count = np.bincount(seats.choice, minlength=3)
    assert count.tolist() == counts_of((0.5, 0.3, 0.2), len(seats)).tolist()


@pytest.mark.parametrize("density", [0.2, 0.4, 0.55, 0.7, 0.74])
def test_a_density_is_reached(density):
    region, kit = shapely.box(0, 0, 60, 50), kit_of(2.0, 1.5, gap=0.2, edge=0.0, shares=(0.4, 0.6))
    laid = lay(SCATTER, [region], kit, density=density)
    half = kit.reach_mm[laid.seats.choice] + 0.1
    assert np.pi * (half**2).sum() / (60.2 * 50.2) == pytest.approx(density, rel=0.025)
    assert not laid.findings


def test_a_density_out_of_reach_is_told():
    laid = lay(SCATTER, [shapely.box(0, 0, 30, 30)], kit_of(2.0), density=0.85)
    assert [finding.code for finding in laid.findings] == ["density-not-reached"]
    assert len(laid.seats) > 100


def test_settling_makes_it_even():
    region, kit = shapely.box(0, 0, 60, 60), kit_of(2.0)
    spread = []
    for amount in (0.0, 0.3, 1.0):
        near = nearest(lay(SCATTER, [region], kit, settle=amount).seats.xy)
        spread.append(near.std() / near.mean())
    assert spread[0] > spread[1] > spread[2]
    assert spread[2] < 0.5 * spread[0]


def test_earlier_lays_and_keep_outs_are_laid_around():
    region, kit = FILL_REGIONS["square"], kit_of(2.0)
    stood = occupied([(10.0, 10.0), (20.0, 15.0)], 5.0, 0.8)
    keep_out = shapely.box(30, 5, 35, 20)
    hows: tuple[dict[str, Any], ...] = ({}, {"density": 0.7})
    for more in hows:
        laid = lay(SCATTER, [region], kit, ground={"occupied": stood, "keep_out": keep_out}, **more)
        check_laws(laid, kit, [region])
        points = shapely.points(laid.seats.xy)
        assert shapely.distance(keep_out, points).min() >= 1.0
        away = np.hypot(*(laid.seats.xy[:, None] - stood.xy[None]).transpose(2, 0, 1))
        assert away.min() >= 2.5 + 1.0 + 0.8


def test_shapes_that_share_an_edge_keep_their_gap():
    regions = [shapely.box(0, 0, 20, 20), shapely.box(20, 0, 40, 20)]
    kit = kit_of(2.0, gap=1.0, edge=0.0)
    laid = lay(SCATTER, regions, kit)
    check_laws(laid, kit, regions)
    assert set(laid.seats.shape) == {0, 1}


def test_a_shape_is_laid_alike_whatever_stands_beside_it_in_the_lay():
    region, far = FILL_REGIONS["star"], shapely.box(500, 500, 520, 520)
    alone = lay(SCATTER, [region], kit_of(2.0)).seats
    both = lay(SCATTER, [region, far], kit_of(2.0)).seats
    assert np.array_equal(alone.xy, both.xy[both.shape == 0])


def test_too_small_a_region_is_told():
    laid = lay(SCATTER, [shapely.box(0, 0, 1, 1)], kit_of(2.0))
    assert len(laid.seats) == 0
    assert [finding.code for finding in laid.findings] == ["region-too-small"]


@pytest.mark.parametrize("how", [{}, {"density": 0.05}, {"settle": 1.0}])
def test_a_region_with_room_for_one_piece_of_a_mix_gets_one(how):
    region, kit = shapely.box(0, 0, 2.2, 2.2), kit_of(6.0, 2.0, 3.0, gap=0.0, edge=0.0)
    laid = lay(SCATTER, [region], kit, **how)
    assert laid.seats.choice.tolist() == [1]
    assert not laid.findings
    check_laws(laid, kit, [region])


def test_progress_is_told():
    told: list[float] = []
    shapes = tuple(shape_of(FILL_REGIONS["square"], f"s{i}") for i in range(3))
    SCATTER.lay(Ground(shapes), kit_of(1.0), ScatterSettings(), Stream.of(1, "a"), told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 6


@pytest.mark.parametrize(
    "wrong",
    [
        {"density": 0.9},
        {"density": "dense"},
        {"settle": 1.5},
        {"fade": {"from_mm": (1, 1), "to_mm": (1, 1)}},
        {"fade": {"from_mm": (1, 1), "to_mm": (2, 1), "least": 0.0}},
        {"spread": 1},
    ],
)
def test_settings_out_of_bounds_are_refused(wrong):
    with pytest.raises(ValidationError):
        ScatterSettings(**wrong)


@pytest.mark.parametrize(
    ("shares", "wrong"),
    [
        ((0.5, 0.5), {"sizes": "pave"}),
        (None, {"sizes": "pave", "density": 0.5}),
        (None, {"density": 0.5, "fade": {"from_mm": (1, 1), "to_mm": (2, 1)}}),
    ],
)
def test_settings_that_contradict_each_other_are_refused(shares, wrong):
    with pytest.raises(JobError):
        lay(SCATTER, [FILL_REGIONS["square"]], kit_of(2.0, 1.0, shares=shares), **wrong)


def shaped_kit(name: str, gap: float = 0.3, edge: float = 0.2) -> Kit:
    return Kit((Footprint.of(OUTLINES[name]),), (360.0,), None, gap, edge)


@settings(max_examples=12, deadline=None)
@given(
    st.sampled_from(sorted(OUTLINES)),
    st.sampled_from(["square", "star", "glyph, an e", "disc and square"]),
    st.sampled_from(["random", "fixed"]),
    st.floats(0.0, 1.5),
    st.floats(0.0, 1.0),
)
def test_laws_hold_for_true_outlines(outline, name, turn, gap, edge):
    region, kit = FILL_REGIONS[name], shaped_kit(outline, gap, edge)
    laid = lay(SCATTER, [region], kit, turn=turn, turn_deg=20.0)
    check_laws(laid, kit, [region])
    if turn == "fixed" and outline != "round":
        assert set(laid.seats.angle_deg.tolist()) <= {20.0}


@pytest.mark.parametrize("outline", ["navette", "bugle", "pear"])
def test_true_outlines_hold_more_than_the_circles_about_them(outline):
    region, kit = shapely.box(0, 0, 120, 90), shaped_kit(outline)
    count = len(lay(SCATTER, [region], kit).seats)
    circles = len(lay(SCATTER, [region], kit_of(2 * float(kit.reach_mm[0]))).seats)
    assert count > 1.1 * circles


def test_shaped_pieces_keep_off_what_stands():
    region, kit = FILL_REGIONS["square"], shaped_kit("navette")
    stood = occupied([(10.0, 10.0), (20.0, 15.0)], 5.0, 0.8)
    keep_out = shapely.box(30, 5, 35, 20)
    laid = lay(SCATTER, [region], kit, ground={"occupied": stood, "keep_out": keep_out})
    check_laws(laid, kit, [region])
    assert shapely.distance(keep_out, shapely.points(laid.seats.xy)).min() >= 5.0


class TestCounts:
    def test_a_count_is_met(self):
        region, kit = FILL_REGIONS["square"], kit_of(1.5, 1.0, shares=(0.5, 0.5))
        laid = lay(SCATTER, [region], kit, count=150)
        check_laws(laid, kit, [region])
        assert np.bincount(laid.seats.choice).tolist() == [75, 75]

    def test_the_tightest_packing_tells_its_gap(self):
        region, kit = FILL_REGIONS["star"], kit_of(2.0)
        laid = lay(SCATTER, [region], kit, count=7, packing="tightest")
        check_laws(laid, kit, [region])
        assert len(laid.seats) == 7
        told = [finding for finding in laid.findings if finding.code == "gap-found"]
        i, j = np.triu_indices(7, 1)
        gap = np.hypot(*(laid.seats.xy[i] - laid.seats.xy[j]).T).min() - 2.0
        assert f"at least {gap:.3f} mm apart" in told[0].message

    def test_more_than_fit_are_fewer_and_told(self):
        region, kit = shapely.box(0, 0, 12, 2.5), kit_of(2.0, edge=0.1)
        laid = lay(SCATTER, [region], kit, count=7, packing="tightest")
        check_laws(laid, kit, [region])
        assert len(laid.seats) == 5
        assert "density-not-reached" in [finding.code for finding in laid.findings]


def test_a_fade_from_the_edge_thins_inward():
    region, kit = shapely.Point(0, 0).buffer(25), kit_of(0.8)
    laid = lay(SCATTER, [region], kit, fade={"kind": "edge", "depth_mm": 15.0})
    check_laws(laid, kit, [region])
    away = 25.0 - np.hypot(*laid.seats.xy.T)
    outer = np.count_nonzero(away < 5.0) / (25.0**2 - 20.0**2)
    inner = np.count_nonzero(away > 15.0) / 10.0**2
    assert outer > 4.0 * inner
