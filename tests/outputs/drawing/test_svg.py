"""SVG: flat layers, exact outlines, plain numbers, equal bytes."""

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from embellish.geometry.outlines import Outline, circle
from embellish.geometry.outlines import sampled as outline_points
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Picture,
    Style,
    Words,
)
from embellish.outputs.drawing.numbers import number, rows
from embellish.outputs.drawing.svg import chain_data, svg_bytes

SVG = "{http://www.w3.org/2000/svg}"
CUT = Style(stroke="#ff0000", stroke_width_mm=0.1)


def drawing_of(*items: Item, background: str | None = None) -> Drawing:
    return Drawing(100.0, 50.0, (Layer("cut", items),), title="A & B", background=background)


def tree_of(drawing: Drawing) -> Any:
    return etree.fromstring(svg_bytes(drawing))


def sampled(data: str) -> Any:
    """Points along M L A Z data by SVG 1.1 appendix F.6.5: end points to centre."""
    out: list[Any] = []
    here = start = np.zeros(2)
    for letter, body in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        v = [float(word) for word in body.split()]
        if letter == "M":
            here = start = np.array(v)
            out.append(here[None])
        elif letter in "ZL":
            to = start if letter == "Z" else np.array(v)
            out.append(here + (to - here) * np.linspace(0, 1, 12)[:, None])
            here = to
        else:
            rx, ry, turn, large, sweep, x, y = v
            assert rx == ry
            assert turn == 0
            to = np.array([x, y])
            half = (here - to) / 2.0
            square = np.maximum(0.0, (rx * rx - half @ half) / (half @ half))
            sign = 1.0 if large != sweep else -1.0
            middle = sign * np.sqrt(square) * np.array([half[1], -half[0]]) + (here + to) / 2.0
            a0 = np.arctan2(*(here - middle)[::-1])
            a1 = np.arctan2(*(to - middle)[::-1])
            delta = (a1 - a0) % (2 * np.pi) if sweep else -((a0 - a1) % (2 * np.pi))
            angles = a0 + delta * np.linspace(0, 1, 24)
            out.append(middle + rx * np.stack([np.cos(angles), np.sin(angles)], axis=1))
            here = to
    return np.concatenate(out)


def distance_to(outline: Outline, points: Any) -> Any:
    """How far points are from an arc-and-line chain, by its own definition."""
    best = np.full(len(points), np.inf)
    ends = np.roll(outline.points, -1, axis=0)
    for p, q, bulge in zip(outline.points, ends, outline.bulges, strict=True):
        along = q - p
        if bulge == 0:
            t = np.clip((points - p) @ along / max(along @ along, 1e-30), 0, 1)
            best = np.minimum(best, np.hypot(*(p + t[:, None] * along - points).T))
            continue
        angle = 4 * np.arctan(bulge)
        # The centre by turning p to q: c = p + (q - p) rotated and scaled.
        z = complex(*along) / (1 - np.exp(1j * angle))
        centre = np.array([p[0] + z.real, p[1] + z.imag])
        radius = np.hypot(*(p - centre))
        start = np.arctan2(p[1] - centre[1], p[0] - centre[0])
        at = np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0])
        turned = (at - start) % (2 * np.pi) if angle > 0 else (start - at) % (2 * np.pi)
        on = turned <= abs(angle)
        ring = np.abs(np.hypot(*(points - centre).T) - radius)
        tips = np.minimum(np.hypot(*(points - p).T), np.hypot(*(points - q).T))
        best = np.minimum(best, np.where(on, ring, tips))
    return best


@st.composite
def outlines(draw):
    """Star-shaped rings whose sides bulge either way, some past a half circle."""
    count = draw(st.integers(2, 8))
    radii = draw(st.lists(st.floats(0.5, 12.0), min_size=count, max_size=count))
    bulges = draw(
        st.lists(st.one_of(st.just(0.0), st.floats(-1.0, 3.0)), min_size=count, max_size=count)
    )
    # A bulge so small that the radius passes a kilometre is a straight side to any cutter.
    bulges = np.array([0.0 if abs(b) < 1e-3 else b for b in bulges])
    turns = 2 * np.pi * np.arange(count) / count
    points = np.array(radii)[:, None] * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return Outline(points + np.array([40.0, 20.0]), bulges)


@settings(max_examples=80, deadline=None)
@given(outlines())
def test_chain_data_draws_the_outline_itself(outline):
    points = sampled(chain_data(outline))
    assert distance_to(outline, points).max() < 2e-5
    # And all of it: each vertex and each arc's own middle is reached.
    chords = outline_points(outline, 0.01)
    reached = np.hypot(*(chords[:, None] - points[None]).transpose(2, 0, 1)).min(axis=1)
    assert reached.max() < 0.7 * max(1.0, np.abs(outline.points).max() / 10)


@settings(max_examples=60, deadline=None)
@given(st.floats(-1e8, 1e8, allow_nan=False))
def test_numbers_are_short_fixed_and_within_half_a_nanometre(value):
    text = number(value)
    assert re.fullmatch(r"-?\d+(\.\d{0,5}[1-9])?", text)
    assert text != "-0"
    assert abs(float(text) - value) <= 0.5e-6 + abs(value) * 1e-15


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.floats(-1e6, 1e6)] * 2), max_size=20))
def test_many_rows_say_what_single_numbers_say(values):
    table = np.array(values).reshape(-1, 2)
    expected = "".join(
        f"{number(round(x, 6))},{number(round(y, 6))};" for x, y in np.round(table, 6).tolist()
    )
    assert "".join(rows("%s,%s;", table)) == expected


def test_small_and_negative_numbers_have_no_exponent_and_no_minus_zero():
    text = "".join(rows("%s ", np.array([[1e-5], [-1e-9], [-0.0], [123456.789], [2.5e-7]])))
    assert text.split() == ["0.00001", "0", "0", "123456.789", "0"]


def test_the_page_is_in_millimetres():
    root = tree_of(drawing_of())
    assert root.get("width") == "100mm"
    assert root.get("height") == "50mm"
    assert root.get("viewBox") == "0 0 100 50"
    assert root.findtext(SVG + "title") == "A & B"


def test_a_layer_is_flat_with_one_element_an_outline_in_order():
    ring = Outline(circle(4.0).points + np.array([30.0, 10.0]), circle(4.0).bulges)
    root = tree_of(
        drawing_of(
            Circles(np.array([[10.0, 10.0], [20.0, 10.5]]), np.array([2.0, 1.5]), CUT),
            Chains((ring,), CUT),
        )
    )
    (group,) = root.findall(SVG + "g")
    assert group.get("id") == "cut"
    assert group.get("transform") is None
    assert [child.tag.removeprefix(SVG) for child in group] == ["circle", "circle", "path"]
    assert dict(group[1].attrib) == {"cx": "20", "cy": "10.5", "r": "1.5"}
    assert group.get("stroke") == "#ff0000"
    assert group.get("fill") == "none"


def test_styles_that_differ_stand_on_each_element():
    other = Style(fill="#00ff00", opacity=0.5)
    root = tree_of(
        drawing_of(
            Circles(np.zeros((1, 2)), np.ones(1), CUT), Circles(np.zeros((1, 2)), np.ones(1), other)
        )
    )
    group = root.find(SVG + "g")
    assert group.get("fill") is None
    assert group[1].get("fill") == "#00ff00"
    assert group[1].get("fill-opacity") == "0.5"
    assert group[1].get("stroke") is None


def test_words_are_not_stroked_by_their_layer_and_are_escaped():
    root = tree_of(
        drawing_of(
            Lines((np.array([[0.0, 0.0], [1.0, 1.0]]),), CUT),
            Words(5.0, 6.0, "a<b\x00 & c", angle_deg=90.0, anchor="middle", bold=True),
        )
    )
    text = root.find(f"{SVG}g/{SVG}text")
    assert text.text == "a<b  & c"
    assert text.get("stroke") == "none"
    assert text.get("transform") == "rotate(90 5 6)"
    assert text.get("text-anchor") == "middle"


def test_curves_and_closed_lines():
    chain = np.array([[[0.0, 0.0], [1.0, 0.0], [2.0, 1.0], [2.0, 2.0]]])
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]])
    root = tree_of(
        drawing_of(
            Curves((chain, chain + 5), CUT, fill_rule="evenodd"), Lines((square,), CUT, closed=True)
        )
    )
    first, second = root.find(SVG + "g")
    assert first.get("d") == "M 0 0 C 1 0 2 1 2 2 Z M 5 5 C 6 5 7 6 7 7 Z"
    assert first.get("fill-rule") == "evenodd"
    assert second.get("d") == "M 0 0 L 1 0 L 1 1 Z"


def test_instances_are_defined_once_and_used_at_their_turns():
    small = (Circles(np.zeros((1, 2)), np.ones(1), CUT),)
    xy = np.array([[1.0, 2.0], [3.0, 4.0]])
    root = tree_of(
        drawing_of(
            Instances("plain", small, xy, np.zeros(2)),
            Instances("turned", small, xy, np.array([0.0, 30.0])),
        )
    )
    assert [g.get("id") for g in root.find(SVG + "defs")] == ["plain", "turned"]
    uses = root.find(SVG + "g").findall(SVG + "use")
    href = "{http://www.w3.org/1999/xlink}href"
    assert [use.get(href) for use in uses] == ["#plain"] * 2 + ["#turned"] * 2
    assert (uses[0].get("x"), uses[0].get("y")) == ("1", "2")
    assert uses[3].get("transform") == "translate(3 4) rotate(30)"


def test_a_picture_and_a_background():
    root = tree_of(drawing_of(Picture(b"PNG", 1.0, 2.0, 3.0, 4.0), background="#223344"))
    assert root.find(SVG + "rect").get("fill") == "#223344"
    assert root.find(f"{SVG}g/{SVG}image").get("width") == "3"


def test_two_layers_of_one_id_are_refused():
    with pytest.raises(ValueError, match="cut"):
        svg_bytes(Drawing(1.0, 1.0, (Layer("cut"), Layer("cut"))))


def test_an_empty_drawing_and_empty_items_are_drawn():
    nothing = np.zeros((0, 2))
    root = tree_of(
        drawing_of(
            Circles(nothing, np.zeros(0), CUT),
            Chains((), CUT),
            Curves((), CUT),
            Instances("none", (), nothing, np.zeros(0)),
        )
    )
    assert len(root.find(SVG + "g")) == 0


def test_equal_drawings_are_equal_bytes():
    def build() -> Drawing:
        return drawing_of(Circles(np.array([[1 / 3, 2 / 3]]), np.array([0.1 + 0.2]), CUT))

    assert svg_bytes(build()) == svg_bytes(build())
