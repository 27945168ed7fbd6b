from __future__ import annotations

import io
import json
import math
import re
from typing import Any

import numpy as np
import pypdf
import pytest
from lxml import etree
from scipy.spatial import cKDTree

from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import Words
from embellish.outputs.paper import SIZES_MM
from embellish.outputs.template_drawing import sheet_drawing
from embellish.outputs.templates import template_files, template_losses
from embellish.plans.cut_sheets import plan_sheets
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import TemplatePlan, plan_templates
from embellish.plans.title import TitleBlock
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16, lattice, layout_of

SVG = "{http://www.w3.org/2000/svg}"
TITLE = TitleBlock("Invented moth", "A", "3fa9c1")
MIX = [SS10_CLEAR, SS10_RED, SS16, SS6]


def layers(svg: bytes) -> tuple[Any, dict[str, Any]]:
    root = etree.fromstring(svg)
    return root, {str(each.get("id")): each for each in root if each.tag == f"{SVG}g"}


def files_of(layout: Layout, stop: str = "", **asked: Any) -> tuple[TemplatePlan, dict[str, bytes]]:
    plan = plan_templates(layout, TemplateSettings(**asked), 24, TITLE)
    title = TitleBlock("Invented moth", "A", "3fa9c1", stop=stop)
    return plan, template_files(plan, title)


@pytest.mark.parametrize("back", [False, True])
@pytest.mark.parametrize("sheet", [None, (110.0, 90.0)])
def test_circles_are_the_seats_in_order_at_their_size(back, sheet):
    layout = lattice(MIX, 16, 12, 6.0, (0, 1, 2, 3, 0))
    _, files = files_of(layout, cut_from="back" if back else "front", sheet=sheet)
    facts = json.loads(files["templates/templates.json"])
    assert (facts["format"], facts["version"]) == ("embellish-templates", 1)
    held = []
    clearance = {"SS10-CLEAR": 0.3, "SS10-RED": 0.3, "SS16-A": 0.4, "SS6-A": 0.3}
    for template in facts["templates"]:
        assert template["lifts"] == 24
        for part in template["parts"]:
            root, named = layers(files[f"templates/{part['file']}"])
            width, height = root.get("viewBox").split()[2:]
            assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
            holes = list(named[part["layer"]])
            assert [hole.tag for hole in holes] == [f"{SVG}circle"] * len(part["seats"])
            a, b, c, d, e, f = part["to_template"]
            assert part["mirrored"] == back == (a * d - b * c < 0)
            for hole, row in zip(holes, part["seats"], strict=True):
                piece = layout.pieces[layout.piece[row]]
                x, y = layout.xy[row].tolist()
                assert float(hole.get("cx")) == pytest.approx(a * x + c * y + e, abs=2e-6)
                assert float(hole.get("cy")) == pytest.approx(b * x + d * y + f, abs=2e-6)
                wide = (piece.length_mm.max + clearance[piece.code]) / 2
                assert float(hole.get("r")) == pytest.approx(wide, abs=1e-6)
            held += part["seats"]
    assert sorted(held) == list(range(len(layout)))


def test_layers_are_flat_and_hold_what_they_say():
    _, files = files_of(lattice(MIX, 8, 8, 6.0, (0, 1, 2, 3)))
    for name, content in files.items():
        if not name.endswith(".svg"):
            continue
        root, named = layers(content)
        assert list(named) == ["cut", "trim", "register", "label"]
        assert all(each.get("transform") is None for each in named.values())
        assert not [each for each in root.iter(f"{SVG}g") if each.getparent() is not root]
        assert {each.tag for each in named["cut"]} == {f"{SVG}circle"}
        assert len(named["trim"]) == 1
        assert len(named["register"]) == 3
        text = " ".join(each.text for each in named["label"].iter(f"{SVG}text"))
        assert "Invented moth" in text
        assert "layout 3fa9c1" in text
        assert "NOT MIRRORED" in text
        assert "UP" in text


def test_words_stand_outside_the_holes():
    _, files = files_of(lattice(MIX, 8, 8, 6.0, (0, 1, 2, 3)))
    _, named = layers(files["templates/template-1.svg"])
    lowest = max(float(hole.get("cy")) + float(hole.get("r")) for hole in named["cut"])
    words = list(named["label"].iter(f"{SVG}text"))
    assert words
    for word in words:
        capitals = float(word.get("font-size"))
        assert float(word.get("y")) - capitals > lowest


def test_shaped_holes_are_closed_paths_in_seat_order():
    layout = layout_of(
        [SS16, NAVETTE],
        [(0.0, 0.0), (12.0, 0.0), (24.0, 0.0), (36.0, 0.0)],
        [0, 1, 0, 1],
        angle=[0.0, 30.0, 0.0, 0.0],
    )
    _, files = files_of(layout, group="one", clearance_mm=0.4)
    _, named = layers(files["templates/all.svg"])
    kinds = [etree.QName(hole).localname for hole in named["cut"]]
    assert kinds == ["circle", "path", "circle", "path"]
    for hole in named["cut"].iter(f"{SVG}path"):
        assert re.fullmatch(r"M [-\d. ]+( [LA] [-\d. ]+)+ Z", hole.get("d"))
    # The unturned navette: 8 × 4 mm at most, 0.2 mm further out all around.
    numbers = [float(each) for each in re.findall(r"-?\d+\.?\d*", named["cut"][3].get("d"))]
    assert len(numbers) > 8


def test_circles_become_arcs_on_request():
    _, files = files_of(lattice([SS16], 3, 3, 6.0), circles_as="arcs")
    _, named = layers(files["templates/template-1.svg"])
    assert [etree.QName(hole).localname for hole in named["cut"]] == ["path"] * 9
    assert all(" A " in hole.get("d") for hole in named["cut"])


def test_a_stop_is_stamped_outside_the_cut_layer():
    _, files = files_of(lattice([SS16], 3, 3, 6.0), stop="NOT TO BE CUT")
    _, named = layers(files["templates/template-1.svg"])
    assert named["stop"][0].text == "NOT TO BE CUT"
    assert len(named["cut"]) == 9


def test_dxf_read_by_another_library_is_true():
    ezdxf = pytest.importorskip("ezdxf")
    plan, files = files_of(lattice([SS16, SS6], 6, 5, 6.0, (0, 1)), formats=("dxf",), group="one")
    document = ezdxf.read(io.StringIO(files["templates/all.dxf"].decode()))
    assert document.header["$INSUNITS"] == 4
    (part,) = plan.templates[0].parts
    holes = document.modelspace().query('CIRCLE[layer=="cut"]')
    found = np.array([[hole.dxf.center.x, hole.dxf.center.y, hole.dxf.radius] for hole in holes])
    wanted = np.column_stack([part.holes.xy, part.holes.radius_mm])
    wanted[:, 1] = part.height_mm - wanted[:, 1]
    np.testing.assert_allclose(found, wanted, atol=1e-5)


def test_plotter_file_cuts_holes_before_the_edge_and_within_its_grid():
    plan, files = files_of(lattice([SS16, SS6], 6, 5, 6.0, (0, 1)), formats=("plt",), group="one")
    (part,) = plan.templates[0].parts
    text = files["templates/all.plt"].decode()
    circles = re.findall(r"PU(-?\d+),(-?\d+);CI(\d+)", text)
    found = np.array(circles, dtype=float) * 0.025
    wanted = np.column_stack([part.holes.xy, part.holes.radius_mm])
    wanted[:, 1] = part.height_mm - wanted[:, 1]
    np.testing.assert_allclose(found[: len(wanted)], wanted, atol=0.0125 + 1e-9)
    assert text.index("SP1;") < text.index("SP3;")
    assert len(found) == len(wanted) + 3


def test_blade_offset_goes_to_the_plotter_file_alone():
    layout = lattice([SS16], 3, 3, 6.0)
    _, plain = files_of(layout, formats=("plt", "dxf"))
    _, knife = files_of(layout, formats=("plt", "dxf"), blade_offset_mm=0.25)
    for name in plain:
        assert (plain[name] != knife[name]) == name.endswith(".plt"), name


def red_circles(page: Any) -> np.ndarray:
    """Centres and radii in mm, y down, of the circles in the cut colour on a page of a PDF."""
    numbers: list[float] = []
    spots: list[list[float]] = []
    found, red = [], False
    for word in page.get_contents().get_data().decode("latin-1").split():
        if re.fullmatch(r"-?\d*\.?\d+", word):
            numbers.append(float(word))
            continue
        if word == "RG":
            red = numbers == [1, 0, 0]
        elif word in ("m", "c"):
            spots = [numbers] if word == "m" else [*spots, numbers[4:]]
        elif word == "S" and red:
            # Arcs of one circle are alike, so that their ends lie evenly about its centre.
            ends = np.array(spots[1:]) * 25.4 / 72
            centre = ends.mean(axis=0)
            radius = np.hypot(*(ends - centre).T)
            assert np.ptp(radius) < 1e-4
            found.append(
                [centre[0], float(page.mediabox.height) * 25.4 / 72 - centre[1], radius[0]]
            )
        numbers = []
    return np.array(found).reshape(-1, 3)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pdf_holes_are_whole_and_true_on_pages_of_paper(paper):
    layout = lattice([SS16, SS6], 60, 50, 6.0, (0, 1))
    plan = plan_templates(layout, TemplateSettings(formats=("pdf",), group="one"), 1, TITLE)
    files = template_files(plan, TITLE, paper=paper)
    (part,) = plan.templates[0].parts
    pages = pypdf.PdfReader(io.BytesIO(files["templates/all.pdf"])).pages
    sides = [float(side) * 25.4 / 72 for side in pages[0].mediabox[2:]]
    assert sorted(sides) == pytest.approx(sorted(SIZES_MM[paper]), abs=0.01)
    # What a page shows begins inside the margins, below its head; pages repeat 10 mm.
    left, top, foot = 10.0, 20.0, 19.0
    wide, high = sides[0] - 2 * left, sides[1] - top - foot
    columns = math.ceil((part.width_mm - 10.0) / (wide - 10.0))
    whole = []
    for number, page in enumerate(pages):
        x, y, radius = red_circles(page).T
        x, y = x - left, y - top
        room = np.minimum.reduce([x, wide - x, y, high - y]) - radius
        column, row = number % columns, number // columns
        place = np.column_stack([x + column * (wide - 10.0), y + row * (high - 10.0), radius])
        whole.append(place[room > 0.0])
        assert "100 mm" in page.extract_text()
    assert len(pages) > 2
    found = np.concatenate(whole)
    apart, nearest = cKDTree(found[:, :2]).query(part.holes.xy)
    assert np.max(apart) < 0.01
    np.testing.assert_allclose(found[nearest, 2], part.holes.radius_mm, atol=0.01)


def test_a_page_carries_a_square_of_100_mm():
    """The dashed square, read from the page's own path operators."""
    _, files = files_of(lattice([SS16], 3, 3, 6.0), formats=("pdf",))
    page: Any = pypdf.PdfReader(io.BytesIO(files["templates/template-1.pdf"])).pages[0]
    text = page.get_contents().get_data().decode("latin-1")
    number = r"(-?[\d.]+) (-?[\d.]+)"
    squares = re.findall(rf"{number} m\s+{number} l\s+{number} l\s+{number} l\s+h\s+S", text)
    sides = [np.ptp(np.array(each, dtype=float).reshape(4, 2), axis=0) for each in squares]
    assert any(np.abs(side * 25.4 / 72 - 100.0).max() < 0.01 for side in sides)


def test_no_template_no_file_and_same_bytes_twice():
    layout = lattice(MIX, 5, 5, 6.0, (0, 1, 2, 3))
    asked: dict[str, Any] = {"formats": ("svg", "dxf", "plt", "pdf"), "sheet": (90.0, 90.0)}
    assert files_of(layout, **asked)[1] == files_of(layout, **asked)[1]
    sewn = layout_of([SS16], [(0.0, 0.0)], set_by=("sewn",))
    assert files_of(sewn)[1] == {}


def test_sheets_hold_every_part_in_a_cut_layer_of_its_own():
    layout = lattice(MIX, 10, 8, 6.0, (0, 1, 2, 3))
    plan = plan_templates(
        layout, TemplateSettings(sheet=(200.0, 150.0), copies=2, formats=("dxf", "plt")), 24, TITLE
    )
    sheets = plan_sheets([plan])
    assert sheets is not None
    files = template_files(plan, TITLE, sheets)
    facts = json.loads(files["templates/templates.json"])
    assert facts["sheets"]["count"] == len(sheets.sheets) > 1
    for template in facts["templates"]:
        rows = sorted(row for part in template["alone"] for row in part["seats"])
        assert sorted(row for part in template["parts"] for row in part["seats"]) == sorted(
            [*rows, *rows]
        )
        for part in template["parts"]:
            root, named = layers(files[f"templates/{part['file']}"])
            holes = list(named[part["layer"]])
            a, b, c, d, e, f = part["to_template"]
            width, height = (float(each) for each in root.get("viewBox").split()[2:])
            for hole, row in zip(holes, part["seats"], strict=True):
                x, y = layout.xy[row].tolist()
                assert float(hole.get("cx")) == pytest.approx(a * x + c * y + e, abs=2e-6)
                assert float(hole.get("cy")) == pytest.approx(b * x + d * y + f, abs=2e-6)
                assert 0.0 < float(hole.get("cx")) < width
                assert 0.0 < float(hole.get("cy")) < height
    for sheet in sheets.sheets:
        plotted = files[f"templates/sheets/{sheet.name}.plt"].decode()
        # One pen for all holes, then registration, then edges.
        assert re.findall(r"SP(\d+)", plotted) == ["1", "2", "3", "0"]
        circles = sum(len(each.part.rows) + len(each.part.registration) for each in sheet.parts)
        assert plotted.count("CI") == circles
        ezdxf = pytest.importorskip("ezdxf")
        document = ezdxf.read(io.StringIO(files[f"templates/sheets/{sheet.name}.dxf"].decode()))
        found = [
            (each.dxf.center.x, sheet.height_mm - each.dxf.center.y, each.dxf.radius)
            for number in range(len(sheet.parts))
            for each in document.modelspace().query(f'CIRCLE[layer=="cut-{number + 1}"]')
        ]
        maps = [each.part.holes.mapped(each.to_sheet) for each in sheet.parts]
        wanted = np.concatenate([np.column_stack([m.xy, m.radius_mm]) for m in maps])
        np.testing.assert_allclose(found, wanted, atol=0.01)


def test_words_turn_with_their_part_on_a_sheet():
    layout = lattice([SS16], 20, 4, 6.0)
    plan = plan_templates(layout, TemplateSettings(sheet=(80.0, 200.0)), 1, TITLE)
    sheets = plan_sheets([plan])
    assert sheets is not None
    (part,) = sheets.parts
    assert part.to_sheet.b == 1.0
    drawing = sheet_drawing(sheets.sheets[0])
    (label,) = (layer for layer in drawing.layers if layer.id == "label")
    words = [item for item in label.items if isinstance(item, Words)]
    assert {each.angle_deg for each in words} == {90.0}
    assert all(0.0 < each.x_mm < 80.0 and 0.0 < each.y_mm < 200.0 for each in words)


def test_what_a_format_cannot_hold_is_told_once():
    layout = lattice([SS16], 3, 3, 6.0)
    plan = plan_templates(layout, TemplateSettings(formats=("plt", "dxf")), 1, TITLE)
    (found,) = template_losses(plan)
    assert (found.code, found.severity) == ("not-in-format", "note")
    assert "PLT" in found.message
    assert "layer 'label'" in found.message
    assert template_losses(plan_templates(layout, TemplateSettings(), 1, TITLE)) == []
