"""Centreline: its laws in awkward regions, covered strokes, tidy ends and corners."""

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
from embellish.geometry.centrelines.centreline import centrelines
from embellish.layout.ways.centreline import CENTRELINE, CentrelineSettings
from embellish.layout.ways.way import Kit, Laid
from tests.geometry.test_centreline import CROSS, ELL, RING, TEE
from tests.layout.ways.fill_cases import (
    DRAWN_STAR,
    FILL_REGIONS,
    check_laws,
    kit_of,
    lay,
    occupied,
)


def swell(length: float = 60.0, width: float = 4.0, least: float = 0.8) -> shapely.Polygon:
    """Return a curved stroke that swells and tapers."""
    t = np.linspace(0.0, 1.0, 200)
    middle = np.stack([length * t, 15.0 * np.sin(3.0 * t)], axis=1)
    way = np.gradient(middle, axis=0)
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(*way.T)[:, None]
    half = (least + (width - least) * np.sin(np.pi * t))[:, None]
    return shapely.Polygon(np.concatenate([middle + half * normal, (middle - half * normal)[::-1]]))


STROKES: dict[str, Any] = {
    "bar": shapely.box(0, 0, 40, 5),
    "stadium": shapely.LineString([(0, 0), (40, 0)]).buffer(3),
    "swell": swell(),
    "hook": shapely.LineString([(0, 0), (30, 0), (30, 20), (10, 20)]).buffer(
        2.2, join_style="mitre"
    ),
    "spiral": FILL_REGIONS["spiral"],
    "ring": RING,
    "ell": ELL,
}
REGIONS = {**FILL_REGIONS, **STROKES, "tee": TEE, "cross": CROSS}


def covered(laid: Laid, kit: Kit, region) -> float:
    """Return the share of the centreline, where the smallest piece fits, that lies under pieces.

    A piece covers its own width and half the gaps beside it as the row came out, at most a third
    of the piece more than the gap asked.
    """
    reach = kit.reach_mm
    lines = centrelines(region, 0.1)
    drawn = [shapely.LineString(branch.xy) for branch in lines.branches]
    xy = shapely.get_coordinates(shapely.segmentize(drawn, 0.05))
    fits = shapely.distance(region.boundary, shapely.points(xy)) >= reach.min() + kit.edge_mm
    xy = xy[fits]
    under = np.zeros(len(xy), dtype=bool)
    for size in np.unique(laid.seats.choice).tolist():
        near = cKDTree(laid.seats.xy[laid.seats.choice == size]).query(xy)[0]
        under |= np.asarray(near) <= reach[size] * 4.0 / 3.0 + kit.gap_mm / 2.0
    return float(under.mean())


@pytest.mark.parametrize("rows", [1, 2, 3])
@pytest.mark.parametrize("name", sorted(REGIONS))
def test_laws_hold_in_awkward_regions(name, rows):
    region, kit = REGIONS[name], kit_of(4.0, 2.0, 1.2)
    laid = lay(CENTRELINE, [region], kit, rows=rows)
    check_laws(laid, kit, [region])
    assert len(laid.seats) or laid.findings


@settings(max_examples=15, deadline=None)
@given(
    st.sampled_from(sorted(REGIONS)),
    st.floats(0.8, 5.0),
    st.floats(0.4, 1.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
    st.integers(1, 3),
)
def test_laws_hold_for_any_sizes(name, diameter, ratio, gap, edge, rows):
    region, kit = REGIONS[name], kit_of(diameter, diameter * ratio, gap=gap, edge=edge)
    check_laws(lay(CENTRELINE, [region], kit, rows=rows), kit, [region])


@pytest.mark.parametrize("name", sorted(STROKES))
def test_single_strokes_are_covered(name):
    for kit in (kit_of(4.0, 3.0, 2.0, 1.4), kit_of(2.0), kit_of(3.0, 1.5, gap=0.6)):
        laid = lay(CENTRELINE, [STROKES[name]], kit)
        assert covered(laid, kit, STROKES[name]) >= 0.95


def test_a_bar_is_filled_from_end_to_end_with_one_size_and_even_gaps():
    kit = kit_of(4.0, 3.0, 1.0, gap=0.3, edge=0.2)
    seats = lay(CENTRELINE, [STROKES["bar"]], kit).seats
    assert set(seats.choice) == {0}
    x = np.sort(seats.xy[:, 0])
    assert seats.xy[:, 1] == pytest.approx(np.full(len(x), 2.5), abs=0.02)
    assert np.ptp(np.diff(x)) < 0.01
    assert x[0] == pytest.approx(2.2, abs=0.02)
    assert x[-1] == pytest.approx(37.8, abs=0.02)


def test_a_closed_stroke_closes():
    kit = kit_of(4.0, gap=0.3, edge=0.2)
    xy: Floats = lay(CENTRELINE, [RING], kit).seats.xy
    turn = np.sort(np.arctan2(xy[:, 1], xy[:, 0]))
    steps = np.diff(np.append(turn, turn[0] + 2 * np.pi))
    assert np.ptp(steps) * 17.0 < 0.1
    assert len(xy) == int(2 * np.pi / (2 * np.arcsin(4.3 / 2 / 17.0)))


def test_a_corner_carries_a_piece():
    kit = kit_of(4.0, gap=0.3, edge=0.2)
    xy = lay(CENTRELINE, [ELL], kit).seats.xy
    away = np.hypot(*(xy - [3.5, 26.5]).T)
    assert away.min() < 1.0
    # The corner's piece stands as far from both strokes' next ones, as near as whole numbers go.
    near = np.sort(np.hypot(*(xy - xy[np.argmin(away)]).T))[1:3]
    assert near[1] - near[0] < 0.6


def test_sizes_follow_the_stroke():
    region, kit = swell(), kit_of(6.0, 4.0, 2.5, 1.4)
    seats = lay(CENTRELINE, [region], kit).seats
    order = np.argsort(seats.xy[:, 0])
    radius = kit.reach_mm[seats.choice[order]]
    widest = int(np.argmax(radius))
    assert np.all(np.diff(radius[: widest + 1]) >= 0), "never smaller toward the middle"
    last = len(radius) - 1 - int(np.argmax(radius[::-1]))
    assert np.all(np.diff(radius[last:]) <= 0), "never larger toward the tip"
    assert set(seats.choice) == {0, 1, 2, 3}


def test_strokes_of_nearly_one_length_take_pieces_of_one_size():
    hole = shapely.Point(135, 43).buffer(8)
    kit = kit_of(4.0, 2.85, 2.1, gap=0.9, edge=0.0)
    seats = lay(CENTRELINE, [DRAWN_STAR.difference(hole)], kit).seats
    round_the_hole = np.hypot(*(seats.xy - [135.0, 43.0]).T) < 22.0
    assert np.count_nonzero(round_the_hole) > 12
    assert set(seats.choice[round_the_hole].tolist()) == {0}


def test_as_many_sizes_as_asked():
    region, kit = swell(), kit_of(6.0, 4.0, 2.5, 1.4)
    for most in (1, 2, 3):
        seats = lay(CENTRELINE, [region], kit, max_sizes=most).seats
        assert len(set(seats.choice.tolist())) <= most


def test_two_rows_stand_side_by_side_in_a_bar():
    kit = kit_of(2.0, gap=0.3, edge=0.2)
    seats = lay(CENTRELINE, [STROKES["bar"]], kit, rows=2).seats
    y = np.unique(np.round(seats.xy[:, 1], 1))
    assert len(y) == 2
    assert y.sum() == pytest.approx(5.0, abs=0.1)
    assert len(seats) == 2 * np.count_nonzero(seats.xy[:, 1] < 2.5)


def test_mirrored_artwork_gives_the_mirrored_layout():
    region, kit = STROKES["bar"], kit_of(3.0, 1.5)
    xy = lay(CENTRELINE, [region], kit).seats.xy
    mirrored = xy * [-1.0, 1.0] + [40.0, 0.0]
    away = np.asarray(cKDTree(xy).query(mirrored)[0])
    assert away.max() < 0.05


def test_earlier_lays_are_laid_around():
    stood = occupied([(20.0, 2.5)], 3.0, 0.8)
    kit = kit_of(3.0, 1.5)
    laid = lay(CENTRELINE, [STROKES["bar"]], kit, ground={"occupied": stood})
    check_laws(laid, kit, [STROKES["bar"]])
    away = np.hypot(*(laid.seats.xy - [20.0, 2.5]).T)
    assert np.all(away >= 1.5 + 0.8 + kit.reach_mm[laid.seats.choice])


def test_too_narrow_strokes_are_told():
    region = shapely.union(shapely.box(0, 0, 40, 5), shapely.box(40, 2, 80, 3))
    laid = lay(CENTRELINE, [region], kit_of(3.0))
    assert [finding.code for finding in laid.findings] == ["stroke-too-narrow"]
    more = lay(CENTRELINE, [region, shapely.affinity.translate(region, 0, 20)], kit_of(3.0))
    (told,) = more.findings
    assert told.message.count("'") == 4
    none = lay(CENTRELINE, [shapely.box(0, 0, 30, 1)], kit_of(3.0))
    assert [finding.code for finding in none.findings] == ["region-too-small"]


@pytest.mark.parametrize("wrong", [{"rows": 4}, {"max_sizes": 0}, {"corner_deg": 1}, {"row": 1}])
def test_settings_out_of_bounds_are_refused(wrong):
    with pytest.raises(ValidationError):
        CentrelineSettings(**wrong)
