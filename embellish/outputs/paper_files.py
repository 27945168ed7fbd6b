"""Patterns on paper as files: pounce and stencil to prick or cut, wash-away to print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.outlines import Outline, placed
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.outputs.chart_pages import tiled_drawings
from embellish.outputs.chart_sheet import ChartSheet, Frame, centre_note, chart_sheet
from embellish.outputs.chart_signs import Sign
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
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.paper_pages import paper_pages
from embellish.outputs.symbols import Symbol
from embellish.outputs.templates import drawing_files
from embellish.plans.paper import PaperPlan, Pattern
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.title import TitleBlock

FOLDER: Final = "paper/"
CUT: Final = "cut"
RIM_MM: Final = 14.0
"""Paper left around the design, to pin it by."""
_HEAD_MM: Final = 12.0
_CUT_STYLE: Final = Style(stroke="#ff0000", stroke_width_mm=0.1)
_TRIM_STYLE: Final = Style(stroke="#0000ff", stroke_width_mm=0.1)
_REGISTER_STYLE: Final = Style(stroke="#008000", stroke_width_mm=0.1)
_PRICK: Final = Style(stroke="#000000", stroke_width_mm=0.1)
_LIGHT: Final = "#a9bbd6"
_NO_SYMBOL: Final = Symbol("none", strokes=(((-1.0, 0.0), (1.0, 0.0)), ((0.0, -1.0), (0.0, 1.0))))
_NAMES: Final = {"pounce": "Pounce pattern", "stencil": "Chalk stencil"}
_HOW: Final = {
    "pounce": "Prick every hole, pin it on by its centre lines, rub chalk or powder through.",
    "stencil": "Cut it, pin it on by its centre lines, brush chalk through.",
}
_SIDE: Final = {
    "front": "NOT MIRRORED: for the front of the cloth",
    "back": "MIRRORED: for the back of the cloth",
}
_WASH: Final = (
    "Try on a scrap that the print washes out of this cloth. Heat can set it: no iron and no press "
    "before it is washed away. Follow the instructions of its makers."
)


_WIDE: Final = 0.8
"""Width of a letter over the height of capitals, on the safe side for words in capitals."""


def paper_files(
    plan: PaperPlan,
    layout: Layout,
    title: TitleBlock,
    frame: Frame,
    template: TemplateSettings,
    state: Mapping[str, Any] | None = None,
) -> dict[str, bytes]:
    """Return the files of a paper plan by name; none where none was asked for.

    Parameters
    ----------
    plan
        What is pricked, cut and printed.
    layout
        What it was planned of.
    title
        Words that tie each sheet to the layout.
    frame
        The ground that the charts show too.
    template
        Formats of what a cutter cuts.
    state
        Facts of the cloth stretched on a board, where the patterns are for that.
    """
    files: dict[str, bytes] = {}
    facts = []
    for pattern in plan.patterns:
        name = pattern.kind if pattern.side == "front" else f"{pattern.kind}-back"
        to_paper = Affine.move(RIM_MM, RIM_MM + _HEAD_MM) @ frame.to_sheet(
            mirror=pattern.side == "back"
        )
        drawing = pattern_drawing(pattern, title, frame, to_paper)
        formats = [each for each in template.formats if each != "pdf"]
        for ending, content in drawing_files(drawing, formats, template.blade_offset_mm):
            files[f"{FOLDER}{name}.{ending}"] = content
        if pattern.kind == "pounce":
            pages = tiled_drawings(_pounce_sheet(pattern, title, frame), plan.settings.size)
        else:
            pages = paper_pages(drawing, plan.settings.size)
        files[f"{FOLDER}{name}.pdf"] = pdf_bytes(pages)
        facts.append(_facts(pattern, f"{name}.svg", to_paper))
    for side, rows in plan.wash_away.items():
        name = "wash-away" if side == "front" else "wash-away-back"
        mirror = (side == "back") != (plan.settings.wash_away_from == "back")
        sheet = wash_away_sheet(layout.taken(rows), title, frame, mirror=mirror)
        files[f"{FOLDER}{name}.pdf"] = pdf_bytes(tiled_drawings(sheet, plan.settings.size))
    if facts:
        files[f"{FOLDER}paper.json"] = as_json_bytes(
            {
                "format": "embellish-paper",
                "version": 1,
                **({"state": dict(state)} if state else {}),
                "patterns": facts,
            }
        )
    return files


def pattern_drawing(pattern: Pattern, title: TitleBlock, frame: Frame, to_paper: Affine) -> Drawing:
    """Return a pattern at true size on one sheet, its holes alone in the cut layer."""
    wide, high = frame.size_mm
    width, height = wide + 2.0 * RIM_MM, high + 2.0 * RIM_MM + _HEAD_MM
    words = [
        f"{_NAMES[pattern.kind]} · {title.words}",
        _SIDE[pattern.side],
        _HOW[pattern.kind],
        *([title.state] if title.state else []),
    ]
    trim = np.array([[0.5, 0.5], [width - 0.5, 0.5], [width - 0.5, height - 0.5],
                     [0.5, height - 0.5]])  # fmt: skip
    layers = [
        Layer(CUT, tuple(_holes(pattern, to_paper))),
        Layer("trim", (Lines((trim,), _TRIM_STYLE, closed=True),)),
        Layer("register", (_centre_ticks(wide, high),)),
        Layer(
            "label",
            tuple(
                Words(3.0, 5.0 + 4.0 * n, line, min(2.2, (width - 6.0) / (_WIDE * len(line))))
                for n, line in enumerate(words)
            ),
        ),
    ]
    if title.stop:
        stamp = Words(width / 2.0, height / 2.0, title.stop, min(12.0, width / 16.0), "middle",
                      colour="#cc0000", bold=True)  # fmt: skip
        layers.append(Layer("stop", (stamp,)))
    return Drawing(width, height, tuple(layers), title=words[0])


def _holes(pattern: Pattern, to_paper: Affine) -> list[Item]:
    """Return circles and slots in the order of the pattern's holes."""
    xy = to_paper(pattern.xy)
    angle = to_paper.turned_deg(pattern.angle_deg)
    half = pattern.hole_mm / 2.0
    items: list[Item] = []
    slotted = pattern.slot_mm > 0.0
    for run in np.split(np.arange(len(xy)), np.flatnonzero(np.diff(slotted)) + 1):
        if not len(run):
            continue
        if slotted[run[0]]:
            slots = []
            for hole in run.tolist():
                x, y = xy[hole].tolist()
                slot = _slot(float(pattern.slot_mm[hole]), half)
                slots.append(placed(slot, x, y, float(angle[hole])))
            items.append(Chains(tuple(slots), _CUT_STYLE))
        else:
            items.append(Circles(xy[run], np.full(len(run), half), _CUT_STYLE))
    return items


def _slot(length: float, half: float) -> Outline:
    a = length / 2.0
    points = np.array([[-a, -half], [a, -half], [a, half], [-a, half]])
    return Outline(points, np.array([0.0, 1.0, 0.0, 1.0]))


def _centre_ticks(wide: float, high: float) -> Lines:
    """Return the ends of the lines through the middle of the design, outside of it."""
    x, y = RIM_MM + wide / 2.0, RIM_MM + _HEAD_MM + high / 2.0
    top, left = RIM_MM + _HEAD_MM, RIM_MM
    ends = [
        ((x, top - 8.0), (x, top - 2.0)),
        ((x, top + high + 2.0), (x, top + high + 10.0)),
        ((left - 10.0, y), (left - 2.0, y)),
        ((left + wide + 2.0, y), (left + wide + 10.0, y)),
    ]
    return Lines(tuple(np.array(end) for end in ends), _REGISTER_STYLE)


def _pounce_sheet(pattern: Pattern, title: TitleBlock, frame: Frame) -> ChartSheet:
    """Return the pricked holes as a sheet that is tiled over pages."""
    mirror = pattern.side == "back"
    to_sheet = frame.to_sheet(mirror=mirror)
    wide, high = frame.size_mm
    hole = Circles(np.zeros((1, 2)), np.array([pattern.hole_mm / 2.0]), _PRICK)
    count = len(pattern.xy)
    return ChartSheet(
        title=title,
        width_mm=wide,
        height_mm=high,
        mirror=mirror,
        codes=("hole",),
        edges=(hole,),
        glyphs=((),),
        xy=to_sheet(pattern.xy),
        angle_deg=np.zeros(count),
        which=np.zeros(count, dtype=np.int64),
        reach_mm=pattern.hole_mm / 2.0,
        lines=(),
        name="Pounce pattern",
        use=_SIDE[pattern.side],
        notes=(_HOW["pounce"], centre_note(frame.marks)),
        centre_mm=(wide / 2.0, high / 2.0),
        marks=_marks(frame, to_sheet),
    )


def wash_away_sheet(part: Layout, title: TitleBlock, frame: Frame, *, mirror: bool) -> ChartSheet:
    """Return the marks in light lines: each piece's outline and the middle of larger ones."""
    use = "MIRRORED" if mirror else "NOT MIRRORED"
    plain = Sign(_NO_SYMBOL, _LIGHT)
    used = dict.fromkeys(piece.code for piece in part.pieces)
    sheet = chart_sheet(
        part, title, dict.fromkeys(used, plain), mirror=mirror, frame=frame,
        use=f"{use}: print on the sheet that washes away",
    )  # fmt: skip
    by_code = {piece.code: piece for piece in part.pieces}
    return replace(
        sheet,
        edges=tuple(replace(edge, style=_light(edge.style)) for edge in sheet.edges),
        glyphs=tuple(_middle(min(by_code[code].length_mm.nominal, by_code[code].width_mm.nominal))
                     for code in sheet.codes),
        lines=(),
        legend=(),
        name="Wash-away print",
        notes=(_WASH, *sheet.notes),
        light=True,
    )  # fmt: skip


def _light(style: Style) -> Style:
    return replace(style, fill=None, stroke=_LIGHT, stroke_width_mm=0.15)


def _middle(girth_mm: float) -> tuple[Lines, ...]:
    if girth_mm < 2.5:
        return ()
    arm = min(0.6, girth_mm / 6.0)
    cross = (np.array([[-arm, 0.0], [arm, 0.0]]), np.array([[0.0, -arm], [0.0, arm]]))
    return (Lines(cross, Style(stroke=_LIGHT, stroke_width_mm=0.15)),)


def _marks(frame: Frame, to_sheet: Affine) -> tuple[tuple[str, Floats], ...]:
    return tuple((name, to_sheet(line)) for name, line in frame.marks)


def _facts(pattern: Pattern, file: str, to_paper: Affine) -> dict[str, Any]:
    return {
        "kind": pattern.kind,
        "side": pattern.side,
        "file": file,
        "layer": CUT,
        "mirrored": to_paper.mirrors,
        "to_paper": to_paper.as_list(),
        "hole_mm": pattern.hole_mm,
        "apart_mm": pattern.apart_mm,
        "seats": pattern.seat.tolist(),
        "along_mm": pattern.along_mm.tolist(),
        "slot_mm": pattern.slot_mm.tolist(),
    }
