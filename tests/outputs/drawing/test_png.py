"""PNG: what is drawn covers the pixels its millimetres say."""

import math
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from embellish.geometry.outlines import Outline, circle
from embellish.outputs.drawing.arcs import circle_ring
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
    Stamps,
    Style,
    Words,
)
from embellish.outputs.drawing.fonts import drawable, text_width_mm
from embellish.outputs.drawing.png import MAX_PX, png_bytes, scale_within
from embellish.outputs.drawing.raster import dashed, fill, stroke

BLACK = Style(fill="#000000")


def ink(*items: Item, px: float = 10.0, width: float = 30.0) -> Any:
    """Share of black of each pixel, shape (height, width)."""
    drawing = Drawing(width, 20.0, (Layer("all", items),))
    image = Image.open(BytesIO(png_bytes(drawing, px))).convert("L")
    return 1.0 - np.asarray(image, dtype=float) / 255.0


def middle_mm(share: Any, px: float = 10.0) -> Any:
    y, x = np.indices(share.shape) + 0.5
    return np.array([(share * x).sum(), (share * y).sum()]) / share.sum() / px


@settings(max_examples=25, deadline=None)
@given(st.floats(5, 25), st.floats(6, 14), st.floats(0.6, 5.0))
def test_a_disk_has_its_area_and_middle(x, y, radius):
    share = ink(Circles(np.array([[x, y]]), np.array([radius]), BLACK))
    assert share.sum() / 100.0 == pytest.approx(np.pi * radius**2, rel=0.04)
    assert np.abs(middle_mm(share) - [x, y]).max() < 0.02


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 360), st.floats(8, 20), st.floats(8, 12))
def test_a_turned_sprite_lies_where_its_turn_says(angle, x, y):
    """A flag off the origin: its middle goes round clockwise as seen, y down."""
    flag = np.array([[2.0, -0.5], [4.0, -0.5], [4.0, 0.5], [2.0, 0.5]])
    stamps = Instances(
        "flag", (Lines((flag,), BLACK, closed=True),), np.array([[x, y]]), np.array([angle])
    )
    share = ink(stamps)
    turn = np.radians(angle)
    assert share.sum() / 100.0 == pytest.approx(2.0, rel=0.03)
    assert middle_mm(share) == pytest.approx([x + 3 * np.cos(turn), y + 3 * np.sin(turn)], abs=0.05)


def test_a_chain_fills_as_a_circle_does():
    ring = Outline(circle(8.0).points + np.array([15.0, 10.0]), circle(8.0).bulges)
    round_one = ink(Circles(np.array([[15.0, 10.0]]), np.array([4.0]), BLACK))
    assert np.abs(ink(Chains((ring,), BLACK)) - round_one).max() < 0.3


def test_fill_rules_differ_on_a_ring_within_a_ring():
    def square(half: float) -> Any:
        corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
        corners = corners + np.array([15, 10])
        ends = np.roll(corners, -1, axis=0)
        return np.stack([corners + (ends - corners) * t for t in (0, 1 / 3, 2 / 3, 1)], axis=1)

    both = (square(4.0), square(2.0))
    assert ink(Curves(both, BLACK)).sum() / 100 == pytest.approx(64.0, rel=0.01)
    holed = ink(Curves(both, BLACK, fill_rule="evenodd"))
    assert holed.sum() / 100 == pytest.approx(48.0, rel=0.01)
    assert holed[100, 150] == 0.0
    turned = (both[0], both[1][::-1, ::-1])
    assert ink(Curves(turned, BLACK)).sum() / 100 == pytest.approx(48.0, rel=0.01)


def test_a_curve_is_smooth_and_where_it_should_be():
    k = 4 / 3 * np.tan(np.pi / 8)
    quarter = np.array([[1, 0], [1, k], [k, 1], [0, 1]])
    turn = np.array([[0, 1], [-1, 0]])
    chain = np.stack([quarter @ np.linalg.matrix_power(turn, i) for i in range(4)]) * 5 + [15, 10]
    assert ink(Curves((chain,), BLACK)).sum() / 100 == pytest.approx(25 * np.pi, rel=0.01)


def test_strokes_have_their_width_and_dashes_their_share():
    line = np.array([[5.0, 10.0], [25.0, 10.0]])
    pen = Style(stroke="#000000", stroke_width_mm=1.0)
    assert ink(Lines((line,), pen)).sum() / 100 == pytest.approx(20.0 + np.pi / 4, rel=0.02)
    cuts = dashed(line, (2.0, 1.0), closed=False)
    assert [float(cut[-1, 0] - cut[0, 0]) for cut in cuts] == pytest.approx([2.0] * 7)


def test_see_through_is_the_share_it_says():
    share = ink(
        Circles(np.array([[15.0, 10.0]]), np.array([6.0]), Style(fill="#000000", opacity=0.4))
    )
    assert share[100, 150] == pytest.approx(0.4, abs=0.01)


def test_a_tiled_fill_has_no_seams():
    big = np.array([[1.0, 1.0], [119.0, 1.0], [119.0, 19.0], [1.0, 19.0]])
    share = ink(Lines((big,), BLACK, closed=True), width=120.0)
    assert share[12:188, 12:1188].min() == 1.0


@pytest.mark.parametrize("opacity", [1.0, 0.5])
@pytest.mark.parametrize("rule", ["nonzero", "evenodd"])
def test_large_shapes_are_covered_and_bare_far_from_their_edges(rule, opacity):
    image = Image.new("RGB", (1500, 1400), "#ffffff")
    rings = [circle_ring(740.0, 690.0, radius, 0.05) for radius in (680.0, 400.0)]
    fill(image, rings, "#000000", opacity, rule)
    y, x = np.mgrid[0:1400, 0:1500] + 0.5
    away = np.hypot(x - 740.0, y - 690.0)
    painted = np.asarray(image)[..., 0]
    dark = round(255 * (1.0 - opacity))
    inside = away < 680.0 if rule == "nonzero" else (away < 680.0) & (away > 400.0)
    clear = (np.abs(away - 680.0) > 1.5) & (np.abs(away - 400.0) > 1.5)
    assert np.abs(painted[clear & inside].astype(int) - dark).max() <= 1
    assert (painted[clear & ~inside] == 255).all()


def test_a_line_across_many_tiles_is_whole_and_leaves_the_rest_bare():
    image = Image.new("RGB", (1200, 1100), "#ffffff")
    line = np.array([[20.0, 30.0], [1150.0, 1040.0]])
    stroke(image, [line, np.array([[900.0, 100.0]])], 6.0, "#000000", 1.0, closed=False)
    ink = 1.0 - np.asarray(image)[..., 0] / 255.0
    dot = float(ink[80:120, 880:920].sum())
    length = math.hypot(1130.0, 1010.0)
    assert dot == pytest.approx(math.pi * 9.0, rel=0.1)
    assert float(ink.sum()) - dot == pytest.approx(6.0 * length + math.pi * 9.0, rel=0.05)


def test_stamps_paint_in_the_order_given():
    def disk(colour: str) -> tuple[Circles]:
        return (Circles(np.zeros((1, 2)), np.array([3.0]), Style(fill=colour)),)

    stamps = Stamps(
        "s",
        (disk("#000000"), disk("#ffffff")),
        np.array([1, 0, 1]),
        np.array([[13.0, 10.0], [15.0, 10.0], [17.0, 10.0]]),
        np.zeros(3),
    )
    share = ink(stamps)
    assert share[100, 130] == 1.0, "the second lies over the first"
    assert share[100, 160] == 0.0, "the third lies over the second"


def test_words_stand_on_their_baseline_at_their_height():
    share = ink(Words(5.0, 15.0, "HHH", height_mm=5.0), width=60.0)
    rows_inked = np.flatnonzero(share.max(axis=1) > 0.5)
    assert rows_inked[0] / 10 == pytest.approx(10.0, abs=0.15)
    assert (rows_inked[-1] + 1) / 10 == pytest.approx(15.0, abs=0.15)
    columns = np.flatnonzero(share.max(axis=0) > 0.5)
    assert columns[-1] / 10 - 5.0 < text_width_mm("HHH", 5.0)
    turned = ink(Words(15.0, 3.0, "HHH", height_mm=2.0, angle_deg=90.0))
    assert middle_mm(turned) == pytest.approx([16.0, 3.0 + text_width_mm("HHH", 2.0) / 2], abs=0.3)


def test_letters_the_font_lacks_are_replaced_not_lost():
    assert drawable("Müller ×½") == "Müller ×½"
    assert drawable("ő漢\n") == "o? "


def test_a_picture_fills_its_rectangle():
    file = BytesIO()
    Image.new("RGB", (4, 4), (0, 0, 0)).save(file, format="PNG")
    share = ink(Picture(file.getvalue(), 5.0, 5.0, 10.0, 4.0, opacity=0.5))
    assert share.sum() / 100 == pytest.approx(20.0, rel=0.02)


def test_the_size_is_capped_and_the_resolution_kept():
    assert scale_within(10_000.0, 10_000.0, 40.0) ** 2 * 1e8 <= MAX_PX * 1.0001
    assert scale_within(100.0, 50.0, 8.0) == 8.0
    image = Image.open(BytesIO(png_bytes(Drawing(50.0, 30.0, ()), 8.0)))
    assert image.size == (400, 240)
    assert image.info["dpi"][0] == pytest.approx(8 * 25.4, rel=1e-3)


def test_equal_drawings_are_equal_bytes():
    drawing = Drawing(
        9.0, 9.0, (Layer("a", (Circles(np.array([[4.0, 4.1]]), np.array([2.0]), BLACK),)),)
    )
    assert png_bytes(drawing, 7.3) == png_bytes(drawing, 7.3)
