"""Drawing formats as programs outside the project read them: sizes, places, outlines, colours.

A CSS inch is 96 px and 25.4 mm (CSS Values and Units 3, 6.2), a PDF unit 1/72 in (ISO 32000-1,
8.3.2.3), a plotter unit 0.025 mm (HP-GL/2), $INSUNITS 4 millimetres (DXF reference, header).
"""

from __future__ import annotations

import io
import re
from typing import Any

import ezdxf
import ezdxf.path
import numpy as np
import pypdf
import pytest
import resvg_py
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from embellish.geometry.outlines import Outline, circle, placed, sampled
from embellish.outputs.colours import PALETTE
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Style,
)
from embellish.outputs.drawing.dxf import dxf_bytes
from embellish.outputs.drawing.hpgl import Plotter, hpgl_bytes
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.drawing.png import png_bytes
from embellish.outputs.drawing.svg import svg_bytes

SOLID = Style(fill="#000000")
CUT = Style(stroke="#ff0000", stroke_width_mm=0.1)
SQUARE = np.array([[20.0, 10.0], [120.0, 10.0], [120.0, 110.0], [20.0, 110.0]])
STADIUM = placed(
    Outline(
        np.array([[-6.0, -3.0], [6.0, -3.0], [6.0, 3.0], [-6.0, 3.0]]), np.array([0.0, 1.0, 0, 1])
    ),
    60.0,
    40.0,
    33.0,
)


def drawing_of(*items: Item) -> Drawing:
    return Drawing(140.0, 130.0, (Layer("cut", items),))


def ink(png: bytes) -> Any:
    return 1.0 - np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float) / 255.0


def rendered(drawing: Drawing, dpi: float) -> Any:
    text = svg_bytes(drawing).decode()
    return ink(bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=dpi, background="#ffffff")))


@pytest.mark.parametrize("dpi", [254.0, 127.0, 508.0])
def test_a_hundred_millimetres_of_svg_are_as_many_pixels_as_the_resolution_says(dpi):
    """resvg, a renderer of its own, at a resolution of whole pixels a millimetre."""
    share = rendered(drawing_of(Lines((SQUARE,), SOLID, closed=True)), dpi)
    px = dpi / 25.4
    assert share.shape == (round(130 * px), round(140 * px))
    columns, rows = (np.flatnonzero(share.max(axis=axis) > 0.5) for axis in (0, 1))
    assert [columns[0], columns[-1] + 1] == pytest.approx([20 * px, 120 * px])
    assert [rows[0], rows[-1] + 1] == pytest.approx([10 * px, 110 * px])


def test_our_own_picture_agrees_with_the_renderer():
    flag = (
        Lines((np.array([[0.0, -1.0], [9.0, -1.0], [9.0, 1.0], [0.0, 1.0]]),), SOLID, closed=True),
    )
    places = np.array([[100.0, 80.0], [30.0, 90.0]])
    drawing = drawing_of(
        Circles(np.array([[30.0, 30.0]]), np.array([12.0]), SOLID),
        Chains((STADIUM,), SOLID),
        Instances("flag", flag, places, np.array([20.0, 290.0])),
    )
    theirs, ours = rendered(drawing, 254.0), ink(png_bytes(drawing, 10.0))
    assert theirs.shape == ours.shape
    # Only pixels on an edge may differ, and those by less than half.
    assert np.abs(theirs - ours).max() < 0.6
    assert np.abs(theirs - ours).mean() < 0.001


def test_arcs_of_a_path_fill_what_the_formula_says():
    """A stadium of radius 3 and length 12 has 12·6 + 9π mm²."""
    share = rendered(drawing_of(Chains((STADIUM,), SOLID)), 508.0)
    assert share.sum() / 400.0 == pytest.approx(72.0 + 9.0 * np.pi, rel=1e-3)


def test_pdf_coordinates_in_points():
    drawing = Drawing(210.0, 297.0, (Layer("a", (Lines((SQUARE,), CUT, closed=True),)),))
    page: Any = pypdf.PdfReader(io.BytesIO(pdf_bytes([drawing]))).pages[0]
    a4 = pypdf.PaperSize.A4
    # ISO 216, 210 × 297 mm; pypdf keeps whole points.
    assert float(page.mediabox.width) == pytest.approx(a4.width, abs=0.5)
    assert float(page.mediabox.height) == pytest.approx(a4.height, abs=0.5)
    spots: list[list[float]] = []

    def see(operator: bytes, operands: list[Any], _cm: Any, _tm: Any) -> None:
        if operator in {b"m", b"l"}:
            spots.append([float(operand) for operand in operands])

    page.extract_text(visitor_operand_before=see)
    assert np.array(spots) * 25.4 / 72 == pytest.approx(SQUARE * [1, -1] + [0, 297], abs=1e-4)


@st.composite
def slots(draw: st.DrawFn) -> Outline:
    """Boxes with two ends of any bulge, somewhere on the page, at any turn."""
    long, high = draw(st.floats(1.0, 12.0)), draw(st.floats(0.8, 6.0))
    bulge = draw(st.floats(0.0, 1.0))
    corners = np.array([[-long, -high], [long, -high], [long, high], [-long, high]])
    outline = Outline(corners, np.array([0.0, bulge, 0.0, bulge]))
    return placed(
        outline, draw(st.floats(40, 90)), draw(st.floats(40, 90)), draw(st.floats(0, 360))
    )


def furthest(points: Any, ring: Any) -> float:
    """How far points stray from a ring of straight sides."""
    ends = np.roll(ring, -1, axis=0)
    along = ends - ring
    t = ((points[:, None] - ring) * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-12)
    foot = ring + np.clip(t, 0, 1)[:, :, None] * along
    return float(np.hypot(*(foot - points[:, None]).transpose(2, 0, 1)).min(axis=1).max())


@settings(max_examples=20, deadline=None)
@given(slots())
def test_dxf_outlines_are_ours_to_a_hundredth_of_a_millimetre(outline):
    """ezdxf makes its own arcs of the bulges."""
    data = dxf_bytes(drawing_of(Chains((outline,), CUT)))
    document = ezdxf.read(io.StringIO(data.decode()))  # type: ignore[attr-defined]  # untyped
    assert document.header["$INSUNITS"] == 4
    (entity,) = document.modelspace()
    path = ezdxf.path.make_path(entity)
    theirs = np.array([[p.x, 130.0 - p.y] for p in path.flattening(0.0005)])
    ours = sampled(outline, 0.0005)
    assert furthest(theirs, ours) < 0.01
    assert furthest(ours, theirs) < 0.01


@settings(max_examples=20, deadline=None)
@given(slots())
def test_hpgl_coordinates_are_ours_to_half_a_plotter_unit(outline):
    data = hpgl_bytes(drawing_of(Chains((outline,), CUT)), Plotter(chord_tolerance_mm=0.001))
    found = re.search(r"PU(-?\d+,-?\d+);PD([-\d,]+);", data.decode())
    assert found is not None
    units = np.array([int(word) for word in f"{found[1]},{found[2]}".split(",")]).reshape(-1, 2)
    theirs = units * [0.025, -0.025] + [0, 130.0]
    # Half a unit each way, and twice the chords' own tolerance.
    assert furthest(theirs, sampled(outline, 0.001)) <= 0.0125 * np.sqrt(2) + 0.002


def test_hpgl_circles_keep_centre_and_radius():
    ring = Circles(np.array([[33.333, 44.444]]), np.array([1.52]), CUT)
    found = re.search(r"PU(\d+),(\d+);CI(\d+);", hpgl_bytes(drawing_of(ring)).decode())
    assert found is not None
    x, y, radius = (int(word) * 0.025 for word in found.groups())
    assert [x, 130.0 - y, radius] == pytest.approx([33.333, 44.444, 1.52], abs=0.0125)


def test_a_circle_as_a_path_is_a_circle_to_the_renderer():
    path = placed(circle(24.0), 30.0, 30.0)
    one = rendered(drawing_of(Chains((path,), SOLID)), 254.0)
    other = rendered(drawing_of(Circles(np.array([[30.0, 30.0]]), np.array([12.0]), SOLID)), 254.0)
    assert np.abs(one - other).max() < 0.02


def test_a_picture_tells_its_resolution_in_pixels_a_metre():
    """PNG specification, 11.3.4.3 (pHYs)."""
    data = png_bytes(drawing_of(), 8.0)
    at = data.index(b"pHYs") + 4
    assert int.from_bytes(data[at : at + 4]) == pytest.approx(8000, abs=1)
    assert data[at + 8] == 1


def test_the_palette_is_the_published_one():
    """Okabe & Ito 2002/2008, "Color Universal Design", jfly.uni-koeln.de/color."""
    published = {
        "#000000",
        "#e69f00",
        "#56b4e9",
        "#009e73",
        "#f0e442",
        "#0072b2",
        "#d55e00",
        "#cc79a7",
    }
    assert set(PALETTE) == published
