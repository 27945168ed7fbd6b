"""PDF: pages at true size, coordinates and colours as drawn, small pictures stored once."""

import re
from io import BytesIO
from typing import Any

import numpy as np
import pypdf
import pytest
from PIL import Image

from embellish.geometry.outlines import Outline, circle
from embellish.outputs.drawing.arcs import arc_beziers, beziers
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
from embellish.outputs.drawing.pdf import pdf_bytes

PT = 72 / 25.4
PEN = Style(stroke="#ff0000", stroke_width_mm=0.1)


def read(*items: Item, background: str | None = None) -> Any:
    drawing = Drawing(100.0, 50.0, (Layer("all", items),), title="Müller", background=background)
    return pypdf.PdfReader(BytesIO(pdf_bytes([drawing])))


def operators(reader: Any) -> list[tuple[list[float], str]]:
    text = reader.pages[0].get_contents().get_data().decode("latin-1")
    found, numbers = [], []
    for word in text.split():
        if re.fullmatch(r"-?\d*\.?\d+", word):
            numbers.append(float(word))
        else:
            found.append((numbers, word))
            numbers = []
    return found


def test_pages_have_the_size_of_their_drawings():
    data = pdf_bytes([Drawing(100.0, 50.0, ()), Drawing(210.0, 297.0, ())])
    reader: Any = pypdf.PdfReader(BytesIO(data))
    sizes = [[float(page.mediabox.width), float(page.mediabox.height)] for page in reader.pages]
    assert np.array(sizes) / PT == pytest.approx(np.array([[100, 50], [210, 297]]), abs=1e-3)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_y_runs_up_on_the_page():
    triangle = np.array([[10.0, 5.0], [20.0, 5.0], [20.0, 45.0]])
    reader = read(Lines((triangle,), PEN, closed=True))
    moves = [numbers for numbers, name in operators(reader) if name in {"m", "l"}]
    page = np.array(moves) / PT
    assert page == pytest.approx(triangle * [1, -1] + [0, 50], abs=1e-6)


def test_circles_stay_round_within_a_ten_thousandth():
    reader = read(Circles(np.array([[20.0, 20.0], [60.0, 20.0]]), np.array([15.0, 15.0]), PEN))
    ops = operators(reader)
    assert [name for _, name in ops].count("S") == 2
    here, centre, far = np.zeros(2), np.zeros(2), 0.0
    for numbers, name in ops:
        if name == "m":
            here = np.array(numbers)
            centre = np.array([here[0] / PT - 15.0, 30.0])
            assert np.abs(centre[0] - [20.0, 60.0]).min() < 1e-6
        elif name == "c":
            p = np.vstack([here, np.array(numbers).reshape(3, 2)])
            t = np.linspace(0, 1, 15)[:, None]
            b = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1]
            b = (b + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]) / PT
            here = p[3]
            far = max(far, float(np.abs(np.hypot(*(b - centre).T) - 15.0).max()))
    assert 0.0 < far < 1e-4


@pytest.mark.parametrize("bulge", [0.0, 0.3, -0.8, 1.0, 4.0])
def test_arcs_as_beziers_keep_to_their_circle(bulge):
    outline = Outline(np.array([[0.0, 0.0], [30.0, 0.0], [15.0, 40.0]]), np.array([bulge, 0, 0]))
    chain = beziers(outline, 5e-5)
    assert chain[1:, 0] == pytest.approx(chain[:-1, 3], abs=1e-9)
    assert chain[-1, 3] == pytest.approx(np.zeros(2))
    if bulge == 0.0:
        return
    angle = 4 * np.arctan(bulge)
    z = 30.0 / (1 - np.exp(1j * angle))
    t = np.linspace(0, 1, 9)[:, None, None]
    points = (1 - t) ** 3 * chain[:, 0] + 3 * (1 - t) ** 2 * t * chain[:, 1]
    points = points + 3 * (1 - t) * t**2 * chain[:, 2] + t**3 * chain[:, 3]
    curved = points[:, :-2].reshape(-1, 2)
    off = np.hypot(curved[:, 0] - z.real, curved[:, 1] - z.imag) - abs(z)
    assert np.abs(off).max() < 1e-4


def test_a_tiny_tolerance_takes_more_segments():
    coarse = arc_beziers(np.array([10.0, 0.0]), np.pi, 1e-2)
    fine = arc_beziers(np.array([10.0, 0.0]), np.pi, 1e-6)
    assert len(fine) > len(coarse)


def test_small_pictures_are_stored_once_with_their_see_through_states():
    dot = (Circles(np.zeros((1, 2)), np.ones(1), Style(fill="#00ff00", opacity=0.5)),)
    xy = np.array([[10.0, 10.0], [20.0, 10.0], [30.0, 10.0]])
    reader = read(Instances("dot", dot, xy, np.array([0.0, 0.0, 30.0])))
    (form,) = reader.pages[0]["/Resources"]["/XObject"].values()
    states = form.get_object()["/Resources"]["/ExtGState"]
    assert [float(state["/ca"]) for state in states.values()] == [0.5]
    assert reader.pages[0].get_contents().get_data().count(b" Do") == 3


def test_words_can_be_read_and_fill_rules_are_kept():
    chain = np.array([[[0.0, 0.0], [1.0, 0.0], [2.0, 1.0], [2.0, 2.0]]])
    reader = read(
        Words(10.0, 10.0, "Größe 2.5 × 4 mm", angle_deg=30.0, anchor="end", bold=True),
        Curves((chain,), Style(fill="#112233"), fill_rule="evenodd"),
        Curves((chain,), Style(fill="#112233", stroke="#000000")),
        Curves((chain,), PEN, closed=False),
    )
    assert "Größe 2.5 × 4 mm" in reader.pages[0].extract_text()
    names = [name for _, name in operators(reader)]
    assert "f*" in names
    assert "B" in names
    assert reader.metadata.title == "Müller"


def test_a_picture_chains_and_a_background():
    file = BytesIO()
    Image.new("RGBA", (3, 3), (9, 9, 9, 100)).save(file, format="PNG")
    ring = Outline(circle(4.0).points + 20.0, circle(4.0).bulges)
    dashed = Style(stroke="#000000", dash_mm=(1.0, 2.0))
    reader = read(
        Picture(file.getvalue(), 1.0, 2.0, 3.0, 4.0), Chains((ring,), dashed), background="#8090a0"
    )
    assert len(reader.pages[0].images) == 1
    assert b"[2.834646 5.669291] 0 d" in reader.pages[0].get_contents().get_data()


def test_equal_drawings_are_equal_bytes_and_no_page_is_refused():
    drawing = Drawing(10.0, 10.0, (Layer("a", (Words(1.0, 5.0, "a"),)),))
    assert pdf_bytes([drawing]) == pdf_bytes([drawing])
    with pytest.raises(ValueError, match="page"):
        pdf_bytes([])
