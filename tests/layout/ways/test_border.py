"""Borders: gap and edge in awkward regions, sides, staggering, shaped pieces, findings."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.artwork.artwork import Path, Shape
from embellish.errors import JobError
from embellish.geometry.curves import line_segments
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.geometry.outline_forms import navette, rectangle
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.layout.ways.border import BORDER, BorderSettings
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import FILL_REGIONS, kit_of, lay, shape_of

SIDES = ("inside", "outside", "both")


def check_gap(laid: Laid, kit: Kit) -> None:
    seats = laid.seats
    for turn in (0.0, 33.3, 217.0):
        xy = np.round(Affine.turn(turn, 90.1, 47.7)(seats.xy), 6)
        angle = np.round(seats.angle_deg + turn, 6)
        _, gaps = neighbour_gaps(xy, angle, seats.choice, kit.footprints, kit.gap_mm + 0.1)
        assert gaps.min(initial=np.inf) >= kit.gap_mm


def on_line(points, kit: Kit, **choices: object) -> Laid:
    path = Path(line_segments(np.array(points, dtype=float)), closed=False)
    shape = Shape("line", "", (), None, "#000000", 0.2, "nonzero", (path,))
    way = BorderSettings.model_validate(choices)
    return BORDER.lay(Ground((shape,)), kit, way, Stream.of(1, "lay"), no_progress)


def runs(laid: Laid) -> list[np.ndarray]:
    return [laid.seats.xy[laid.seats.row == row] for row in np.unique(laid.seats.row)]


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("side", SIDES)
def test_gap_and_edge_hold_in_awkward_regions(name, side):
    region, kit = FILL_REGIONS[name], kit_of(2.0, gap=0.4, edge=0.3)
    laid = lay(BORDER, [region], kit, side=side, rows=3)
    check_gap(laid, kit)
    spots = shapely.points(np.round(laid.seats.xy, 6))
    # The edge is flattened to half a micrometre here and there.
    assert np.min(shapely.distance(region.boundary, spots), initial=9.0) >= 1.3 - 1e-6
    within = shapely.contains_properly(region, spots)
    if side != "both":
        assert (within == (side == "inside")).all()
    assert len(laid.seats) or laid.findings
    order = np.lexsort((laid.seats.row,))
    assert np.array_equal(order, np.arange(len(order))), "row by row"


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(sorted(FILL_REGIONS)),
    st.lists(st.floats(0.8, 4.0), min_size=1, max_size=3),
    st.floats(0.0, 1.5),
    st.floats(0.0, 1.5),
    st.sampled_from(SIDES),
    st.integers(1, 4),
    st.floats(0.0, 1.0),
)
# Round the spiral's end a whole repeat fewer stood nearer together than the count that held.
@example("spiral", [1.0, 3.0], 0.0, 1.0, "inside", 1, 0.0)
def test_gap_holds_for_any_size(name, diameters, gap, edge, side, rows, start):
    kit = kit_of(*diameters, gap=gap, edge=edge)
    laid = lay(BORDER, [FILL_REGIONS[name]], kit, side=side, rows=rows, start=start)
    check_gap(laid, kit)


@pytest.mark.parametrize(
    ("outline", "turn", "name"),
    [
        (rectangle(6.0, 1.6), "along", "disc and square"),
        (rectangle(6.0, 1.6), "across", "square"),
        (navette(5.0, 2.5), "along", "star"),
        (navette(5.0, 2.5), "across", "disc and square"),
        (navette(5.0, 2.5), "fixed", "square"),
    ],
)
def test_shaped_pieces_keep_the_gap_by_their_outlines(outline, turn, name):
    kit = Kit((Footprint.of(outline),), (180.0,), None, 0.3, 0.5)
    laid = lay(BORDER, [FILL_REGIONS[name]], kit, side="outside", rows=2, turn=turn)
    check_gap(laid, kit)
    counts = np.bincount(laid.seats.row)
    assert len(counts) == 2
    assert counts[1] > 0.9 * counts[0], "the second row is not thinned by the first"


def test_rows_of_a_straight_line_stagger_like_bricks():
    kit = kit_of(2.0, gap=0.5, edge=1.0)
    laid = on_line([(0, 0), (40.001, 0)], kit, side="left", rows=3)
    one, two, three = runs(laid)
    assert [len(run) for run in (one, two, three)] == [17, 16, 17]
    assert one[:, 1] == pytest.approx(np.full(17, -2.0), abs=1e-3)
    assert two[:, 1] == pytest.approx(np.full(16, -4.5), abs=1e-3)
    assert two[:, 0] == pytest.approx((one[1:, 0] + one[:-1, 0]) / 2, abs=1e-6)
    assert three[:, 0] == pytest.approx(one[:, 0], abs=1e-6)
    plain = runs(on_line([(0, 0), (40.001, 0)], kit, side="left", rows=2, stagger="none"))
    assert plain[0][:, 0] == pytest.approx(plain[1][:, 0], abs=1e-6)


def test_rows_of_a_ring_start_half_a_pitch_on():
    region = shapely.Point(0, 0).buffer(30, quad_segs=200)
    for start in (0.0, 0.3):
        kit = kit_of(2.0, gap=0.4, edge=0.0)
        one, two = runs(lay(BORDER, [region], kit, rows=2, start=start))
        first = [np.degrees(np.arctan2(*run[0][::-1])) for run in (one, two)]
        ring = shapely.get_coordinates(region.exterior)
        there = shapely.LineString(ring).interpolate(start, normalized=True)
        asked = np.degrees(np.arctan2(there.y, there.x))
        assert abs((first[0] - asked + 180) % 360 - 180) < 0.2
        half = 180.0 / len(two)
        assert abs(abs((first[1] - asked + 180) % 360 - 180) - half) < 0.2


def test_both_sides_keep_their_gap_across_the_line():
    kit = kit_of(2.0, gap=0.8, edge=0.0)
    laid = on_line([(0, 0), (40, 3), (70, 0)], kit, side="both", rows=2)
    check_gap(laid, kit)
    counts = np.bincount(laid.seats.row)
    assert len(counts) == 4
    assert counts.min() >= 23


def test_rows_stand_further_apart_where_asked():
    kit = kit_of(2.0, gap=0.5, edge=0.0)
    one, two = runs(on_line([(0, 0), (40, 0)], kit, side="right", rows=2, row_gap_mm=3.0))
    assert two[0, 1] - one[0, 1] == pytest.approx(5.0, abs=1e-3)
    one, two = runs(on_line([(0, 0), (40, 0)], kit, side="right", rows=2, row_gap_mm=0.1))
    assert two[0, 1] - one[0, 1] == pytest.approx(2.5, abs=1e-3), "never below gap_mm"


def test_two_shapes_near_each_other_keep_their_gap():
    kit = kit_of(2.0, gap=0.5, edge=0.0)
    pair = [shapely.box(0, 0, 20, 20), shapely.box(24, 0, 44, 20)]
    laid = lay(BORDER, pair, kit, side="outside", rows=2)
    check_gap(laid, kit)
    assert set(laid.seats.shape) == {0, 1}
    assert "row-near-itself" in {finding.code for finding in laid.findings}


def test_too_many_rows_are_told():
    laid = lay(BORDER, [FILL_REGIONS["square"]], kit_of(4.0, gap=0.5), rows=9)
    (told,) = [finding for finding in laid.findings if finding.code == "no-room-for-row"]
    assert "3 rows of the 9" in told.message
    assert set(laid.seats.row) == {0, 1, 2}


def test_a_side_a_line_does_not_have_is_refused():
    kit = kit_of(2.0)
    with pytest.raises(JobError, match="no inside"):
        on_line([(0, 0), (9, 0)], kit, side="inside")
    with pytest.raises(JobError, match="not a left"):
        lay(BORDER, [FILL_REGIONS["square"]], kit, side="left")
    with pytest.raises(ValidationError):
        BorderSettings.model_validate({"rows": 0})


def test_equal_jobs_give_equal_bytes():
    shape = shape_of(FILL_REGIONS["star"])
    kit, way = kit_of(1.5, 1.0), BorderSettings(side="both", rows=3)
    one, two = (
        BORDER.lay(Ground((shape,)), kit, way, Stream.of(seed, "lay"), no_progress).seats
        for seed in (1, 2)
    )
    assert one.xy.tobytes() == two.xy.tobytes()


@pytest.mark.parametrize("width", [7.4, 7.9, 8.4, 9.0])
def test_a_row_that_has_room_once_runs_down_the_middle_of_a_stroke(width):
    # Two rows of 2.4 mm from each edge leave room for one more between them, not for two.
    kit = kit_of(2.0, gap=0.4, edge=0.2)
    stroke = shapely.LineString([(0.0, 0.0), (60.0, 0.0)]).buffer(width / 2.0, quad_segs=64)
    seats = lay(BORDER, [stroke], kit, side="inside", rows=2).seats
    second = seats.xy[seats.row == 1]
    inner = second[(second[:, 0] > 3.0) & (second[:, 0] < 57.0)]
    assert len(inner) >= 20
    assert np.abs(inner[:, 1]).max() < 0.02
    pitch = np.diff(np.sort(inner[:, 0]))
    assert np.ptp(pitch) < 0.02
