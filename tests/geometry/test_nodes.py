"""Nodes and which way shapes lie, against plain constructions and shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.curves import ellipse_arc, line_segments
from embellish.geometry.nodes import long_axis_deg, nodes_of
from embellish.geometry.transforms import Affine
from tests.shapes import ellipse
from tests.strategies import angles


def chain(*points: tuple[float, float]) -> np.ndarray:
    return line_segments(np.array(points, dtype=float))


def test_a_bent_line():
    nodes = nodes_of(chain((0, 0), (10, 0), (10, 30)), closed=False)
    assert nodes.xy.tolist() == [[0, 0], [10, 0], [10, 30]]
    assert nodes.heading_deg == pytest.approx([0, 45, 90])
    assert nodes.u == pytest.approx([0, 0.25, 1])


def test_a_closed_line_has_its_joint_once():
    nodes = nodes_of(chain((0, 0), (10, 0), (10, 10), (0, 10), (0, 0)), closed=True)
    assert nodes.xy.tolist() == [[0, 0], [10, 0], [10, 10], [0, 10]]
    assert nodes.heading_deg == pytest.approx([315, 45, 135, 225])
    assert nodes.u == pytest.approx([0, 0.25, 0.5, 0.75])


def test_a_cusp_is_square_to_the_way_in():
    nodes = nodes_of(chain((0, 0), (10, 0), (0, 0)), closed=False)
    assert nodes.heading_deg == pytest.approx([0, 90, 180])


def test_segments_that_go_nowhere_add_no_node():
    nodes = nodes_of(chain((0, 0), (0, 0), (5, 0), (5, 0), (9, 0), (9, 0)), closed=False)
    assert nodes.xy[:, 0].tolist() == [0, 5, 9]
    assert nodes.heading_deg == pytest.approx([0, 0, 0])
    still = nodes_of(chain((4, 4), (4, 4)), closed=False)
    assert still.xy.tolist() == [[4, 4]]
    assert still.heading_deg.tolist() == [0.0]
    assert len(nodes_of(np.zeros((0, 4, 2)), closed=False)) == 0


def test_controls_that_lie_on_their_nodes_still_tell_the_way():
    segment = np.array([[[0.0, 0], [0, 0], [6, 8], [6, 8]]])
    nodes = nodes_of(segment, closed=False)
    assert nodes.heading_deg == pytest.approx([math.degrees(math.atan2(8, 6))] * 2)


def test_an_arc_heads_along_its_circle():
    arc = ellipse_arc((0.0, 0.0), (10.0, 10.0), 0.0, 0.0, 2 * math.pi)
    nodes = nodes_of(arc, closed=True)
    away = np.degrees(np.arctan2(nodes.xy[:, 1], nodes.xy[:, 0]))
    assert np.mod(nodes.heading_deg - away, 360.0) == pytest.approx(90.0, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(angles, st.floats(1.2, 9.0))
def test_the_longer_axis_is_the_one_that_was_turned(turn, ratio):
    line = Affine.turn(turn, 3.0, 4.0)(ellipse(10.0 * ratio, 10.0, 400))
    axis = long_axis_deg([np.concatenate([line, line[:1]])])
    assert axis is not None
    assert abs((axis - turn + 90.0) % 180.0 - 90.0) < 1e-6
    # Shapely's smallest rectangle about it has its longer side that way.
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.LineString(line)))
    sides = np.diff(corners, axis=0)[:2]
    dx, dy = sides[np.argmax(np.hypot(*sides.T))]
    assert abs((np.degrees(np.arctan2(dy, dx)) - axis + 90.0) % 180.0 - 90.0) < 2.0


def test_a_level_shape_lies_at_nought_whatever_its_last_bits():
    for y in (0.0, 1e-13, -1e-13):
        assert long_axis_deg([np.array([[0.0, 0.0], [10.0, y]])]) == 0.0


def test_what_is_as_wide_as_long_lies_no_way():
    round_ = ellipse(10.0, 10.0, 400)
    square = np.array([[0.0, 0], [5, 0], [5, 5], [0, 5], [0, 0]])
    for line in (np.concatenate([round_, round_[:1]]), square, np.array([[1.0, 1.0], [1.0, 1.0]])):
        assert long_axis_deg([line]) is None
