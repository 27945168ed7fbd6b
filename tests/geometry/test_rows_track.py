"""Tracks: lengths, places and directions of lines, those with steps below the last bit too."""

from __future__ import annotations

import numpy as np
import pytest

from embellish.geometry.rows.track import Track


@pytest.mark.parametrize("closed", [False, True])
def test_steps_below_the_last_bit_lead_nowhere(closed):
    """A ring drawn from sines ends beside its start by less than its length can tell."""
    turn = np.linspace(0.0, 2.0 * np.pi, 2001)
    ring = 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    assert 0.0 < np.hypot(*(ring[-1] - ring[0])) < 1e-12
    track = Track.of(ring, closed)
    assert np.all(np.diff(track.s) > 0.0)
    assert track.closed == closed
    assert np.hypot(*(track.points[-1] - track.points[0])) <= (0.0 if closed else 1e-12)
    for s in (0.0, track.length / 2, track.length):
        at = track.at(np.array([s]))
        away = s / track.length * 2.0 * np.pi
        assert at[0] == pytest.approx([100 * np.cos(away), 100 * np.sin(away)], abs=1e-6)
        assert np.hypot(*track.heading(np.array([s]), ahead=True)[0]) == pytest.approx(1.0)


def test_equal_neighbours_are_dropped():
    track = Track.of(np.array([[0.0, 0], [0, 0], [3, 4], [3, 4], [3, 10]]), closed=False)
    assert track.s.tolist() == [0.0, 5.0, 11.0]


def test_what_goes_nowhere_has_no_length():
    for points in (np.zeros((0, 2)), np.zeros((1, 2)), np.ones((5, 2))):
        track = Track.of(points, closed=True)
        assert track.length == 0.0
        assert not track.closed
