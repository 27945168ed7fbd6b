"""The test-cut card as files, in the layers of a template."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from embellish.outputs.drawing.drawing import Drawing, Layer, Lines, Style, Words
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.template_drawing import CUT, hole_items
from embellish.outputs.templates import drawing_files
from embellish.plans.templates.card import REPEAT, CutCard
from embellish.plans.templates.label import LETTER_MM
from embellish.plans.templates.settings import Format

NAME: Final = "test-cut-card"
_TRIM_STYLE: Final = Style(stroke="#0000ff", stroke_width_mm=0.1)
_INSET_MM: Final = 2.0


def card_files(
    card: CutCard, formats: Sequence[Format] = ("svg",), blade_offset_mm: float = 0.0
) -> dict[str, bytes]:
    """Return the card's files by name, and test-cut-card.json that says what its holes are.

    Raises
    ------
    OutputError
        Where a format asked for needs a library that is not installed.
    """
    drawing = card_drawing(card)
    files = {
        f"{NAME}.{ending}": content
        for ending, content in drawing_files(drawing, formats, blade_offset_mm)
    }
    files[f"{NAME}.json"] = as_json_bytes(
        {
            "format": "embellish-test-cut-card",
            "version": 1,
            "file": f"{NAME}.svg",
            "layer": CUT,
            "repeat": REPEAT,
            "rows": [
                {
                    "codes": list(row.codes),
                    "now_mm": row.now_mm,
                    "clearance_mm": list(row.tried_mm),
                }
                for row in card.rows
            ],
        }
    )
    return files


def card_drawing(card: CutCard) -> Drawing:
    """Return the drawing of a test-cut card."""
    x1, y1 = card.width_mm - _INSET_MM, card.height_mm - _INSET_MM
    trim = np.array([[_INSET_MM, _INSET_MM], [x1, _INSET_MM], [x1, y1], [_INSET_MM, y1]])
    words = tuple(
        Words(each.x_mm, each.y_mm, each.text, height_mm=LETTER_MM) for each in card.words
    )
    return Drawing(
        card.width_mm,
        card.height_mm,
        (
            Layer(CUT, tuple(hole_items(card.holes, as_paths=False))),
            Layer("trim", (Lines((trim,), _TRIM_STYLE, closed=True),)),
            Layer("label", words),
        ),
        title="Test-cut card",
    )
