"""HP-GL: whole plotter units, y up, and a drag knife's tip that follows the outline."""

import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.geometry.outlines import Outline, circle
from embellish.outputs.drawing.drawing import Chains, Circles, Drawing, Layer, Lines, Style, Words
from embellish.outputs.drawing.hpgl import Plotter, hpgl_bytes, lost_in_hpgl, pivot_path

CUT = Style(stroke="#ff0000")
SQUARE = np.array([[10.0, 10.0], [20.0, 10.0], [20.0, 20.0], [10.0, 20.0]])


def strokes(data: bytes) -> list[np.ndarray]:
    """Every stroke as points in mm, y down again for a page 50 mm high."""
    found = []
    for start, rest in re.findall(r"PU(\d+,\d+);PD([\d,]+);PU;", data.decode()):
        numbers = [int(word) for word in f"{start},{rest}".split(",")]
        found.append(np.array(numbers).reshape(-1, 2) * [0.025, -0.025] + [0, 50])
    return found


def test_a_circle_is_one_instruction():
    data = hpgl_bytes(
        Drawing(100.0, 50.0, (Layer("cut", (Circles(np.array([[10.0, 10.0]]), np.ones(1), CUT),)),))
    )
    assert data.decode().split() == ["IN;", "PA;", "SP1;", "PU400,1600;CI40;", "PU;", "SP0;"]


def test_layers_have_pens_in_the_order_asked_for():
    line = Lines((np.array([[0.0, 0.0], [1.0, 0.0]]),), CUT)
    drawing = Drawing(
        100.0, 50.0, (Layer("cut", (line,)), Layer("trim", (line,)), Layer("label", (line,)))
    )
    text = hpgl_bytes(drawing, Plotter(layers=("trim", "cut"))).decode()
    assert re.findall(r"SP\d", text) == ["SP1", "SP2", "SP0"]
    assert text.count("PD") == 2


def test_words_alone_choose_no_pen():
    data = hpgl_bytes(Drawing(10.0, 10.0, (Layer("label", (Words(1.0, 1.0, "a"),)),)))
    assert data.decode().split() == ["IN;", "PA;", "PU;", "SP0;"]


def test_a_closed_line_ends_where_it_began_and_an_overcut_goes_on():
    drawing = Drawing(100.0, 50.0, (Layer("cut", (Lines((SQUARE,), CUT, closed=True),)),))
    (plain,) = strokes(hpgl_bytes(drawing))
    assert plain == pytest.approx(np.vstack([SQUARE, SQUARE[:1]]))
    (over,) = strokes(hpgl_bytes(drawing, Plotter(overcut_mm=1.0)))
    assert over[-1] == pytest.approx([11.0, 10.0])


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 15.0), st.floats(20.0, 30.0), st.floats(20.0, 30.0))
def test_arcs_as_chords_keep_to_the_tolerance(radius, x, y):
    ring = Outline(circle(2 * radius).points + np.array([x, y]), np.ones(2))
    drawing = Drawing(100.0, 50.0, (Layer("cut", (Chains((ring,), CUT),)),))
    (points,) = strokes(hpgl_bytes(drawing))
    middles = (points[1:] + points[:-1]) / 2
    off = np.abs(np.hypot(*(np.vstack([points, middles]) - [x, y]).T) - radius)
    # Half a plotter unit each way, and the chord's own tolerance.
    assert off.max() <= 0.0125 * np.sqrt(2) + 0.005 + 1e-9


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 40), st.floats(0, 40)), min_size=3, max_size=8),
    st.floats(0.1, 0.6),
)
def test_a_trailing_tip_follows_the_line(points, offset):
    line = np.round(np.array(points), 1)
    steps = np.hypot(*np.diff(line, axis=0).T)
    if (steps < 1.0).any():
        return
    pivot = pivot_path(line, offset, 0.002)
    # A dragged tip points to the pivot; move it along in small steps and see where it goes.
    fine = np.concatenate(
        [a + (b - a) * np.linspace(0, 1, 600)[:, None] for a, b in pairwise(pivot)]
    )
    tip = line[0].copy()
    far = 0.0
    for place in fine:
        back = tip - place
        tip = place + back / max(np.hypot(*back), 1e-12) * offset
        far = max(far, distance(tip, line))
    # At bends too slight for a swing of its own the tip lags, by half the angle it swings from.
    assert far < max(0.05, 0.14 * offset)
    assert np.hypot(*(tip - line[-1])) < 0.05


def distance(point: np.ndarray, line: np.ndarray) -> float:
    along = np.diff(line, axis=0)
    t = np.clip(((point - line[:-1]) * along).sum(axis=1) / (along**2).sum(axis=1), 0, 1)
    return float(np.hypot(*(line[:-1] + t[:, None] * along - point).T).min())


def test_with_a_blade_offset_circles_are_cut_by_the_pivot():
    circles = Circles(np.array([[20.0, 20.0]]), np.array([3.0]), CUT)
    drawing = Drawing(100.0, 50.0, (Layer("cut", (circles,)),))
    (points,) = strokes(hpgl_bytes(drawing, Plotter(blade_offset_mm=0.25, overcut_mm=0.5)))
    radii = np.hypot(*(points[1:-1] - [20.0, 20.0]).T)
    assert radii == pytest.approx(np.hypot(3.0, 0.25), abs=0.018)


def test_layers_may_share_a_pen():
    layers = [Layer(name, (Lines((SQUARE,), CUT, closed=True),)) for name in ("a", "b", "c")]
    plotter = Plotter(layers=("b", "c", "a"), pens=(1, 1, 2))
    data = hpgl_bytes(Drawing(100.0, 50.0, tuple(layers)), plotter).decode()
    assert re.findall(r"SP(\d)", data) == ["1", "2", "0"]
    assert len(strokes(data.encode())) == 3


def test_what_is_left_out_is_told():
    filled = Circles(np.array([[10.0, 10.0]]), np.ones(1), Style(fill="#000000"))
    drawing = Drawing(
        100.0, 50.0, (Layer("cut", (filled,)), Layer("label", (Words(1.0, 1.0, "x"),)))
    )
    assert lost_in_hpgl(drawing) == ("fills (their outlines are cut)", "words")
    assert lost_in_hpgl(drawing, Plotter(layers=("cut",))) == (
        "layer 'label'",
        "fills (their outlines are cut)",
    )
    assert "CI40;" in hpgl_bytes(drawing).decode()
    assert lost_in_hpgl(Drawing(9.0, 9.0, (Layer("cut", (Lines((SQUARE,), CUT),)),))) == ()
