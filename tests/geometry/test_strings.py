"""Strings: one pitch from link to link, cut at corners and tight bends, gaps at the cuts."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats
from embellish.geometry.rows.track import Track
from embellish.geometry.strings import Link, Strings, headings_deg, strung_along
from tests.paths import AWKWARD_PATHS, SMOOTH_PATHS, TINY_PATHS

LINES = {**SMOOTH_PATHS, **AWKWARD_PATHS, **TINY_PATHS}

LINK = Link(pitch_mm=3.8, half_mm=1.6, gap_mm=0.6, least_bend_mm=8.0, least_links=3)


def circle(radius: float) -> Track:
    return Track.of(
        shapely.get_coordinates(shapely.Point(0, 0).buffer(radius, 512))[:-1], closed=True
    )


def line(*points: tuple[float, float], closed: bool = False) -> Track:
    return Track.of(np.array(points, dtype=np.float64), closed)


def laid(track: Track, link: Link = LINK, ends: str = "inset", corner: float = 35.0) -> Strings:
    return strung_along(track, link, ends, corner)  # type: ignore[arg-type]  # a text that holds


def check(track: Track, found: Strings, link: Link) -> None:
    """The laws of strings, read from where links stand."""
    for run in found.runs:
        at = track.at(run)
        assert len(run) >= link.least_links
        step = np.diff(at, axis=0)
        assert np.hypot(*step.T) == pytest.approx(link.pitch_mm, abs=1e-6)
        heading = np.degrees(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
        assert np.abs(np.diff(heading)).max(initial=0.0) <= 1.03 * link.most_turn_deg
        assert (np.diff(run) > 0).all()


@pytest.mark.parametrize("name", sorted(LINES))
def test_the_laws_hold_along_awkward_lines(name: str):
    points, closed = LINES[name]
    track = Track.of(np.asarray(points, dtype=np.float64), closed)
    for link in (LINK, Link(1.4, 0.6, 0.2, 2.0, 2)):
        check(track, laid(track, link), link)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=9),
    st.booleans(),
    st.floats(1.0, 6.0),
    st.floats(0.75, 4.0),
    st.sampled_from(["on", "inset", "free"]),
)
def test_the_laws_hold_along_any_line(points, closed, pitch, bend, ends):
    track = Track.of(np.array(points), closed=closed)
    if track.length <= 0.0:
        return
    link = Link(pitch, 0.4 * pitch, 0.3, bend * pitch, 2)
    check(track, laid(track, link, ends), link)


@pytest.mark.parametrize("radius", [8.0, 12.0, 31.5])
def test_a_circle_holds_what_chords_of_the_pitch_say(radius: float):
    (run,) = laid(circle(radius)).runs
    # Chords of the pitch each take the same angle; from the last to the first there is a gap.
    angle = 2.0 * math.asin(LINK.pitch_mm / 2.0 / radius)
    closing = 2.0 * math.asin(LINK.apart_mm / 2.0 / radius)
    assert len(run) == int((2.0 * math.pi - closing) / angle + 1e-6) + 1


def test_what_a_line_leaves_over_is_shared_out_to_its_ends():
    (run,) = laid(line((0, 0), (100, 0))).runs
    assert len(run) == int((100 - 2 * 1.6) / 3.8) + 1
    assert run[0] == pytest.approx(100 - run[-1], abs=1e-6)
    (on,) = laid(line((0, 0), (3.8 * 20, 0)), ends="on").runs
    assert on == pytest.approx(np.arange(21) * 3.8, abs=1e-6)


def ends_at(track: Track, found: Strings) -> Floats:
    return np.array([track.at(run[[0, -1]]) for run in found.runs])


def test_a_square_is_cut_at_its_corners_alike():
    track = line((0, 0), (50, 0), (50, 50), (0, 50), closed=True)
    found = laid(track)
    assert [len(run) for run in found.runs] == [len(found.runs[0])] * 4
    ends = ends_at(track, found)
    for k in range(4):
        apart = np.hypot(*(ends[k, 1] - ends[(k + 1) % 4, 0]))
        assert apart >= LINK.apart_mm - 1e-6


def test_at_a_tip_one_length_runs_into_it_and_the_next_begins_beside():
    track = line((0, 0), (80, 12), (0, 24))
    found = laid(track)
    ends = ends_at(track, found)
    first = np.hypot(*(ends[0, 1] - [80, 12]))
    assert first < LINK.pitch_mm / 2.0
    assert np.hypot(*(ends[1, 0] - ends[0, 1])) >= LINK.apart_mm - 1e-6


def test_a_bend_that_is_too_tight_is_cut_and_a_wider_one_is_not():
    turn = np.linspace(0.0, np.pi, 200)
    for radius, cut in ((5.0, True), (8.0, False)):
        bend = np.stack([60 + radius * np.sin(turn), radius - radius * np.cos(turn)], axis=1)
        points = np.concatenate([[[0, 0]], bend, [[0, 2 * radius]]])
        found = laid(Track.of(points, closed=False), corner=180.0)
        assert (len(found.runs) > 1) == cut


def test_stretches_too_short_are_told():
    found = laid(line((0, 0), (60, 0), (60, 7), (120, 7)))
    assert len(found.runs) == 2
    assert found.bare.tolist() == [[60.0, 3.5, 7.0]]


def test_links_lie_from_the_one_before_to_the_one_after():
    track = circle(30.0)
    (run,) = laid(track).runs
    at = track.at(run)
    radial = np.degrees(np.arctan2(at[:, 1], at[:, 0]))
    off = np.mod(headings_deg(track, run) - radial + 45.0, 180.0) - 45.0
    assert np.abs(off[1:-1] - 90.0).max() < 0.01
    assert np.abs(off - 90.0).max() < 4.0


def test_the_least_links_decide_what_is_a_length():
    track = line((0, 0), (60, 0), (60, 7), (120, 7))
    assert len(laid(track, replace(LINK, least_links=1)).runs) == 3
