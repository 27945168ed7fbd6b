"""The way row: lines of shapes, holes and several shapes, settings, findings, the law."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pydantic import ValidationError

from embellish.artwork.artwork import Path, Shape
from embellish.geometry.curves import line_segments
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.outline_forms import navette
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.layout.ways.row import ROW, RowSettings
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import FILL_REGIONS, kit_of, lay
from tests.paths import PATHS


def on(name: str, kit: Kit, **choices: object) -> Laid:
    points, closed = PATHS[name]
    line = np.concatenate([points, points[:1]]) if closed else points
    return on_line(line, kit, closed=closed, **choices)


def on_line(points, kit: Kit, *, closed: bool = False, **choices: object) -> Laid:
    path = Path(line_segments(np.array(points, dtype=float)), closed=closed)
    shape = Shape("line", "", (), None, "#000000", 0.2, "nonzero", (path,))
    settings = RowSettings.model_validate(choices)
    return ROW.lay(Ground((shape,)), kit, settings, Stream.of(1, "lay"), no_progress)


def check_gap(laid: Laid, kit: Kit) -> None:
    """The law, after turning, moving and rounding as a layout is."""
    seats = laid.seats
    for turn in (0.0, 33.3, 217.0):
        xy = np.round(Affine.turn(turn, 90.1, 47.7)(seats.xy), 6)
        angle = np.round(seats.angle_deg + turn, 6)
        _, gaps = neighbour_gaps(xy, angle, seats.choice, kit.footprints, kit.gap_mm + 0.1)
        assert gaps.min(initial=np.inf) >= kit.gap_mm


@pytest.mark.parametrize("name", [name for name in PATHS if len(PATHS[name][0]) > 1])
def test_no_gap_is_below_the_one_asked_after_turning_and_rounding(name):
    kit = kit_of(2.8, gap=0.5)
    laid = on(name, kit)
    assert len(laid.seats)
    check_gap(laid, kit)


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
def test_every_line_of_a_region_has_its_row_holes_included(name):
    region, kit = FILL_REGIONS[name], kit_of(1.6, gap=0.3)
    laid = lay(ROW, [region], kit)
    check_gap(laid, kit)
    rings = shapely.get_rings(shapely.get_parts(region))
    assert np.array_equal(np.unique(laid.seats.row), np.arange(len(rings)))
    for number, ring in enumerate(rings):
        mine = laid.seats.xy[laid.seats.row == number]
        # On the line, but for the few between the sides of a tip or in a tiny ring's middle.
        away = shapely.distance(ring, shapely.points(mine))
        assert np.median(away) <= 1e-3
        assert away.max() <= 0.8 + 0.15 + 1e-6


def test_columns_are_sound_and_corners_weigh():
    laid = lay(ROW, [FILL_REGIONS["star"], shapely.box(60, 0, 90, 20)], kit_of(2.0))
    seats = laid.seats
    columns = (seats.angle_deg, seats.choice, seats.shape, seats.row, seats.u, seats.weight)
    assert all(len(column) == len(seats) for column in columns)
    assert np.array_equal(np.unique(seats.shape), [0, 1])
    assert np.all(np.diff(seats.shape) >= 0)
    assert set(seats.weight.tolist()) == {0.0, 1.0}
    assert (seats.weight[seats.shape == 1] == 1.0).sum() == 4
    assert np.all((seats.u >= 0.0) & (seats.u < 1.0))


def test_lines_that_overlap_carry_one_row():
    box = shapely.box(0, 0, 40, 20)
    kit = kit_of(2.0, gap=0.4)
    twice = lay(ROW, [box, box], kit)
    once = lay(ROW, [box], kit)
    assert np.array_equal(twice.seats.xy, once.seats.xy)
    assert [finding.code for finding in twice.findings] == ["row-near-itself"]


def test_a_given_count_is_met_evenly():
    laid = on("ellipse", kit_of(2.8, gap=0.5), count=20)
    assert len(laid.seats) == 20
    step = np.diff(np.concatenate([laid.seats.xy, laid.seats.xy[:1]]), axis=0)
    assert np.ptp(np.hypot(step[:, 0], step[:, 1])) <= 1e-9
    assert not laid.findings
    star = on("star", kit_of(2.8, gap=0.5), count=60)
    assert len(star.seats) == 60


@pytest.mark.parametrize(("count", "word"), [(9, "corners"), (500, "room for no more")])
def test_a_count_that_cannot_be_met_is_told(count, word):
    laid = on("star", kit_of(2.8, gap=0.5), count=count)
    (finding,) = laid.findings
    assert finding.code == "count-not-met"
    assert word in finding.message
    check_gap(laid, kit_of(2.8, gap=0.5))


@pytest.mark.parametrize(("offset", "side"), [(3.0, 1.0), (-3.0, -1.0)])
def test_an_offset_runs_to_the_right_of_the_line_as_seen(offset, side):
    laid = on_line([[0, 0], [30, 0]], kit_of(2.0), offset_mm=offset)
    # Going right, y down: the right hand is below, where y is greater.
    assert np.allclose(laid.seats.xy[:, 1], 3.0 * side)
    assert np.all(np.diff(laid.seats.xy[:, 0]) > 0.0)


@pytest.mark.parametrize(("offset", "radius"), [(4.0, 16.0), (-4.0, 24.0)])
def test_an_offset_of_a_closed_line_shrinks_and_grows_it(offset, radius):
    turn = np.linspace(0.0, 2.0 * np.pi, 2001)
    circle = 20.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)  # clockwise as seen
    laid = on_line(circle, kit_of(2.0), closed=True, offset_mm=offset)
    assert np.abs(np.hypot(*laid.seats.xy.T) - radius).max() <= 1e-3
    assert np.hypot(*(laid.seats.xy[0] - [radius, 0.0])) <= 0.1


def test_an_offset_that_eats_the_line_up_is_told():
    turn = np.linspace(0.0, 2.0 * np.pi, 201)
    circle = 5.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    laid = on_line(circle, kit_of(2.0), closed=True, offset_mm=6.0)
    assert not len(laid.seats)
    assert [finding.code for finding in laid.findings] == ["offset-too-far"]


@pytest.mark.parametrize(
    ("turn", "turn_deg", "angle"),
    [("along", 0.0, 0.0), ("across", 0.0, 90.0), ("fixed", 35.0, 35.0), ("along", 20.0, 20.0)],
)
def test_pieces_are_turned_as_told(turn, turn_deg, angle):
    kit = Kit((Footprint.of(navette(6.0, 3.0)),), (180.0,), None, 0.5)
    laid = on_line([[0, 0], [60, 0]], kit, turn=turn, turn_deg=turn_deg)
    assert np.allclose(laid.seats.angle_deg, angle)
    check_gap(laid, kit)


def test_a_line_too_short_is_told():
    laid = on_line([[0, 0], [1, 0]], kit_of(2.8))
    assert [(f.code, f.severity) for f in laid.findings] == [("path-too-short", "warning")]
    assert laid.seats.xy.tolist() == [[0.5, 0.0]]


def test_a_path_too_near_itself_is_told_where():
    laid = on("hairpin", kit_of(2.8, gap=0.5))
    assert "row-near-itself" in [finding.code for finding in laid.findings]
    assert all(finding.where_mm is not None for finding in laid.findings)


@pytest.mark.parametrize(
    "wrong",
    [{"ends": "off"}, {"corner_deg": 0}, {"count": 0}, {"start": 1.5}, {"colour": "red"}],
)
def test_wrong_settings_are_refused(wrong):
    with pytest.raises(ValidationError):
        RowSettings.model_validate(wrong)
