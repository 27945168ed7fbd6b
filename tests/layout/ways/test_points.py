"""Points: where its pieces stand and how they turn; sequences, mixes, findings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.artwork.artwork import Path, Shape
from embellish.geometry.curves import ellipse_arc, line_segments
from embellish.geometry.footprints import Footprint
from embellish.geometry.outline_forms import navette, pear
from embellish.geometry.streams import Stream
from embellish.geometry.transforms import Affine
from embellish.layout.ways.points import POINTS, PointsSettings
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import kit_of
from tests.strategies import angles

NAVETTE = Kit((Footprint.of(navette(6.0, 3.0)),), (180.0,), None, 0.5)
PEAR = Kit((Footprint.of(pear(6.0, 4.0)),), (360.0,), None, 0.5)


def drawn(name: str, *paths: Path) -> Shape:
    return Shape(name, "", (), None, "#000000", 0.2, "nonzero", paths)


def line(*points: tuple[float, float]) -> Path:
    return Path(line_segments(np.array(points, dtype=float)), closed=points[0] == points[-1])


def oval(x: float, y: float, length: float, width: float, turn: float = 0.0) -> Path:
    arc = ellipse_arc((x, y), (length / 2, width / 2), turn, 0.0, 2 * math.pi)
    return Path(arc, closed=True)


def lay(shapes: list[Shape], kit: Kit, seed: int = 1, **choices: object) -> Laid:
    way = PointsSettings.model_validate(choices)
    return POINTS.lay(Ground(tuple(shapes)), kit, way, Stream.of(seed, "lay"), no_progress)


DOTS = [drawn(f"dot {i}", oval(10.0 * i, 5.0, 2.0, 2.0)) for i in range(7)]
BEND = drawn("bend", line((0, 0), (10, 0), (10, 30)))
BOX = drawn("box", line((0, 0), (20, 0), (20, 10), (0, 10), (0, 0)))


def test_one_piece_in_the_middle_of_each_shape():
    laid = lay(DOTS, kit_of(2.0))
    assert laid.seats.xy == pytest.approx(np.array([[10.0 * i, 5.0] for i in range(7)]))
    assert laid.seats.shape.tolist() == list(range(7))
    assert not laid.findings
    # The bounds' middle, not that of the line's mass.
    assert lay([BEND], kit_of(2.0)).seats.xy.tolist() == [[5.0, 15.0]]


def test_the_sequence_goes_on_from_shape_to_shape():
    seats = lay(DOTS, kit_of(2.0, 1.0, 1.5)).seats
    assert seats.choice.tolist() == [0, 1, 2, 0, 1, 2, 0]
    seats = lay([BEND, BOX], kit_of(1.0, 2.0), at="nodes").seats
    assert seats.choice.tolist() == [0, 1, 0, 1, 0, 1, 0]


def test_nodes_of_every_line():
    both = drawn("two", line((0, 0), (5, 0)), line((0, 9), (5, 9), (9, 9)))
    seats = lay([BEND, both], kit_of(1.0), at="nodes").seats
    assert seats.xy.tolist() == [
        *([0, 0], [10, 0], [10, 30]),
        *([0, 0], [5, 0]),
        *([0, 9], [5, 9], [9, 9]),
    ]
    assert seats.shape.tolist() == [0, 0, 0, 1, 1, 1, 1, 1]
    assert seats.row.tolist() == [0, 0, 0, 0, 0, 1, 1, 1]
    assert seats.u == pytest.approx([0, 0.25, 1, 0, 1, 0, 5 / 9, 1])


def test_a_closed_line_has_a_piece_on_each_corner_once():
    assert len(lay([BOX], kit_of(1.0), at="nodes").seats) == 4


def test_ends_of_open_lines_only():
    laid = lay([BEND, BOX], PEAR, at="ends", turn="along")
    assert laid.seats.xy.tolist() == [[0, 0], [10, 30]]
    assert laid.seats.angle_deg == pytest.approx([0, 90])
    assert [finding.code for finding in laid.findings] == ["no-points"]
    assert "'box'" in laid.findings[0].message
    assert laid.findings[0].where_mm == (10.0, 5.0)


def test_an_open_line_that_comes_back_has_one_piece_at_its_ends():
    back = Path(line_segments(np.array([[0.0, 0], [9, 0], [9, 9], [0, 0]])), closed=False)
    assert lay([drawn("back", back)], kit_of(1.0), at="ends").seats.xy.tolist() == [[0, 0]]


def test_turns():
    fixed = lay([BEND], NAVETTE, at="nodes", turn_deg=30.0).seats
    assert fixed.angle_deg.tolist() == [30.0, 30.0, 30.0]
    along = lay([BEND], NAVETTE, at="nodes", turn="along").seats
    assert along.angle_deg == pytest.approx([0, 45, 90])
    across = lay([BEND], NAVETTE, at="nodes", turn="across", turn_deg=5.0).seats
    assert across.angle_deg == pytest.approx([95, 140, 5])
    assert lay([BEND], kit_of(1.0), at="nodes", turn="along").seats.angle_deg.tolist() == [0, 0, 0]


@settings(max_examples=30, deadline=None)
@given(angles)
def test_a_drawn_shape_shows_how_its_piece_lies(turn):
    laid = lay([drawn("eye", oval(4.0, 5.0, 6.0, 3.0, turn))], NAVETTE, turn="along")
    assert laid.seats.xy == pytest.approx(np.array([[4.0, 5.0]]))
    away = (laid.seats.angle_deg[0] - turn + 90.0) % 180.0 - 90.0
    assert abs(away) < 1e-3
    assert not laid.findings
    # A short open line points a pear to its end.
    end = (4.0 + 3 * math.cos(math.radians(turn)), 5.0 + 3 * math.sin(math.radians(turn)))
    tick = lay([drawn("tick", line((4.0, 5.0), end))], PEAR, turn="along").seats
    assert abs((tick.angle_deg[0] - turn + 180.0) % 360.0 - 180.0) < 1e-6


@settings(max_examples=30, deadline=None)
@given(angles, st.sampled_from(["nodes", "ends"]))
def test_turning_the_drawing_turns_the_pieces(turn, at):
    affine = Affine.turn(turn, 3.0, -2.0)
    plain = lay([BEND], PEAR, at=at, turn="along").seats
    turned = lay([BEND.mapped(affine)], PEAR, at=at, turn="along").seats
    assert turned.xy == pytest.approx(affine(plain.xy), abs=1e-9)
    away = (turned.angle_deg - plain.angle_deg - turn + 180.0) % 360.0 - 180.0
    assert np.abs(away).max() < 1e-6


def test_a_round_shape_shows_no_direction():
    laid = lay(DOTS[:1], NAVETTE, turn="along", turn_deg=20.0)
    assert laid.seats.angle_deg.tolist() == [20.0]
    assert [finding.code for finding in laid.findings] == ["no-direction"]
    assert not lay(DOTS[:1], kit_of(1.0), turn="along").findings, "a round piece has none either"


def test_a_mix_is_exact_and_repeats():
    many = [drawn(f"dot {i}", oval(5.0 * i, 0.0, 1.0, 1.0)) for i in range(40)]
    kit = kit_of(1.0, 2.0, shares=(0.3, 0.7))
    one, two = lay(many, kit).seats, lay(many, kit).seats
    assert np.bincount(one.choice).tolist() == [12, 28]
    assert one.choice.tobytes() == two.choice.tobytes()
    assert lay(many, kit, seed=2).seats.choice.tobytes() != one.choice.tobytes()


def test_no_shapes_give_no_seats():
    assert len(lay([], kit_of(1.0)).seats) == 0


def test_unknown_settings_are_refused():
    with pytest.raises(ValidationError):
        PointsSettings.model_validate({"at": "corners"})
