"""Template files: each part, and each sheet of parts, in every format asked for; templates.json."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.outputs.drawing.drawing import Drawing
from embellish.outputs.drawing.dxf import dxf_bytes, lost_in_dxf
from embellish.outputs.drawing.hpgl import Plotter, hpgl_bytes, lost_in_hpgl
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.paper import Paper
from embellish.outputs.paper_pages import paper_pages
from embellish.outputs.template_drawing import (
    CUT,
    cut_layer,
    cut_order,
    part_drawing,
    sheet_drawing,
)
from embellish.plans.cut_sheets import SheetPart, SheetPlan
from embellish.plans.templates.parts import Template, TemplatePart
from embellish.plans.templates.settings import Format
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.title import TitleBlock

FOLDER: Final = "templates"
SHEETS: Final = "sheets"


def template_files(
    plan: TemplatePlan,
    title: TitleBlock | None = None,
    sheets: SheetPlan | None = None,
    *,
    state: Mapping[str, Any] | None = None,
    paper: Paper = "A4",
) -> dict[str, bytes]:
    """Return every template file by its name, templates.json among them.

    Parameters
    ----------
    plan
        The templates; a plan without any gives no file.
    title
        Its ``stop`` words are stamped across each part, outside the cut layer.
    sheets
        The same templates laid on sheets, where there is one to lay them on.
    state
        Facts of the cloth stretched on a board, where the templates are for that.
    paper
        What PDFs are tiled for.

    Raises
    ------
    OutputError
        Where a format asked for needs a library that is not installed.
    """
    if not plan.templates:
        return {}
    stop = title.stop if title else ""
    asked = plan.settings
    files = {}
    for template in plan.templates:
        for part in template.parts:
            drawing = part_drawing(part, asked, stop)
            for ending, content in drawing_files(
                drawing, asked.formats, asked.blade_offset_mm, paper
            ):
                files[f"{FOLDER}/{part.name}.{ending}"] = content
    if sheets is not None:
        files |= {
            f"{FOLDER}/{SHEETS}/{name}": content
            for name, content in sheet_files(sheets, asked.formats, stop, paper).items()
        }
    files[f"{FOLDER}/templates.json"] = templates_json(plan, sheets, state=state)
    return files


def sheet_files(
    sheets: SheetPlan, formats: Sequence[Format], stop: str = "", paper: Paper = "A4"
) -> dict[str, bytes]:
    """Return the files of each sheet by name.

    Raises
    ------
    OutputError
        Where a format asked for needs a library that is not installed.
    """
    files = {}
    for sheet in sheets.sheets:
        asked = sheet.parts[0].settings
        drawing = sheet_drawing(sheet, stop)
        for ending, content in drawing_files(drawing, formats, asked.blade_offset_mm, paper):
            files[f"{sheet.name}.{ending}"] = content
    return files


def drawing_files(
    drawing: Drawing, formats: Sequence[Format], blade_offset_mm: float, paper: Paper = "A4"
) -> Iterator[tuple[str, bytes]]:
    """Yield ending and content of each file of a sheet to be cut; SVG always, it is named."""
    yield "svg", svg_bytes(drawing)
    if "dxf" in formats:
        yield "dxf", dxf_bytes(drawing)
    if "plt" in formats:
        yield "plt", hpgl_bytes(drawing, _plotter(drawing, blade_offset_mm))
    if "pdf" in formats:
        yield "pdf", pdf_bytes(paper_pages(drawing, paper))


def _plotter(drawing: Drawing, blade_offset_mm: float = 0.0) -> Plotter:
    by_pen = cut_order(drawing)
    return Plotter(
        layers=tuple(name for names in by_pen for name in names),
        pens=tuple(pen for pen, names in enumerate(by_pen, 1) for _ in names),
        blade_offset_mm=blade_offset_mm,
    )


def template_losses(plan: TemplatePlan) -> list[Finding]:
    """Return what the formats asked for cannot hold of these templates, a note a format."""
    drawings = [
        part_drawing(part, plan.settings) for each in plan.templates for part in each.parts[:1]
    ]
    lost: dict[str, dict[str, None]] = {}
    for drawing in drawings:
        if "dxf" in plan.settings.formats:
            lost.setdefault("DXF", {}).update(dict.fromkeys(lost_in_dxf(drawing)))
        if "plt" in plan.settings.formats:
            plotter = _plotter(drawing)
            lost.setdefault("PLT", {}).update(dict.fromkeys(lost_in_hpgl(drawing, plotter)))
    return [
        Finding(
            "not-in-format",
            "note",
            f"{name} files of the templates leave out: {', '.join(what)}.",
            mend="The SVG beside each has them: write name and side on the sheet by hand.",
        )
        for name, what in lost.items()
        if what
    ]


def templates_json(
    plan: TemplatePlan, sheets: SheetPlan | None = None, *, state: Mapping[str, Any] | None = None
) -> bytes:
    """Return templates.json; ``file`` is named from its folder.

    ``parts`` are what is to be cut: the copies on the sheets, where there are sheets, else each
    part in its own file; then ``alone`` tells of these own files too.
    Where the cloth is stretched on a board, ``state.map`` leads from layout.json to the places in
    that state, and the rigid ``to_template`` from there into the file.
    """
    placed = placed_facts(sheets)
    facts: dict[str, Any] = {
        "format": "embellish-templates",
        "version": 1,
        **({"state": dict(state)} if state else {}),
        "registration_mm": plan.registration_mm.tolist(),
        "templates": [_template_facts(plan, each, placed) for each in plan.templates],
    }
    if sheets is not None:
        facts["sheets"] = sheets_facts(sheets)
    # Without indents: a template of many seats is written some twenty times faster.
    return json.dumps(facts, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def sheets_facts(sheets: SheetPlan) -> dict[str, Any]:
    """Return how many sheets there are, of which size, and how much of them is used."""
    nesting = sheets.nesting
    return {
        "count": len(sheets.sheets),
        "width_mm": nesting.sheet_mm[0],
        "height_mm": nesting.sheet_mm[1],
        "roll": nesting.roll,
        "used_mm2": round(nesting.used_mm2, 3),
        "taken_mm2": round(nesting.taken_mm2, 3),
        "waste_share": round(nesting.waste, 6),
    }


def placed_facts(
    sheets: SheetPlan | None, folder: str = f"{SHEETS}/"
) -> list[tuple[SheetPart, dict[str, Any]]]:
    """Return every copy on the sheets with its facts."""
    return [
        (
            each,
            {
                **_facts(
                    f"{folder}{sheet.name}.svg", cut_layer(number), each.to_template, each.part
                ),
                "copy": each.copy,
            },
        )
        for sheet in (sheets.sheets if sheets else ())
        for number, each in enumerate(sheet.parts)
    ]


def _template_facts(
    plan: TemplatePlan, template: Template, placed: list[tuple[SheetPart, dict[str, Any]]]
) -> dict[str, Any]:
    alone = [_facts(f"{part.name}.svg", CUT, part.to_template, part) for part in template.parts]
    mine = [(each.part.name, facts) for each, facts in placed if each.template is template]
    laid = {name for name, _ in mine}
    unlaid = [
        facts for part, facts in zip(template.parts, alone, strict=True) if part.name not in laid
    ]
    facts = {
        "name": template.name,
        "lifts": template.lifts * plan.quantity,
        "order": list(template.order),
        "parts": [*(each for _, each in mine), *unlaid],
    }
    return {**facts, "alone": alone} if mine else facts


def _facts(file: str, layer: str, to_file: Affine, part: TemplatePart) -> dict[str, Any]:
    return {
        "file": file,
        "layer": layer,
        "mirrored": to_file.mirrors,
        "to_template": to_file.as_list(),
        "seats": part.rows.tolist(),
    }
