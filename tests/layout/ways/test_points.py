"""Points: places a drawing gives, their turns, and what stands too near."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from embellish.artwork.artwork import Path, Shape
from embellish.geometry.curves import ellipse_arc, line_segments
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.gaps import least_gap
from embellish.geometry.outline_forms import navette
from embellish.geometry.streams import Stream
from embellish.layout.ways.points import POINTS, PointsSettings
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import FILL_REGIONS, check_laws, kit_of, shape_of


def open_line(points: Any, name: str = "line") -> Shape:
    path = Path(line_segments(np.asarray(points, dtype=float)), closed=False)
    return Shape(name, "", (), None, "#000000", 0.3, "nonzero", (path,))


def dot(x: float, y: float, radius: float = 0.5, name: str = "dot") -> Shape:
    segments = ellipse_arc((x, y), (radius, radius), 0.0, 0.0, 2 * np.pi)
    return Shape(name, "", (), "#000000", None, 0.0, "nonzero", (Path(segments, closed=True),))


def lay(shapes: list[Shape], kit: Kit, **settings: Any) -> Laid:
    ground = Ground(tuple(shapes))
    return POINTS.lay(ground, kit, PointsSettings(**settings), Stream.of(1, "p"), no_progress)


def test_dots_carry_one_piece_each_at_their_centre():
    places = [(3.0 * k, 5.0 + (k % 3)) for k in range(12)]
    laid = lay([dot(x, y, name=f"d{k}") for k, (x, y) in enumerate(places)], kit_of(2.0))
    assert laid.seats.xy == pytest.approx(np.array(places), abs=1e-4)
    assert laid.seats.shape.tolist() == list(range(12))
    assert not laid.findings


def test_the_centre_of_gravity_is_not_that_of_the_bounds():
    triangle = shape_of(shapely.Polygon([(0, 0), (9, 0), (0, 6)]))
    assert lay([triangle], kit_of(1.0)).seats.xy == pytest.approx(np.array([[3.0, 2.0]]))
    at = lay([triangle], kit_of(1.0), at="bounds").seats.xy
    assert at == pytest.approx(np.array([[4.5, 3.0]]))


def test_a_line_has_a_centre_too():
    line = open_line([(0, 0), (10, 0), (10, 10)])
    assert lay([line], kit_of(1.0)).seats.xy == pytest.approx(np.array([[7.5, 2.5]]))


def test_nodes_and_ends_of_lines():
    points = [(0, 0), (10, 0), (10, 10), (20, 10)]
    line = open_line(points)
    nodes = lay([line], kit_of(2.0), at="nodes", turn="along").seats
    assert nodes.xy == pytest.approx(np.array(points, dtype=float))
    assert nodes.angle_deg == pytest.approx([0.0, 45.0, 45.0, 0.0])
    assert nodes.u.tolist() == [0, 1, 2, 3]
    ends = lay([line], kit_of(2.0), at="ends").seats
    assert ends.xy == pytest.approx(np.array([points[0], points[-1]], dtype=float))


def test_a_closed_line_has_nodes_once_and_no_ends():
    square = shape_of(shapely.box(0, 0, 10, 10))
    assert len(lay([square], kit_of(2.0), at="nodes").seats) == 4
    laid = lay([square], kit_of(2.0), at="ends")
    assert len(laid.seats) == 0
    assert [finding.code for finding in laid.findings] == ["no-points"]


@pytest.mark.parametrize(("turn", "angle"), [("along", 30.0), ("across", 120.0), ("fixed", 0.0)])
def test_pieces_turn_with_the_longer_side(turn, angle):
    bar = shapely.affinity.rotate(shapely.box(0, 0, 8, 2), 30.0, origin=(0, 0))
    kit = Kit((Footprint.of(navette(6.0, 3.0)),), (180.0,), None, 0.3)
    seats = lay([shape_of(bar)], kit, turn=turn, turn_deg=5.0).seats
    assert np.mod(seats.angle_deg, 180.0) == pytest.approx([np.mod(angle + 5.0, 180.0)])


def test_a_dot_has_no_direction():
    assert lay([dot(1, 1)], kit_of(1.0), turn="along").seats.angle_deg.tolist() == [0.0]


def test_what_stands_too_near_is_left_out_and_told():
    shapes = [dot(x, 0.0, name=f"d{x}") for x in (0.0, 2.0, 4.0, 6.1)]
    laid = lay(shapes, kit_of(2.0, gap=0.5))
    assert laid.seats.shape.tolist() == [0, 2]
    assert [finding.code for finding in laid.findings] == ["points-too-near"]
    assert "'d2.0'" in laid.findings[0].message


def test_dots_drawn_exactly_at_the_gap_all_stay():
    shapes = [dot(2.5 * k, 0.0, name=f"d{k}") for k in range(20)]
    kit = kit_of(2.0, gap=0.5)
    laid = lay(shapes, kit)
    assert len(laid.seats) == 20
    assert laid.gap_mm is not None
    assert 0.49 < laid.gap_mm < 0.5
    xy = np.round(laid.seats.xy, 6)
    found = least_gap(xy, laid.seats.angle_deg, laid.seats.choice, kit.footprints)
    assert found is not None
    assert found[0] >= laid.gap_mm


def test_a_sequence_goes_on_from_shape_to_shape_and_a_mix_is_exact():
    shapes = [dot(5.0 * k, 0.0, name=f"d{k}") for k in range(10)]
    assert lay(shapes, kit_of(2.0, 1.0)).seats.choice.tolist() == [0, 1] * 5
    mixed = lay(shapes, kit_of(2.0, 1.0, shares=(0.3, 0.7))).seats
    assert np.bincount(mixed.choice).tolist() == [3, 7]


@pytest.mark.parametrize("name", sorted(FILL_REGIONS))
@pytest.mark.parametrize("at", ["centre", "bounds", "nodes"])
def test_gaps_hold_at_the_nodes_of_awkward_shapes(name, at):
    kit = kit_of(1.5, gap=0.2, edge=-99.0)
    laid = lay([shape_of(FILL_REGIONS[name])], kit, at=at)
    kept = Kit(kit.footprints, kit.turns, None, laid.gap_mm or kit.gap_mm, kit.edge_mm)
    assert len(laid.seats) >= 1
    check_laws(laid, kept, [FILL_REGIONS[name]])
