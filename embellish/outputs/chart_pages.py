"""A chart on one sheet, or in tiles over pages of paper, with what proves its scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, inf, prod
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.outputs.chart_sheet import ChartSheet, cut
from embellish.outputs.chart_signs import Line
from embellish.outputs.drawing.drawing import Drawing, Item, Layer, Lines, Stamps, Style, Words
from embellish.outputs.legend import (
    FAINT_INK,
    INK,
    Entry,
    Room,
    fitted,
    legend,
    line_heights,
    wrapped,
)
from embellish.outputs.paper import MARGIN_MM, SIZES_MM, Paper
from embellish.outputs.proving import MATCH, SQUARE_MM, crosses, page_name, ruler, square

OVERLAP_MM: Final = 10.0
"""How far a page repeats its neighbour at least, to be glued."""
_TEXT_MM: Final = 2.4
HEAD_MM: Final = 14.0
_LEGEND_MM: Final = 160.0
"""Width that the words of a legend want, beside its largest pictures."""
FOOT_MM: Final = 9.0
_SLACK_MM: Final = 0.1
_FAINT: Final = Style(stroke="#b8bcc6", stroke_width_mm=0.15)
_CENTRE: Final = Style(stroke="#6f86b8", stroke_width_mm=0.15, dash_mm=(6.0, 1.5, 0.6, 1.5))
_GARMENT: Final = Style(stroke="#8a3fa0", stroke_width_mm=0.3, dash_mm=(5.0, 2.0))
_LIGHT_INK: Final = "#a9bbd6"
_LIGHT_CENTRE: Final = replace(_CENTRE, stroke=_LIGHT_INK)
_LIGHT_GARMENT: Final = replace(_GARMENT, stroke=_LIGHT_INK, stroke_width_mm=0.2)
_GARMENT_INK: Final = "#8a3fa0"
_STOP_RED: Final = "#c4161c"
_TILE_WORDS: Final = "Print at 100 %: the dashed square is 100 mm each way."
_RULER_WORDS: Final = "Print at 100 %: the ruler is 100 mm."
_SCALE_WORDS: Final = "Print at 100 %, not fitted to the page: each side of the square is 100 mm."


def sheet_drawing(sheet: ChartSheet) -> Drawing:
    """Return the chart on one sheet: title, the design at true size, legend, scale."""
    wide = max(sheet.width_mm, _LEGEND_MM)
    width = wide + 2.0 * MARGIN_MM
    top = MARGIN_MM + HEAD_MM
    at = (MARGIN_MM + (wide - sheet.width_mm) / 2.0, top)
    window = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    notes, below = _notes(sheet.notes, MARGIN_MM, top + sheet.height_mm + 8.0, wide)
    foot, bottom = _legend(sheet, Room(MARGIN_MM, below, wide, _TEXT_MM), sheet.legend)
    low = bottom + 4.0
    layers = (
        Layer("artwork", _lines(sheet, window, at)),
        Layer("pieces", _pieces(sheet, window, at)),
        Layer("garment", _garment(sheet, window, at)),
        Layer("words", (*_head(sheet, MARGIN_MM, wide, ""), *notes, *foot)),
        _proving(low),
    )
    return Drawing(
        width,
        low + SQUARE_MM + FOOT_MM + MARGIN_MM,
        tuple(layer for layer in layers if layer.items),
        title=f"{sheet.name} · {sheet.title.words}",
        background="#ffffff",
    )


def tiled_drawings(sheet: ChartSheet, paper: Paper) -> list[Drawing]:
    """Return the pages: the legend first, then the design in tiles that repeat 10 mm or more.

    Every piece that goes on a page at all is whole on at least one. The paper is turned where that
    takes fewer pages; pages that nothing stands on are left out.
    """
    upright = SIZES_MM[paper]
    size = min((upright, upright[::-1]), key=lambda each: prod(_grid(sheet, each)))
    columns, rows = _grid(sheet, size)
    cells = [(column, row) for row in range(rows) for column in range(columns)]
    kept = [cell for cell in cells if _shown(sheet, size, cell)] or cells[:1]
    return [
        *_first_pages(sheet, size, columns, rows, len(kept)),
        *(_tile(sheet, size, *cell, (columns, rows)) for cell in kept),
    ]


def _usable(size: tuple[float, float]) -> tuple[float, float]:
    return size[0] - 2.0 * MARGIN_MM, size[1] - 2.0 * MARGIN_MM - HEAD_MM - FOOT_MM


def _grid(sheet: ChartSheet, size: tuple[float, float]) -> tuple[int, int]:
    wide, high = _usable(size)
    overlap = _overlap(sheet, size)
    return (
        max(1, ceil((sheet.width_mm - overlap) / (wide - overlap))),
        max(1, ceil((sheet.height_mm - overlap) / (high - overlap))),
    )


def _overlap(sheet: ChartSheet, size: tuple[float, float]) -> float:
    """Return how far tiles repeat each other: what is as long as that is whole on one of them."""
    return min(max(OVERLAP_MM, 2.0 * sheet.reach_mm + _SLACK_MM), min(_usable(size)) / 2.0)


def _first_pages(
    sheet: ChartSheet, size: tuple[float, float], columns: int, rows: int, kept: int
) -> list[Drawing]:
    """Return the page with words, square and legend, and those that a long legend goes on over."""
    wide = size[0] - 2.0 * MARGIN_MM
    words, bottom = _notes(
        (_SCALE_WORDS, _page_words(sheet, columns, rows, kept), *sheet.notes),
        MARGIN_MM,
        MARGIN_MM + HEAD_MM + 2.0,
        wide,
    )
    low = bottom + 2.0
    # Beside the square where the page is wide enough, else below it.
    room = Room(MARGIN_MM, low + SQUARE_MM + 12.0, wide, _TEXT_MM)
    if size[0] > size[1]:
        aside = SQUARE_MM + 14.0
        room = Room(MARGIN_MM + aside, low, wide - aside, _TEXT_MM)
    lines = list(sheet.legend)
    drawings: list[Drawing] = []
    while lines or not drawings:
        many = _fitting(lines, size[1] - MARGIN_MM - room.top)
        items, _ = _legend(sheet, room, lines[:many])
        lines, more = lines[many:], bool(drawings)
        here = (*_head(sheet, MARGIN_MM, wide, "legend" if more else ""), *items)
        layers = (Layer("words", here if more else (*here, *words)), _proving(low))
        drawings.append(Drawing(*size, layers, title=sheet.name, background="#ffffff"))
    return drawings


def _page_words(sheet: ChartSheet, columns: int, rows: int, kept: int) -> str:
    if columns * rows == 1:
        return f"The {sheet.name.split()[-1].lower()} follows on 1 page."
    words = f"It follows on {rows} × {columns} pages, A1 at the top left."
    if kept < columns * rows:
        words = f"{words} Those without a piece are left out: {kept} are here."
    return f"{words} Glue the pages at the crosses."


def _fitting(lines: Sequence[Line], room_mm: float) -> int:
    """Return how many lines of a legend go into a height, one at least."""
    heights = line_heights(_TEXT_MM, [(line.width_mm, line.height_mm) for line in lines])
    return max(1, int(np.searchsorted(np.cumsum(heights), room_mm, side="right")))


def _notes(notes: Sequence[str], left: float, top: float, wide: float) -> tuple[list[Item], float]:
    """Return sentences below each other, and the y below them."""
    lines = [line for note in notes for line in wrapped(note, _TEXT_MM, wide)]
    step = 2.0 * _TEXT_MM
    items: list[Item] = [
        Words(left, top + number * step, line, _TEXT_MM, colour=INK)
        for number, line in enumerate(lines)
    ]
    return items, top + len(lines) * step


def _proving(top: float) -> Layer:
    """Return the square and ruler that prove the scale."""
    words = Words(MARGIN_MM + 2.0, top + 5.0, "100 mm", _TEXT_MM, colour=FAINT_INK)
    below = top + SQUARE_MM + 2.0
    return Layer("scale", (square(MARGIN_MM, top), words, *ruler(MARGIN_MM, below)))


def _window(
    sheet: ChartSheet, size: tuple[float, float], cell: tuple[int, int]
) -> tuple[float, float, float, float]:
    """Return what of the design a page shows."""
    wide, high = _usable(size)
    overlap = _overlap(sheet, size)
    x, y = cell[0] * (wide - overlap), cell[1] * (high - overlap)
    return x, y, min(x + wide, sheet.width_mm), min(y + high, sheet.height_mm)


def _room(sheet: ChartSheet, size: tuple[float, float]) -> float:
    # What no tile is sure to hold whole is shown on every tile that it reaches into.
    return sheet.reach_mm if 2.0 * sheet.reach_mm < _overlap(sheet, size) else -sheet.reach_mm


def _shown(sheet: ChartSheet, size: tuple[float, float], cell: tuple[int, int]) -> bool:
    return bool(len(_inside(sheet, _window(sheet, size, cell), _room(sheet, size))))


def _tile(
    sheet: ChartSheet, size: tuple[float, float], column: int, row: int, grid: tuple[int, int]
) -> Drawing:
    wide, high = _usable(size)
    overlap = _overlap(sheet, size)
    window = _window(sheet, size, (column, row))
    room = _room(sheet, size)
    left, top = MARGIN_MM, MARGIN_MM + HEAD_MM
    at = (left - window[0], top - window[1])
    where = f"page {page_name(column, row)} of {page_name(grid[0] - 1, grid[1] - 1)}"
    scale = (
        *(() if sheet.light else (square(left, top),)),
        *ruler(left, top + high + 2.0),
        Words(
            left,
            top + high + 7.0,
            _RULER_WORDS if sheet.light else _TILE_WORDS,
            1.8,
            colour=FAINT_INK,
        ),
    )
    match = replace(MATCH, stroke=_LIGHT_INK) if sheet.light else MATCH
    layers = (
        Layer("artwork", _lines(sheet, window, at)),
        Layer("scale", scale),
        Layer("pieces", _pieces(sheet, window, at, room)),
        Layer("garment", _garment(sheet, window, at)),
        Layer(
            "match",
            tuple(crosses((wide, high), (column, row), grid, (left, top), overlap, match)),
        ),
        Layer("words", tuple(_head(sheet, left, wide, where))),
    )
    return Drawing(
        *size,
        tuple(layer for layer in layers if layer.items),
        title=f"{sheet.name}, {where}",
        background="#ffffff",
    )


def _inside(sheet: ChartSheet, window: tuple[float, float, float, float], room_mm: float) -> Ints:
    """Return the pieces with their centres this far inside a window, outside if below 0.

    At the design's own edges nothing is cut: its bounds hold every piece.
    """
    return np.flatnonzero(
        _between(sheet.xy[:, 0], window[0], window[2], sheet.width_mm, room_mm)
        & _between(sheet.xy[:, 1], window[1], window[3], sheet.height_mm, room_mm)
    )


def _pieces(
    sheet: ChartSheet,
    window: tuple[float, float, float, float],
    at: tuple[float, float],
    room_mm: float = 0.0,
) -> tuple[Item, ...]:
    """Return the pieces inside a window."""
    rows = _inside(sheet, window, room_mm)
    if not len(rows):
        return ()
    # Edge, symbol, edge, symbol: where pieces lap, the upper one covers the symbol below it.
    pictures = (*((edge,) for edge in sheet.edges), *sheet.glyphs)
    which = np.stack([sheet.which[rows], sheet.which[rows] + len(sheet.edges)], axis=1)
    angle = np.stack([sheet.angle_deg[rows], np.zeros(len(rows))], axis=1)
    xy = np.repeat(sheet.xy[rows] + np.array(at), 2, axis=0)
    return (Stamps("chart", pictures, which.ravel(), xy, angle.ravel()),)


def _between(at: Floats, low: float, high: float, whole: float, room: float) -> Bools:
    lowest, highest = (-inf if low <= 0.0 else low + room), (inf if high >= whole else high - room)
    return (at >= lowest) & (at <= highest)


def _lines(
    sheet: ChartSheet, window: tuple[float, float, float, float], at: tuple[float, float]
) -> tuple[Item, ...]:
    parts = [part + np.array(at) for line in sheet.lines for part in cut(line, window)]
    return (Lines(tuple(parts), _FAINT),) if parts else ()


def _garment(
    sheet: ChartSheet, window: tuple[float, float, float, float], at: tuple[float, float]
) -> tuple[Item, ...]:
    """Return the lines through the middle of the design, and the garment's own with names."""
    items: list[Item] = []
    if sheet.centre_mm is not None:
        x, y = sheet.centre_mm
        lines = (
            np.array([[x, 0.0], [x, sheet.height_mm]]),
            np.array([[0.0, y], [sheet.width_mm, y]]),
        )
        parts = [part + np.array(at) for line in lines for part in cut(line, window)]
        items += [Lines(tuple(parts), _LIGHT_CENTRE if sheet.light else _CENTRE)] if parts else []
    for name, line in sheet.marks:
        parts = [part + np.array(at) for part in cut(line, window)]
        if not parts:
            continue
        items.append(Lines(tuple(parts), _LIGHT_GARMENT if sheet.light else _GARMENT))
        # Beside the line's highest point on the page, where a name has room.
        x, y = min(np.concatenate(parts).tolist(), key=lambda point: (point[1], point[0]))
        left = x < at[0] + (window[0] + window[2]) / 2.0
        room = y - at[1] - window[1] > 4.0
        items.append(
            Words(
                x + (1.2 if left else -1.2),
                y - 1.2 if room else y + 3.0,
                name,
                2.0,
                "start" if left else "end",
                colour=_LIGHT_INK if sheet.light else _GARMENT_INK,
            )
        )
    return tuple(items)


def _head(sheet: ChartSheet, left: float, wide: float, where: str) -> Iterator[Item]:
    first = fitted(sheet.title.words, 3.2, wide, bold=True)
    yield Words(left, MARGIN_MM + 4.0, first, 3.2, bold=True, colour=INK)
    parts = (f"{_first(sheet.name)} at true size", sheet.use, where)
    second = " · ".join(part for part in parts if part)
    yield Words(left, MARGIN_MM + 9.0, fitted(second, _TEXT_MM, wide), _TEXT_MM, colour=FAINT_INK)
    if state := sheet.title.state:
        # Never cut short: a chart for stretched cloth is wrong on any other.
        whole = (height for height in (2.6, 2.2, 1.8) if fitted(state, height, wide) == state)
        yield Words(left, MARGIN_MM + 12.6, state, next(whole, 1.4), colour=INK)
    if sheet.title.stop:
        yield Words(
            left + wide,
            MARGIN_MM + 9.0,
            sheet.title.stop,
            3.2,
            anchor="end",
            bold=True,
            colour=_STOP_RED,
        )


def _first(name: str) -> str:
    """Return what a sheet is called without whether it is mirrored, which its use says."""
    return name.removeprefix("MIRRORED ").capitalize()


def _legend(sheet: ChartSheet, room: Room, lines: Sequence[Line]) -> tuple[list[Item], float]:
    whole = {line.entry.code: number for number, line in enumerate(sheet.legend)}

    def swatch(entry: Entry, index: int, middle: tuple[float, float], __: float) -> list[Item]:
        none = np.zeros(1, dtype=np.int64)
        name = f"sign-{whole[entry.code]}"
        return [Stamps(name, (lines[index].items,), none, np.array([middle]), np.zeros(1))]

    boxes = [(line.width_mm, line.height_mm) for line in lines]
    return legend([line.entry for line in lines], room, swatch, boxes)
