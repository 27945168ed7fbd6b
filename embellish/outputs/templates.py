"""Template files: each part as SVG (and DXF, plotter file, PDF), and templates.json.

The cut layer holds one circle or closed path a seat and nothing else, in seat order; what trims
the sheet, registers it and says what it is has layers of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np

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
from embellish.outputs.drawing.dxf import dxf_bytes
from embellish.outputs.drawing.hpgl import Plotter, hpgl_bytes
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.plans.template import TemplatePlan
from embellish.plans.template_holes import Holes
from embellish.plans.template_label import ARROW_MM, LETTER_MM, LINE_MM, PAD_MM
from embellish.plans.template_parts import PAGE_RIM_MM, TemplatePart
from embellish.plans.template_settings import Format
from embellish.plans.title import TitleBlock

FOLDER: Final = "templates"
CUT: Final = "cut"
_CUT_STYLE: Final = Style(stroke="#ff0000", stroke_width_mm=0.1)
_TRIM_STYLE: Final = Style(stroke="#0000ff", stroke_width_mm=0.1)
_REGISTER_STYLE: Final = Style(stroke="#008000", stroke_width_mm=0.1)
_LABEL_STYLE: Final = Style(stroke="#000000", stroke_width_mm=0.3)
_STOP_COLOUR: Final = "#cc0000"
_PLOTTED: Final = (CUT, "register", "trim")
"""Holes first, while the sheet lies firm; the edge last."""


def template_files(plan: TemplatePlan, title: TitleBlock | None = None) -> dict[str, bytes]:
    """Return every template file by its name, templates.json among them.

    Parameters
    ----------
    plan
        The templates; a plan without any gives no file.
    title
        Its ``stop`` words are stamped across each part, outside the cut layer.

    Raises
    ------
    OutputError
        Where a format asked for needs a library that is not installed.
    """
    if not plan.templates:
        return {}
    stop = title.stop if title else ""
    files = {}
    for template in plan.templates:
        for part in template.parts:
            drawing = part_drawing(plan, part, stop)
            asked = plan.settings
            for name, content in drawing_files(drawing, asked.formats, asked.blade_offset_mm):
                files[f"{FOLDER}/{part.name}.{name}"] = content
    files[f"{FOLDER}/templates.json"] = templates_json(plan)
    return files


def drawing_files(
    drawing: Drawing, formats: Sequence[Format], blade_offset_mm: float
) -> Iterator[tuple[str, bytes]]:
    """Yield ending and content of each file of a sheet to be cut; SVG always, it is named."""
    yield "svg", svg_bytes(drawing)
    if "dxf" in formats:
        yield "dxf", dxf_bytes(drawing)
    if "plt" in formats:
        yield "plt", hpgl_bytes(drawing, Plotter(layers=_PLOTTED, blade_offset_mm=blade_offset_mm))
    if "pdf" in formats:
        yield "pdf", pdf_bytes([drawing])


def part_drawing(plan: TemplatePlan, part: TemplatePart, stop: str = "") -> Drawing:
    """Return the drawing of one sheet to be cut."""
    layers = [
        Layer(CUT, tuple(hole_items(part.holes, as_paths=plan.settings.circles_as == "arcs"))),
        Layer("trim", (Lines((part.trim,), _TRIM_STYLE, closed=True),)),
        Layer("register", tuple(_register(plan, part))),
        Layer("label", tuple(_label(part))),
    ]
    if stop:
        size = min(12.0, part.width_mm / (1.1 * len(stop)))
        words = Words(
            part.width_mm / 2.0,
            part.height_mm / 2.0,
            stop,
            height_mm=size,
            anchor="middle",
            colour=_STOP_COLOUR,
            bold=True,
        )
        layers.append(Layer("stop", (words,)))
    return Drawing(part.width_mm, part.height_mm, tuple(layers), title=" ".join(part.label[:2]))


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


def _register(plan: TemplatePlan, part: TemplatePart) -> Iterator[Item]:
    if len(part.registration):
        radius = np.full(len(part.registration), plan.settings.registration_mm / 2.0)
        yield Circles(part.registration, radius, _REGISTER_STYLE)
    if part.matches:
        yield Lines(part.matches, _REGISTER_STYLE)


def _label(part: TemplatePart) -> Iterator[Item]:
    left, top = PAGE_RIM_MM + PAD_MM, part.label_top_mm + PAD_MM
    x = left + 2.0
    # The arrow points to the top of the design; lines alone, so that a pen can draw it.
    shaft = np.array([[x, top + 11.0], [x, top + 0.5]])
    tip = np.array([[x - 1.5, top + 3.0], [x, top + 0.5], [x + 1.5, top + 3.0]])
    yield Lines((shaft, tip), _LABEL_STYLE)
    yield Words(x + 1.2, top + 9.5, "UP", height_mm=LETTER_MM)
    for number, line in enumerate(part.label):
        y = top + LETTER_MM + number * LINE_MM
        yield Words(left + ARROW_MM, y, line, height_mm=LETTER_MM)


def templates_json(plan: TemplatePlan) -> bytes:
    """Return templates.json; ``file`` stands beside it."""
    facts: dict[str, Any] = {
        "format": "embellish-templates",
        "version": 1,
        "registration_mm": plan.registration_mm.tolist(),
        "templates": [
            {
                "name": template.name,
                "lifts": template.lifts * plan.quantity,
                "order": list(template.order),
                "parts": [_part_facts(part) for part in template.parts],
            }
            for template in plan.templates
        ],
    }
    # Without indents: a template of many seats is written some twenty times faster.
    return json.dumps(facts, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _part_facts(part: TemplatePart) -> dict[str, Any]:
    return {
        "file": f"{part.name}.svg",
        "layer": CUT,
        "mirrored": part.mirrored,
        "to_template": part.to_template.as_list(),
        "seats": part.rows.tolist(),
    }
