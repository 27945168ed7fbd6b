"""Lapped rows: equal steps of a piece less its lap, in an order that lies like scales."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import JobError
from embellish.geometry.streams import Stream
from embellish.layout.ways.row import ROW
from embellish.layout.ways.way import Ground, no_progress
from tests.layout.ways.fill_cases import kit_of, shape_of

DISC = shapely.Point(0, 0).buffer(30.0, quad_segs=256)


def laid(diameter: float, **more: object):
    asked = ROW.settings.model_validate(more)
    ground = Ground((shape_of(DISC, "disc"),))
    return ROW.lay(ground, kit_of(diameter), asked, Stream.of(1, "lay"), no_progress)


@settings(max_examples=25, deadline=None)
@given(st.floats(3.0, 8.0), st.floats(0.1, 0.7))
def test_steps_are_a_piece_less_its_lap(diameter: float, share: float):
    lap = diameter * share
    seats = laid(diameter, lap_mm=lap).seats
    steps = np.hypot(*(np.roll(seats.xy, -1, axis=0) - seats.xy).T)
    assert np.ptp(steps) <= 1e-6  # it closes, evenly
    assert steps.min() >= diameter - lap
    # As many as go: with one more the lap would be deeper than asked.
    one_more = 2.0 * 30.0 * np.sin(np.pi / (len(seats) + 1))
    assert one_more < diameter - lap + 1e-5


def test_what_lies_on_top_is_set_last():
    forward, back = laid(6.0, lap_mm=2.0).seats, laid(6.0, lap_mm=2.0, lap="previous").seats
    assert np.array_equal(forward.xy[::-1], back.xy)
    assert np.array_equal(forward.u[::-1], back.u)


def test_a_lap_that_leaves_nothing_is_refused():
    with pytest.raises(JobError, match="leaves too little"):
        laid(6.0, lap_mm=5.5)
