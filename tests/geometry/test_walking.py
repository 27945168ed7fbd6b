"""Steps along a line against the search in bulk, on awkward lines."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.rows.track import Track
from embellish.geometry.walking import Walk
from tests.paths import AWKWARD_PATHS, PATHS


@settings(max_examples=150, deadline=None)
@given(
    name=st.sampled_from(sorted(AWKWARD_PATHS)),
    share=st.floats(0.0, 2.0),
    distance=st.floats(0.3, 12.0),
)
def test_a_step_ends_where_the_distance_is_first_reached(name, share, distance):
    points, closed = PATHS[name]
    track = Track.of(points, closed)
    s = share * track.length if track.closed else min(share, 1.0) * track.length
    most = s + track.length if track.closed else track.length
    here = track.at(np.array([s]))
    asked = np.array([distance])
    way = track.first_beyond(np.array([s]), np.ones(1), here, asked, np.array([most - s]))[0]
    found = Walk(track).beyond(s, distance, most)
    assert Walk(track).at(s) == pytest.approx(here[0], abs=1e-9)
    if found is None:
        # No step of the search in bulk that reaches it may have been missed.
        assert np.isnan(way)
        return
    at, point = found
    assert np.hypot(point[0] - here[0, 0], point[1] - here[0, 1]) == pytest.approx(distance)
    assert track.at(np.array([at]))[0] == pytest.approx(point, abs=1e-7)
    # Never later than the search in steps; sooner where that steps over a spike.
    assert np.isnan(way) or at <= s + way + 1e-6
