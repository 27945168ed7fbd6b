"""Where to lay the transfer: drawn to the scale it says, with true numbers."""

from __future__ import annotations

import io
import re
from typing import Any

import numpy as np
import pypdf
import pytest

from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import Circles, Drawing, Lines, Words
from embellish.outputs.paper import SIZES_MM
from embellish.outputs.transfer import transfer_drawing, transfer_files
from embellish.plans.lifts import plan_lifts
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from embellish.plans.title import TitleBlock
from embellish.plans.transfer import plan_transfer
from tests.plans.template_cases import NAVETTE, SS10_CLEAR, SS16, lattice, layout_of

TITLE = TitleBlock("Invented moth", "A", "3fa9c1")
PLACES = [
    {"mark": "collar seam", "down_mm": 90.0},
    {"mark": "centre front", "right_mm": 35.0},
]


def drawn(layout: Layout, stop: str = "", **asked: Any) -> tuple[Drawing, dict[str, bytes]]:
    templates = plan_templates(layout, TemplateSettings.model_validate(asked), 24, TITLE)
    lifts = plan_lifts(layout, templates)
    plan = plan_transfer(layout, templates, lifts)
    assert plan is not None
    title = TitleBlock("Invented moth", "A", "3fa9c1", stop=stop)
    page = transfer_drawing(layout, plan, lifts, plan.sheets[0], title)
    return page, transfer_files(layout, plan, lifts, title)


def words(page: Drawing) -> str:
    items = (item for layer in page.layers for item in layer.items)
    return " ".join(item.text for item in items if isinstance(item, Words))


@pytest.mark.parametrize("columns", [4, 60])
def test_the_drawing_is_to_the_scale_it_says(columns):
    layout = lattice([SS16], columns, 4, 6.0)
    page, _ = drawn(layout, place=PLACES)
    said = re.search(r"drawn at (?:1 : ([\d.]+)|true size)", words(page))
    assert said is not None
    scale = 1.0 / float(said[1] or 1.0)
    (pieces,) = (item for layer in page.layers if layer.id == "pieces" for item in layer.items)
    assert isinstance(pieces, Circles)
    np.testing.assert_allclose(
        pieces.xy - pieces.xy[0], (layout.xy - layout.xy[0]) * scale, atol=1e-9
    )
    np.testing.assert_allclose(pieces.radius_mm, 2.0 * scale)
    # The line of the collar seam stands 90 mm, to scale, above the centre line.
    centre = next(
        item for layer in page.layers if layer.id == "sheet" for item in layer.items
        if isinstance(item, Lines) and item.style.dash_mm
    )  # fmt: skip
    seam = next(
        item for layer in page.layers if layer.id == "garment" for item in layer.items
        if isinstance(item, Lines)
    )  # fmt: skip
    assert centre.lines[0][0, 1] - seam.lines[0][0, 1] == pytest.approx(90.0 * scale)


def test_numbers_are_said_in_words():
    layout = layout_of([SS10_CLEAR], [(10.0, 20.0), (40.0, 60.0)])
    page, _ = drawn(layout, place=PLACES)
    text = words(page)
    assert "90 mm" in text
    assert "35 mm" in text
    # The upper edge of the pieces is 20 + 1.45 mm above their middle.
    assert "upper edge of the pieces 68.5 mm below it" in text
    assert "each of 24 garments" in text
    assert "pin 3" in text


def test_everything_stays_on_the_page():
    layout = lattice([SS16], 90, 70, 6.0)
    page, _ = drawn(layout, place=[*PLACES, {"mark": "hem", "down_mm": -400.0}])
    width, height = SIZES_MM["A4"]
    for item in (item for layer in page.layers for item in layer.items):
        if isinstance(item, Lines):
            spots = np.concatenate(item.lines)
        elif isinstance(item, Circles):
            spots = item.xy
        else:
            continue
        assert (spots >= 0.0).all()
        assert (spots <= [width, height]).all()


def test_files_a_page_a_sheet_stamped_where_an_error_stands():
    layout = layout_of([SS16, NAVETTE], [(0.0, 0.0), (60.0, 0.0)], [0, 1], lay=[0, 1],
                       set_by=("template", "face-down"))  # fmt: skip
    _, files = drawn(layout, stop="NOT TO BE CUT")
    assert sorted(files) == ["transfer-1.svg", "transfer-2.svg", "transfer.pdf"]
    pages = pypdf.PdfReader(io.BytesIO(files["transfer.pdf"])).pages
    assert len(pages) == 2
    assert all("NOT TO BE CUT" in page.extract_text() for page in pages)
    assert drawn(layout)[1] == drawn(layout)[1]
