"""Drawings of template parts alone, and of sheets with many of them, layer by layer.

A cut layer holds one circle or closed path a seat and nothing else, in seat order; what trims the
sheet, registers it and says what it is has layers of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.geometry.transforms import IDENTITY, Affine
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Drawing,
    Item,
    Layer,
    Lines,
    Style,
    Words,
)
from embellish.plans.cut_sheets import CutSheet
from embellish.plans.templates.holes import Holes
from embellish.plans.templates.label import ARROW_MM, LETTER_MM, LINE_MM, PAD_MM
from embellish.plans.templates.parts import PAGE_RIM_MM, TemplatePart
from embellish.plans.templates.settings import TemplateSettings

CUT: Final = "cut"
REGISTER: Final = "register"
TRIM: Final = "trim"
_CUT_STYLE: Final = Style(stroke="#ff0000", stroke_width_mm=0.1)
_TRIM_STYLE: Final = Style(stroke="#0000ff", stroke_width_mm=0.1)
_REGISTER_STYLE: Final = Style(stroke="#008000", stroke_width_mm=0.1)
_LABEL_STYLE: Final = Style(stroke="#000000", stroke_width_mm=0.3)
_STOP_COLOUR: Final = "#cc0000"


def part_drawing(part: TemplatePart, settings: TemplateSettings, stop: str = "") -> Drawing:
    """Return the drawing of one part by itself."""
    layers = (
        Layer(CUT, tuple(_holes(part, settings, IDENTITY))),
        Layer(TRIM, (_trim(part, IDENTITY),)),
        Layer(REGISTER, tuple(_register(part, settings, IDENTITY))),
        Layer("label", tuple(_label(part, IDENTITY))),
        *_stop(stop, part.width_mm, part.height_mm),
    )
    return Drawing(part.width_mm, part.height_mm, layers, title=" · ".join(part.label[:2]))


def cut_layer(number: int) -> str:
    """Return the name of the cut layer of a sheet's part, numbered from 0."""
    return f"{CUT}-{number + 1}"


def sheet_drawing(sheet: CutSheet, stop: str = "") -> Drawing:
    """Return the drawing of a sheet with all that lies on it; a cut layer for each part."""
    parts = sheet.parts
    layers = (
        *(
            Layer(cut_layer(index), tuple(_holes(each.part, each.settings, each.to_sheet)))
            for index, each in enumerate(parts)
        ),
        Layer(TRIM, tuple(_trim(each.part, each.to_sheet) for each in parts)),
        Layer(
            REGISTER,
            tuple(
                item
                for each in parts
                for item in _register(each.part, each.settings, each.to_sheet)
            ),
        ),
        Layer("label", tuple(item for each in parts for item in _label(each.part, each.to_sheet))),
        *_stop(stop, sheet.width_mm, sheet.height_mm),
    )
    return Drawing(sheet.width_mm, sheet.height_mm, layers, title=f"Templates, {sheet.name}")


def cut_order(drawing: Drawing) -> tuple[tuple[str, ...], ...]:
    """Return the layers that are cut, by pen: holes first, while the sheet lies firm."""
    cut = tuple(layer.id for layer in drawing.layers if layer.id.split("-")[0] == CUT)
    return cut, (REGISTER,), (TRIM,)


def hole_items(holes: Holes, *, as_paths: bool) -> Iterator[Item]:
    """Yield the holes in order: runs of circles, and of outlines between them."""
    path = np.isnan(holes.radius_mm) | as_paths
    turns = np.flatnonzero(np.diff(path)) + 1
    for run in np.split(np.arange(len(path)), turns):
        if not len(run):
            continue
        if path[run[0]]:
            yield Chains(tuple(holes.outline(index) for index in run.tolist()), _CUT_STYLE)
        else:
            yield Circles(holes.xy[run], holes.radius_mm[run], _CUT_STYLE)


def _holes(part: TemplatePart, settings: TemplateSettings, to_page: Affine) -> Iterator[Item]:
    holes = part.holes if to_page == IDENTITY else part.holes.mapped(to_page)
    yield from hole_items(holes, as_paths=settings.circles_as == "arcs")


def _trim(part: TemplatePart, to_page: Affine) -> Item:
    return Lines((to_page(part.trim),), _TRIM_STYLE, closed=True)


def _register(part: TemplatePart, settings: TemplateSettings, to_page: Affine) -> Iterator[Item]:
    if len(part.registration):
        radius = np.full(len(part.registration), settings.registration_mm / 2.0)
        yield Circles(to_page(part.registration), radius, _REGISTER_STYLE)
    if part.matches:
        yield Lines(tuple(to_page(match) for match in part.matches), _REGISTER_STYLE)


def _label(part: TemplatePart, to_page: Affine) -> Iterator[Item]:
    turn_deg = float(to_page.turned_deg(np.zeros(1))[0])

    def words(x: float, y: float, text: str) -> Words:
        px, py = to_page(np.array([x, y])).tolist()
        return Words(px, py, text, height_mm=LETTER_MM, angle_deg=turn_deg)

    left, top = PAGE_RIM_MM + PAD_MM, part.label_top_mm + PAD_MM
    x = left + 2.0
    # The arrow points to the top of the design; lines alone, so that a pen can draw it.
    shaft = np.array([[x, top + 11.0], [x, top + 0.5]])
    tip = np.array([[x - 1.5, top + 3.0], [x, top + 0.5], [x + 1.5, top + 3.0]])
    yield Lines((to_page(shaft), to_page(tip)), _LABEL_STYLE)
    yield words(x + 1.2, top + 9.5, "UP")
    for number, line in enumerate(part.label):
        yield words(left + ARROW_MM, top + LETTER_MM + number * LINE_MM, line)


def _stop(stop: str, width_mm: float, height_mm: float) -> Iterator[Layer]:
    if stop:
        size = min(12.0, width_mm / (1.1 * len(stop)))
        words = Words(
            width_mm / 2.0,
            height_mm / 2.0,
            stop,
            height_mm=size,
            anchor="middle",
            colour=_STOP_COLOUR,
            bold=True,
        )
        yield Layer("stop", (words,))
