"""Blends: the mix changes along a field, in every way, exact to one piece, every law kept."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pydantic import ValidationError

from embellish.errors import JobError
from embellish.geometry.streams import Stream
from embellish.layout.ways.blends import lay_by
from embellish.layout.ways.fields import Blend
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground, no_progress
from tests.layout.ways.fill_cases import FILL_REGIONS, check_laws, kit_of, shape_of

LINE = {"from_mm": (0.0, 0.0), "to_mm": (40.0, 0.0), "mixes": [{"A": 1}, {"B": 1}]}


def blended(way: str, kit, region="square", codes=("A", "B"), blend=LINE, **settings):
    ground = Ground((shape_of(FILL_REGIONS[region]),))
    asked = WAYS[way].settings(blend=blend, **settings)
    hexes = ("#000000",) * len(codes)
    return lay_by(WAYS[way], ground, kit, asked, codes, hexes, Stream.of(1, "lay"), no_progress)


@pytest.mark.parametrize("way", ["row", "border", "rings", "grid", "scatter", "centreline"])
def test_in_every_way_one_colour_gives_way_to_the_other(way):
    kit = kit_of(1.5, 1.5)
    seats = blended(way, kit).seats
    second = seats.choice == 1
    share = np.clip(seats.xy[:, 0] / 40.0, 0.0, 1.0)
    assert abs(second.sum() - share.sum()) < 1.0, "exact to one piece"
    assert second[share < 0.2].mean() < 0.3
    assert second[share > 0.8].mean() > 0.7
    if WAYS[way].mixes:
        check_laws(blended(way, kit), kit, [FILL_REGIONS["square"]])


@pytest.mark.parametrize("way", ["rings", "grid", "scatter"])
@pytest.mark.parametrize("region", ["star", "glyph, an e"])
def test_sizes_blend_too_and_keep_every_law(way, region):
    kit = kit_of(2.0, 1.2)
    field = {"kind": "edge", "mixes": [{"A": 1}, {"B": 1}]}
    laid = blended(way, kit, region, blend=field)
    check_laws(laid, kit, [FILL_REGIONS[region]])
    assert {0, 1} == set(laid.seats.choice.tolist())
    away = np.array(
        [FILL_REGIONS[region].boundary.distance(p) for p in shapely.points(laid.seats.xy)]
    )
    assert away[laid.seats.choice == 0].mean() < away[laid.seats.choice == 1].mean()


def test_in_a_row_of_two_sizes_each_size_blends_among_its_own():
    kit = kit_of(3.0, 2.0, 3.0, 2.0)
    blend = {**LINE, "mixes": [{"A": 1, "B": 1}, {"C": 1, "D": 1}]}
    seats = blended("row", kit, codes=("A", "B", "C", "D"), blend=blend).seats
    assert np.array_equal(np.isin(seats.choice, [0, 2]), np.arange(len(seats)) % 2 == 0)
    right = seats.xy[:, 0] > 30.0
    assert np.isin(seats.choice[right], [2, 3]).mean() > 0.7


def test_three_mixes_follow_one_another():
    blend = {**LINE, "mixes": [{"A": 1}, {"B": 1}, {"A": 0.5, "B": 0.5}]}
    seats = blended("grid", kit_of(1.0, 1.0), blend=blend).seats
    middle = np.abs(seats.xy[:, 0] - 20.0) < 3.0
    assert seats.choice[middle].mean() > 0.8
    assert 0.3 < seats.choice[seats.xy[:, 0] > 37.0].mean() < 0.7


def test_what_cannot_be_is_refused():
    with pytest.raises(JobError, match="'Z' that the lay has not"):
        blended("grid", kit_of(1.0, 1.0), blend={**LINE, "mixes": [{"A": 1}, {"Z": 1}]})
    with pytest.raises(JobError, match="shares"):
        blended("grid", kit_of(1.0, 1.0, shares=(0.5, 0.5)))
    for wrong in (
        {"mixes": [{"A": 1}, {"B": 1}]},
        {"kind": "edge", "from_mm": (0, 0), "mixes": [{"A": 1}, {"B": 1}]},
        {**LINE, "mixes": [{"A": 1}]},
        {**LINE, "mixes": [{"A": 1}, {}]},
        {**LINE, "to_mm": (0.0, 0.0)},
        {**LINE, "depth_mm": 3.0},
    ):
        with pytest.raises(ValidationError):
            Blend(**wrong)
