"""Drawings of where each transfer sheet is laid on the garment: a page a sheet, with numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.outlines import Outline
from embellish.layout.layout import Layout
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
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.legend import FAINT_INK, INK, box, fitted, wrapped
from embellish.outputs.paper import MARGIN_MM, SIZES_MM, Paper
from embellish.plans.lifts import LiftPlan
from embellish.plans.registration import Bounds
from embellish.plans.templates.holes import holes_of
from embellish.plans.title import TitleBlock
from embellish.plans.transfer import FromMark, LaidSheet, TransferPlan

HEAD_MM: Final = 16.0
_LINE_MM: Final = 4.4
_TEXT_MM: Final = 2.4
_SMALL_MM: Final = 2.0
_DIMENSION_MM: Final = 9.0
"""From one dimension line to the next."""
_SCALES: Final = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02)
_PIECES: Final = Style(stroke="#8a8f9c", stroke_width_mm=0.1)
_OTHERS: Final = Style(stroke="#d4d7de", stroke_width_mm=0.1)
_SHEET: Final = Style(stroke="#1f5fae", stroke_width_mm=0.35)
_CENTRE: Final = Style(stroke="#000000", stroke_width_mm=0.2, dash_mm=(6.0, 1.5, 1.0, 1.5))
_MARK: Final = Style(stroke="#a2431c", stroke_width_mm=0.35)
_PIN: Final = Style(stroke="#008000", stroke_width_mm=0.25)
_DIMENSION: Final = Style(stroke="#a2431c", stroke_width_mm=0.15)
_MARK_INK: Final = "#a2431c"
_STOP_RED: Final = "#c4161c"


def transfer_files(
    layout: Layout,
    plan: TransferPlan | None,
    lifts: LiftPlan,
    title: TitleBlock,
    paper: Paper = "A4",
) -> dict[str, bytes]:
    """Return transfer.pdf, a page a transfer sheet, and each page as SVG; nothing without any.

    Parameters
    ----------
    layout
        Where the pieces stand.
    plan, lifts
        Where each sheet is laid, and what is on it.
    title
        Its ``stop`` words are stamped on each page.
    paper
        Size of the pages.
    """
    if plan is None:
        return {}
    pages = [transfer_drawing(layout, plan, lifts, each, title, paper) for each in plan.sheets]
    names = ["transfer"] if len(pages) == 1 else [f"transfer-{n}" for n in range(1, len(pages) + 1)]
    files = {f"{name}.svg": svg_bytes(page) for name, page in zip(names, pages, strict=True)}
    return {**files, "transfer.pdf": pdf_bytes(pages)}


def transfer_drawing(
    layout: Layout,
    plan: TransferPlan,
    lifts: LiftPlan,
    sheet: LaidSheet,
    title: TitleBlock,
    paper: Paper = "A4",
) -> Drawing:
    """Return the page of one transfer sheet."""
    size = SIZES_MM[paper]
    wide = size[0] - 2.0 * MARGIN_MM
    lines = [part for line in _numbers(plan, sheet) for part in wrapped(line, _SMALL_MM, wide)]
    rows = [each for each in sheet.marks if each.way == "down"]
    columns = [each for each in sheet.marks if each.way == "right"]
    foot = size[1] - MARGIN_MM - _LINE_MM * (len(lines) + 1)
    # Dimension lines stand left of the drawing and below it.
    frame = (
        MARGIN_MM + 4.0 + _DIMENSION_MM * len(rows),
        MARGIN_MM + HEAD_MM,
        size[0] - MARGIN_MM - 2.0,
        foot - 4.0 - _DIMENSION_MM * len(columns),
    )
    view = _View(_extent(plan, sheet), frame)
    layers = (
        Layer("pieces", tuple(_pieces(layout, lifts, sheet, view))),
        Layer("garment", tuple(_marks(plan, rows, columns, view, frame))),
        Layer("sheet", tuple(_sheet(plan, sheet, view, frame))),
        Layer("words", tuple(_words(plan, sheet, title, view, (wide, foot, lines)))),
    )
    return Drawing(
        *size,
        tuple(layer for layer in layers if layer.items),
        title=f"Laying the transfer sheet · {title.words}",
        background="#ffffff",
    )


class _View:
    """From layout mm into a frame on the page, at a round scale."""

    def __init__(self, extent: Bounds, frame: Bounds) -> None:
        x0, y0, x1, y1 = extent
        left, top, right, foot = frame
        fitting = min((right - left) / (x1 - x0), (foot - top) / (y1 - y0))
        self.scale = next((each for each in _SCALES if each <= fitting), fitting)
        self._from = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
        self._to = np.array([(left + right) / 2.0, (top + foot) / 2.0])

    def __call__(self, xy: Floats) -> Floats:
        """Map points of shape (..., 2)."""
        mapped: Floats = (np.asarray(xy) - self._from) * self.scale + self._to
        return mapped

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Map one point."""
        px, py = self(np.array([x, y])).tolist()
        return px, py

    @property
    def words(self) -> str:
        """The scale in words."""
        if self.scale == 1.0:
            return "drawn at true size"
        return f"drawn at 1 : {1.0 / self.scale:.3g}, numbers in true mm"


def _extent(plan: TransferPlan, sheet: LaidSheet) -> Bounds:
    """Return what must be seen: sheet, middle, pins and the garment's marks."""
    x, y = plan.centre_mm
    xs, ys = [sheet.sheet_mm[0], sheet.sheet_mm[2], x], [sheet.sheet_mm[1], sheet.sheet_mm[3], y]
    xs += plan.registration_mm[:, 0].tolist()
    ys += plan.registration_mm[:, 1].tolist()
    for each in sheet.marks:
        if each.way == "right":
            xs.append(x - each.to_centre_mm)
        else:
            ys.append(y - each.to_centre_mm)
    return min(xs) - 8.0, min(ys) - 8.0, max(xs) + 8.0, max(ys) + 8.0


def _pieces(layout: Layout, lifts: LiftPlan, sheet: LaidSheet, view: _View) -> Iterator[Item]:
    """Yield the pieces on the sheet, and fainter those of the others."""
    rows = lifts.lifts[sheet.lift].rows
    others = [each.rows for number, each in enumerate(lifts.lifts) if number != sheet.lift]
    yield from _outlines(layout, rows, view, _PIECES)
    if others:
        yield from _outlines(layout, np.sort(np.concatenate(others)), view, _OTHERS)


def _outlines(layout: Layout, rows: Ints, view: _View, style: Style) -> Iterator[Item]:
    holes = holes_of(layout, rows, np.zeros(len(layout.footprints)))
    is_round = ~np.isnan(holes.radius_mm)
    if is_round.any():
        yield Circles(view(holes.xy[is_round]), holes.radius_mm[is_round] * view.scale, style)
    if holes.shaped:
        yield Chains(
            tuple(Outline(view(each.points), each.bulges) for each in holes.shaped.values()), style
        )


def _sheet(plan: TransferPlan, sheet: LaidSheet, view: _View, frame: Bounds) -> Iterator[Item]:
    (x0, y0), (x1, y1) = view.at(*sheet.sheet_mm[:2]), view.at(*sheet.sheet_mm[2:])
    yield Lines((box(x0, y0, x1 - x0, y1 - y0),), _SHEET, closed=True)
    x, y = view.at(*plan.centre_mm)
    left, top, right, foot = frame
    yield Lines((np.array([[left, y], [right, y]]), np.array([[x, top], [x, foot]])), _CENTRE)
    yield Words(right, y - 1.0, "centre line", 2.0, anchor="end", colour=INK)
    for number, point in enumerate(plan.registration_mm, 1):
        px, py = view.at(*point.tolist())
        cross = (
            np.array([[px - 2.5, py], [px + 2.5, py]]),
            np.array([[px, py - 2.5], [px, py + 2.5]]),
        )
        yield Lines(cross, _PIN)
        yield Words(px + 1.5, py - 1.2, f"pin {number}", 1.8, colour="#008000")


def _marks(
    plan: TransferPlan,
    rows: list[FromMark],
    columns: list[FromMark],
    view: _View,
    frame: Bounds,
) -> Iterator[Item]:
    """Yield the garment's marks as lines, with the distance from each to the centre line."""
    left, top, right, foot = frame
    x, y = plan.centre_mm
    centre = view.at(x, y)
    for number, each in enumerate(rows):
        at = view.at(x, y - each.to_centre_mm)[1]
        beside = left - 2.0 - _DIMENSION_MM * number
        yield Lines((np.array([[beside - 3.0, at], [right, at]]),), _MARK)
        yield Words(right, at - 1.0, each.mark, 2.4, anchor="end", colour=_MARK_INK)
        yield from _dimension((beside, at), (beside, centre[1]), each.to_centre_mm)
        yield Lines((np.array([[beside - 3.0, centre[1]], [left, centre[1]]]),), _DIMENSION)
    for number, each in enumerate(columns):
        at = view.at(x - each.to_centre_mm, y)[0]
        below = foot + 4.0 + _DIMENSION_MM * number
        yield Lines((np.array([[at, top], [at, below + 2.0]]),), _MARK)
        yield Words(at + 1.0, top + 2.5, each.mark, 2.4, colour=_MARK_INK)
        if each.to_centre_mm:
            yield from _dimension((at, below), (centre[0], below), each.to_centre_mm)
            yield Lines((np.array([[centre[0], foot], [centre[0], below + 2.0]]),), _DIMENSION)


def _dimension(
    start: tuple[float, float], end: tuple[float, float], length_mm: float
) -> Iterator[Item]:
    """Yield a line with ticks at both ends and its true length beside its middle."""
    if not length_mm:
        return
    (x0, y0), (x1, y1) = start, end
    upright = x0 == x1
    tick = np.array([[-1.0, 1.0], [1.0, -1.0]])
    ticks = (tick + np.array(start), tick + np.array(end))
    yield Lines((np.array([start, end]), *ticks), _DIMENSION)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    yield Words(
        x - (1.2 if upright else 0.0),
        y - (0.0 if upright else 1.2),
        f"{abs(length_mm):g} mm",
        _TEXT_MM,
        anchor="middle",
        angle_deg=-90.0 if upright else 0.0,
        colour=_MARK_INK,
    )


def _numbers(plan: TransferPlan, sheet: LaidSheet) -> list[str]:
    """Return the lines of numbers below the drawing."""
    x0, y0, x1, y1 = sheet.sheet_mm
    right, down = sheet.middle_from_centre_mm
    size = f"{x1 - x0:.0f} × {y1 - y0:.0f} mm"
    lines = [
        (
            f"Transfer sheet at least {size}. The middle of its pieces lies"
            f" {_aside(right, down)} the design's middle, where the centre lines cross."
        )
    ]
    for each in sheet.marks:
        way, near = ("below", "upper") if each.way == "down" else ("right of", "left")
        lines.append(
            f"{each.mark}: the centre line lies {_along(each.to_centre_mm, way)} it, the {near} "
            f"edge of the pieces {_along(each.to_pieces_mm, way)} it."
        )
    if not sheet.marks:
        lines.append(
            "No mark of the garment is entered ([[template.place]] in the job): measure from yours "
            "to the centre lines."
        )
    if len(plan.registration_mm):
        off = plan.registration_mm - np.array(plan.centre_mm)
        pins = "; ".join(
            f"pin {number} {_aside(*each)} it" for number, each in enumerate(off.tolist(), 1)
        )
        lines.append(f"Registration, from the design's middle: {pins}.")
    return lines


def _along(length_mm: float, way: str) -> str:
    other = {"below": "above", "right of": "left of"}[way]
    if round(abs(length_mm), 1) == 0.0:
        return "on"
    return f"{abs(length_mm):.1f} mm {way if length_mm > 0.0 else other}"


def _aside(right: float, down: float) -> str:
    parts = []
    if round(abs(right), 1):
        parts.append(f"{abs(right):.1f} mm {'right' if right > 0.0 else 'left'}")
    if round(abs(down), 1):
        parts.append(f"{abs(down):.1f} mm {'down' if down > 0.0 else 'up'}")
    return f"{' and '.join(parts)} from" if parts else "on"


def _words(
    plan: TransferPlan,
    sheet: LaidSheet,
    title: TitleBlock,
    view: _View,
    below: tuple[float, float, list[str]],
) -> Iterator[Item]:
    wide, foot, lines = below
    many = len(plan.sheets)
    which = "" if many == 1 else f" {sheet.lift + 1} of {many}"
    yield Words(
        MARGIN_MM, MARGIN_MM + 4.0, fitted(title.words, 3.2, wide, bold=True), 3.2, bold=True
    )
    garments = "1 garment" if plan.quantity == 1 else f"each of {plan.quantity} garments"
    second = f"Transfer sheet{which} on {garments}, as seen · {view.words}"
    if title.state:
        second = f"{title.state} · {second}"
    yield Words(MARGIN_MM, MARGIN_MM + 9.0, fitted(second, _TEXT_MM, wide), _TEXT_MM, colour=INK)
    if title.stop:
        yield Words(MARGIN_MM, MARGIN_MM + 13.5, title.stop, 3.2, bold=True, colour=_STOP_RED)
    for number, line in enumerate(lines):
        y = foot + _LINE_MM * (number + 1)
        yield Words(MARGIN_MM, y, line, _SMALL_MM, colour=FAINT_INK)
