"""The sheets of a job as the page shows them: templates, sheets to cut, pages of the charts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from embellish.job.making import NOT_TO_BE_CUT, Checked, chart_pages
from embellish.outputs.drawing.drawing import Drawing
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.template_drawing import sheet_drawing
from embellish.outputs.template_look import bolder, part_look, thin_places

_CHARTS: Final = {
    "chart": "Chart",
    "chart-face-down": "Chart for pieces set face down",
    "chart-back": "Chart of the back",
}


@dataclass(frozen=True, eq=False)
class Sheet:
    """One sheet: its drawing, and what the page says beside it.

    ``kind`` is ``template`` (cut), ``cut`` (a whole sheet of them) or ``chart`` (on paper).
    """

    kind: str
    name: str
    words: tuple[str, ...]
    drawing: Drawing
    thin: int = 0

    def facts(self) -> dict[str, Any]:
        """Return what the page lists."""
        return {
            "kind": self.kind,
            "name": self.name,
            "words": list(self.words),
            "thin": self.thin,
            "width_mm": self.drawing.width_mm,
            "height_mm": self.drawing.height_mm,
        }

    def svg(self) -> bytes:
        """Return its picture, on white where it has no ground of its own."""
        drawing = self.drawing
        if self.kind != "chart":
            drawing = bolder(drawing)
        return svg_bytes(replace(drawing, background=drawing.background or "#ffffff"))


def sheets_of(checked: Checked) -> tuple[Sheet, ...]:
    """Return every sheet of a job, in the order in which they are used."""
    return (*_templates(checked), *_cut(checked), *_charts(checked))


def _stop(checked: Checked) -> str:
    return checked.titled(NOT_TO_BE_CUT).stop


def _templates(checked: Checked) -> Iterator[Sheet]:
    plan, layout = checked.plans.templates, checked.plans.as_set
    for template in plan.templates:
        thin = thin_places(plan, template, layout)
        for number, part in enumerate(template.parts, 1):
            several = len(template.parts) > 1
            tile = f", part {number} of {len(template.parts)}" if several else ""
            words = [
                f"{len(part.rows)} holes, {part.width_mm:.0f} × {part.height_mm:.0f} mm",
                f"Brush in, one after the other: {', '.join(template.order)}.",
            ]
            if len(thin):
                words.append(
                    f"Ringed: walls thinner than {plan.settings.wall_mm:g} mm, {len(thin)} in all."
                )
            drawing = part_look(part, plan, thin, _stop(checked))
            yield Sheet(
                "template", f"Template {template.title}{tile}", tuple(words), drawing, len(thin)
            )


def _cut(checked: Checked) -> Iterator[Sheet]:
    sheets = checked.plans.sheets
    for sheet in sheets.sheets if sheets else ():
        size = f"{sheet.width_mm:.0f} × {sheet.height_mm:.0f} mm"
        count = len(sheet.parts)
        words = (
            f"A whole sheet of {size}, with {count} {'part' if count == 1 else 'parts'} on it",
        )
        yield Sheet("cut", f"Sheet {sheet.name}", words, sheet_drawing(sheet, _stop(checked)))


def _charts(checked: Checked) -> Iterator[Sheet]:
    for name, pages in chart_pages(checked).items():
        for number, page in enumerate(pages, 1):
            words = (f"Page {number} of {len(pages)}, printed at true size",)
            yield Sheet("chart", f"{_CHARTS.get(name, name)}, page {number}", words, page)
