"""Strings: one pitch from link to link, cut at corners and tight bends, gaps at the cuts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats
from embellish.geometry.blocked import Room
from embellish.geometry.rows.track import Track
from embellish.geometry.strings import Link, Look, Strings, headings_deg, strung_along
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


def test_a_bend_that_links_can_take_is_no_corner_though_it_turns_by_more_from_link_to_link():
    pearls = Link(pitch_mm=3.1, half_mm=1.55, gap_mm=0.4, least_bend_mm=3.0, least_links=3)
    turn = np.linspace(0.0, np.pi, 200)
    bend = np.stack([40 + 4 * np.sin(turn), 4 - 4 * np.cos(turn)], axis=1)
    points = np.concatenate([[[0, 0]], bend, [[0, 8]]])
    assert len(laid(Track.of(points, closed=False), pearls).runs) == 1
    sharp = line((0, 0), (40, 0), (40, 40))
    assert len(laid(sharp, pearls).runs) == 2


def test_stretches_too_short_are_told():
    found = laid(line((0, 0), (60, 0), (60, 7), (120, 7)))
    assert len(found.runs) == 2
    assert found.bare.tolist() == [[60.0, 3.5, 7.0]]


def test_a_bend_too_tight_for_any_length_is_told_beside_the_lengths_that_are_laid():
    turn = np.linspace(0.0, 6.0 * np.pi, 2000)
    spiral = (2.0 + 1.5 * turn)[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    track = Track.of(spiral, closed=False)
    found = laid(track, corner=180.0)
    ((x, y, length),) = found.bare.tolist()
    # It begins tighter than links can bend.
    assert math.hypot(x, y) < 8.0
    assert length == pytest.approx(found.runs[0][0] - 1.6, abs=1e-6)


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


def stone(x: float, y: float, apart: float, track: Track) -> Look:
    """Look for one round thing that links stand off by so much from their middles."""
    return lambda *_: lambda s: np.hypot(*(track.at(s) - [x, y]).T) - apart


@settings(max_examples=60, deadline=None)
@given(st.floats(15.0, 85.0), st.floats(-6.0, 6.0), st.floats(0.5, 12.0))
def test_a_line_is_cut_before_what_stands_there_and_begins_again_behind_it(x, y, apart):
    track = line((0, 0), (100, 0))
    found = strung_along(track, LINK, "inset", 35.0, 0.0, stone(x, y, apart, track))
    check(track, found, LINK)
    every = np.concatenate([np.zeros(0), *found.runs])
    assert (np.hypot(every - x, y) >= apart - 1e-6).all()
    between = [b[0] - a[-1] for a, b in pairwise(found.runs)]
    assert all(each >= LINK.apart_mm - 1e-6 for each in between)
    # Each free stretch is as full as it can be, with what it leaves over shared out.
    half = math.sqrt(max(0.0, apart**2 - y**2))
    if half == 0.0:
        return
    half = max(half, LINK.apart_mm / 2.0)
    for low, high in ((1.6, x - half), (x + half, 98.4)):
        held = int((high - low) / LINK.pitch_mm) + 1 if high >= low else 0
        mine = [run for run in found.runs if low - 1e-3 <= run[0] and run[-1] <= high + 1e-3]
        whole = (high - low) / LINK.pitch_mm
        if held < LINK.least_links or abs(whole - round(whole)) < 1e-3:
            continue
        (run,) = mine
        assert len(run) == held
        assert run[0] - low == pytest.approx(high - run[-1], abs=1e-3)


def test_a_closed_line_has_its_joint_behind_what_stands_in_its_way():
    track = circle(30.0)
    found = strung_along(track, LINK, "inset", 35.0, 0.0, stone(0.0, 30.0, 4.0, track))
    (run,) = found.runs
    away = np.hypot(*(track.at(run[[0, -1]]) - [0.0, 30.0]).T)
    assert away[0] == pytest.approx(away[1], abs=1e-3)
    assert 4.0 <= away[0] < 4.0 + LINK.pitch_mm


def beside_its_own(track: Track) -> Look:
    """Look for the links that stand on the line already."""

    def look(_low: float, _high: float, runs: Sequence[Floats]) -> Room | None:
        own = track.at(np.concatenate([np.zeros(0), *runs]))
        if not len(own):
            return None
        return lambda s: (
            np.hypot(*(track.at(s)[:, None] - own).transpose(2, 0, 1)).min(axis=1) - (LINK.apart_mm)
        )

    return look


def test_a_line_that_crosses_itself_is_cut_there_alike_on_both_sides():
    turn = np.linspace(0.0, 2.0 * np.pi, 2000)[:-1]
    eight = np.stack([60.0 * np.sin(turn), 30.0 * np.sin(2.0 * turn)], axis=1)
    # Begun at the far end of a lobe, so that it comes to the crossing twice.
    track = Track.of(np.roll(eight, 500, axis=0), closed=True)
    found = strung_along(track, LINK, "inset", 180.0, 0.0, beside_its_own(track))
    check(track, found, LINK)
    links = [track.at(run) for run in found.runs]
    for one, other in combinations(range(len(links)), 2):
        apart = np.hypot(*(links[one][:, None] - links[other]).transpose(2, 0, 1))
        assert apart.min() >= LINK.apart_mm - 1e-6
    assert sum(map(len, links)) >= 0.96 * track.length / LINK.pitch_mm
    # The joint is at the crossing: no further cut.
    assert len(links) == 2


def test_lengths_run_right_into_the_tips_of_a_sickle_though_its_sides_bend():
    sickle = shapely.Point(0, 0).buffer(40, 256).difference(shapely.Point(14, 0).buffer(34, 256))
    ring = shapely.get_coordinates(sickle)[:-1]
    track = Track.of(ring, closed=True)
    found = laid(track)
    check(track, found, LINK)
    assert len(found.runs) == 2
    assert not len(found.bare)
    every = np.concatenate([track.at(run) for run in found.runs])
    tips = shapely.get_coordinates(
        shapely.intersection(
            shapely.Point(0, 0).buffer(40, 256).exterior,
            shapely.Point(14, 0).buffer(34, 256).exterior,
        )
    )
    away = np.hypot(*(every[:, None] - tips).transpose(2, 0, 1)).min(axis=0)
    assert away.max() < 0.05
    one, other = (track.at(run) for run in found.runs)
    assert np.hypot(*(one[:, None] - other).transpose(2, 0, 1)).min() >= LINK.apart_mm - 1e-6


def test_what_is_left_over_behind_a_tight_bend_is_shared_out():
    turn = np.linspace(0.0, np.pi, 200)
    bend = np.stack([60 + 5 * np.sin(turn), 5 - 5 * np.cos(turn)], axis=1)
    track = Track.of(np.concatenate([[[0, 0]], bend, [[0, 10]]]), closed=False)
    link = replace(LINK, least_links=1)
    found = laid(track, link, corner=180.0)
    check(track, found, link)
    last, before = found.runs[-1], found.runs[-2]
    at_end = track.length - LINK.half_mm - last[-1]
    beside = np.hypot(*(track.at(last[:1]) - track.at(before[-1:]))[0]) - LINK.apart_mm
    # Along a bend a chord is shorter than its arc.
    assert beside == pytest.approx(at_end, abs=0.4)
