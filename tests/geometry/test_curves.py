import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.arrays import Floats
from embellish.geometry.curves import (
    Flat,
    bezier_bounds,
    chain_area,
    chain_length,
    curve_points,
    ellipse_arc,
    endpoint_arc,
    flatten,
    line_segments,
    quadratic_segments,
    segment_lengths,
)

coordinate = st.floats(-50, 50, allow_nan=False).map(lambda v: round(v, 4))
cubics = st.lists(st.tuples(coordinate, coordinate), min_size=4, max_size=4).map(
    lambda points: np.array([points])
)


def chord_distances(segments: Floats, flat: Flat, fine: int = 64) -> float:
    """Return how far the curve is from its chords, by dense sampling."""
    worst = 0.0
    for i in range(len(flat.points) - 1):
        t0 = 0.0 if flat.segment[i] != flat.segment[i + 1] else flat.t[i]
        t = np.linspace(t0, flat.t[i + 1], fine)[None]
        on = curve_points(segments[flat.segment[i + 1]][None], t)[0]
        a, b = flat.points[i], flat.points[i + 1]
        chord = b - a
        size = chord @ chord
        s = np.clip((on - a) @ chord / size, 0, 1) if size else np.zeros(len(on))
        worst = max(worst, np.hypot(*(on - a - s[:, None] * chord).T).max())
    return worst


@settings(max_examples=40, deadline=None)
@given(cubics, st.sampled_from([0.5, 0.05, 0.005]))
def test_no_curve_leaves_its_chords(segments, tolerance):
    flat = flatten(segments, tolerance)
    assert chord_distances(segments, flat) <= tolerance * (1 + 1e-9)
    assert np.array_equal(flat.points[0], segments[0, 0])
    assert np.array_equal(flat.points[-1], segments[-1, 3])
    again = curve_points(segments[flat.segment], flat.t)
    assert np.allclose(again[1:], flat.points[1:], atol=1e-12)


def test_straight_pieces_stay_one_chord():
    segments = line_segments(np.array([[0.0, 0.0], [30.0, 1.0], [7.0, 80.0]]))
    flat = flatten(segments, 1e-4)
    assert flat.points.tolist() == [[0, 0], [30, 1], [7, 80]]
    assert flat.segment.tolist() == [0, 0, 1]


def test_flat_values_cannot_be_changed():
    flat = flatten(line_segments(np.array([[0.0, 0.0], [1.0, 1.0]])), 1e-3)
    with pytest.raises(ValueError, match="read-only"):
        flat.points[0, 0] = 1.0


@settings(max_examples=40, deadline=None)
@given(cubics)
def test_bounds_hold_the_curve_and_are_touched(segments):
    x0, y0, x1, y1 = bezier_bounds(segments)
    on = curve_points(segments, np.linspace(0, 1, 2001)[None])[0]
    assert (on >= np.array([x0, y0]) - 1e-9).all()
    assert (on <= np.array([x1, y1]) + 1e-9).all()
    assert np.allclose([*on.min(axis=0), *on.max(axis=0)], [x0, y0, x1, y1], atol=1e-3)


@settings(max_examples=40, deadline=None)
@given(cubics)
# Straight, and turning back right at an end, where no node of any half lies.
@example(np.array([[(0.0, 32.8125), (0.0, 32.9375), (0.0, 0.0), (0.0, 0.0)]]))
@example(np.array([[(0.0, 0.0), (0.0, 1.75), (0.0, 24.0), (0.0, 9.0)]]))
def test_length_agrees_with_fine_chords(segments):
    on = curve_points(segments, np.linspace(0, 1, 20_001)[None])[0]
    chords = np.hypot(*np.diff(on, axis=0).T).sum()
    assert chain_length(segments) == pytest.approx(chords, rel=1e-5, abs=1e-9)
    # What is promised: to 1e-9 of the control polygon, a curve that turns back on itself included.
    polygon = 3.0 * np.hypot(*np.diff(segments[0], axis=0).T).sum()
    assert chain_length(segments) >= chords - 1e-9 * (1.0 + polygon)


@settings(max_examples=40, deadline=None)
@given(cubics, st.floats(0.1, 0.9))
def test_length_adds_up_over_a_cut(segments, t):
    p0, p1, p2, p3 = segments[0]
    a, b, c = p0 + (p1 - p0) * t, p1 + (p2 - p1) * t, p2 + (p3 - p2) * t
    d, e = a + (b - a) * t, b + (c - b) * t
    m = d + (e - d) * t
    halves = np.array([[p0, a, d, m], [m, e, c, p3]])
    assert chain_length(halves) == pytest.approx(chain_length(segments), abs=2e-9 + 1e-9 * 300)


def test_length_of_a_cusp():
    # x = t³ - ..., (0,0)(1,1)(0,1)(1,0) turns back on itself; quad of the speed, split at 1/2:
    # speed² = 9 ((1-2t)² + (1-2t)²·…): here dx = 3(1 - 4t + 4t²) = 3(1-2t)², dy = 3(1-2t), so
    # the length is 2 · ∫ 3u √(u² + 1) du/2 over 0..1 = (2√2 - 1).
    cusp = np.array([[[0, 0], [1, 1], [0, 1], [1, 0]]], dtype=float)
    assert chain_length(cusp) == pytest.approx(2 * math.sqrt(2) - 1, abs=1e-9)


def test_length_of_nothing():
    assert chain_length(np.zeros((0, 4, 2))) == 0.0
    assert segment_lengths(np.zeros((3, 4, 2))).tolist() == [0, 0, 0]


@pytest.mark.parametrize("radius", [0.5, 20.0, 1e4])
def test_arcs_are_round(radius):
    arc = ellipse_arc((3.0, -4.0), (radius, radius), 0.0, 0.3, math.tau)
    on = curve_points(arc, np.linspace(0, 1, 101)[None].repeat(len(arc), axis=0)).reshape(-1, 2)
    away = np.hypot(on[:, 0] - 3.0, on[:, 1] + 4.0)
    assert np.abs(away / radius - 1.0).max() < 1e-7


angle = st.floats(0, 360, allow_nan=False)


@settings(max_examples=80, deadline=None)
@given(
    st.tuples(coordinate, coordinate),
    st.tuples(coordinate, coordinate),
    st.floats(0.5, 60),
    st.floats(0.5, 60),
    angle,
    st.booleans(),
    st.booleans(),
)
def test_endpoint_arcs(start, end, rx, ry, turn, large, clockwise):
    arc = endpoint_arc(start, (rx, ry), turn, end, large=large, clockwise=clockwise)
    if start == end:
        assert len(arc) == 0
        return
    assert tuple(arc[0, 0]) == start
    assert tuple(arc[-1, 3]) == end
    assert np.allclose(arc[1:, 0], arc[:-1, 3], atol=1e-9)
    # In the ellipse's own frame the arc lies on a circle, and runs the way it was asked.
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    on = curve_points(arc, np.linspace(0, 1, 9)[None].repeat(len(arc), axis=0)).reshape(-1, 2)
    u = np.stack([(cos * on[:, 0] + sin * on[:, 1]) / rx, (cos * on[:, 1] - sin * on[:, 0]) / ry])
    d = np.array(end) - np.array(start)
    chord = math.hypot((cos * d[0] + sin * d[1]) / rx, (cos * d[1] - sin * d[0]) / ry)
    if chord < 1e-3:
        return
    fit = np.linalg.lstsq(np.column_stack([2 * u.T, np.ones(u.shape[1])]), (u**2).sum(axis=0))[0]
    radius = math.sqrt(fit[2] + fit[0] ** 2 + fit[1] ** 2)
    assert radius == pytest.approx(max(1.0, chord / 2.0), rel=1e-3)
    area = chain_area(np.concatenate([arc, line_segments(np.array([end, start]))]))
    if chord < 1.999:
        assert (area > 0) == clockwise
        sweep = abs(np.unwrap(np.arctan2(u[1] - fit[1], u[0] - fit[0]))[[0, -1]] @ [-1, 1])
        assert (sweep > math.pi) == large


def test_arc_of_zero_radius_is_a_line():
    arc = endpoint_arc((0.0, 0.0), (0.0, 5.0), 0.0, (9.0, 0.0), large=False, clockwise=True)
    assert len(arc) == 1
    assert chain_length(arc) == pytest.approx(9.0)


def test_area_of_loops():
    square = line_segments(np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]], dtype=float))
    assert chain_area(square) == pytest.approx(100.0)
    assert chain_area(square[::-1, ::-1]) == pytest.approx(-100.0)
    assert chain_area(np.zeros((0, 4, 2))) == 0.0
    lens = quadratic_segments(np.array([[[0, 10], [10, 0], [20, 10]]], dtype=float))
    # Parabola over its chord: 2/3 · 20 · 5.
    assert abs(chain_area(lens)) == pytest.approx(200 / 3)
