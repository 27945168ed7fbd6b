"""A chart on one sheet, or in tiles over pages of paper, with what proves its scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, inf, prod
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats
from embellish.outputs.chart_sheet import ChartSheet
from embellish.outputs.drawing.drawing import Drawing, Item, Layer, Lines, Stamps, Style, Words
from embellish.outputs.legend import FAINT_INK, INK, Entry, Room, box, fitted, legend
from embellish.outputs.paper import MARGIN_MM, SIZES_MM, Paper

SQUARE_MM: Final = 100.0
OVERLAP_MM: Final = 10.0
"""How far a page repeats its neighbour at least, to be glued."""
HEAD_MM: Final = 14.0
FOOT_MM: Final = 9.0
_TEXT_MM: Final = 2.4
_SLACK_MM: Final = 0.1
_LINE_SHARE: Final = 3.4
"""Height of a line of a legend, in heights of its capitals, as outputs.legend sets it."""
_FAINT: Final = Style(stroke="#b8bcc6", stroke_width_mm=0.15)
_PROVING: Final = Style(stroke="#8a8f9c", stroke_width_mm=0.12, dash_mm=(1.0, 1.0))
_MATCH: Final = Style(stroke="#000000", stroke_width_mm=0.15)
_STOP_RED: Final = "#c4161c"
_TILE_WORDS: Final = "Print at 100 %: the dashed square is 100 mm each way."
_SCALE_WORDS: Final = "Print at 100 %, not fitted to the page: each side of the square is 100 mm."


def sheet_drawing(sheet: ChartSheet) -> Drawing:
    """Return the chart on one sheet: title, the design at true size, legend, scale."""
    width = max(sheet.width_mm, SQUARE_MM) + 2.0 * MARGIN_MM
    top = MARGIN_MM + HEAD_MM
    at = (MARGIN_MM + (width - 2.0 * MARGIN_MM - sheet.width_mm) / 2.0, top)
    window = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    below = top + sheet.height_mm + 6.0
    room = Room(MARGIN_MM, below, width - 2.0 * MARGIN_MM, _TEXT_MM)
    foot, bottom = _legend(sheet, room, sheet.legend)
    square = bottom + 4.0
    layers = (
        Layer("artwork", _lines(sheet, window, at)),
        Layer("pieces", _pieces(sheet, window, at)),
        Layer("words", (*_head(sheet, MARGIN_MM, width - 2 * MARGIN_MM, ""), *foot)),
        _proving(square),
    )
    return Drawing(
        width,
        square + SQUARE_MM + FOOT_MM + MARGIN_MM,
        tuple(layer for layer in layers if layer.items),
        title=f"{_name(sheet)} · {sheet.title.words}",
        background="#ffffff",
    )


def tiled_drawings(sheet: ChartSheet, paper: Paper) -> list[Drawing]:
    """Return the pages: the legend first, then the design in tiles that repeat 10 mm or more.

    Every piece that goes on a page at all is whole on at least one. The paper is turned where that
    takes fewer pages.
    """
    upright = SIZES_MM[paper]
    size = min((upright, upright[::-1]), key=lambda each: prod(_grid(sheet, each)))
    columns, rows = _grid(sheet, size)
    pages = _first_pages(sheet, size, columns, rows)
    pages += [
        _tile(sheet, size, c, r, (columns, rows)) for r in range(rows) for c in range(columns)
    ]
    return pages


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
    sheet: ChartSheet, size: tuple[float, float], columns: int, rows: int
) -> list[Drawing]:
    """Return the page with words, square and legend, and those that a long legend goes on over."""
    wide = size[0] - 2.0 * MARGIN_MM
    top = MARGIN_MM + HEAD_MM
    pages = "1 page" if columns * rows == 1 else f"{rows} × {columns} pages, A1 at the top left"
    glue = " Glue the pages at the crosses." if columns * rows > 1 else ""
    words = [
        Words(MARGIN_MM, top + 2.0, _SCALE_WORDS, _TEXT_MM, colour=INK),
        Words(
            MARGIN_MM,
            top + 7.0,
            f"The chart follows on {pages}.{glue}",
            _TEXT_MM,
            colour=INK,
        ),
    ]
    square = top + 12.0
    # Beside the square where the page is wide enough, else below it.
    room = Room(MARGIN_MM, square + SQUARE_MM + 12.0, wide, _TEXT_MM)
    if size[0] > size[1]:
        aside = SQUARE_MM + 14.0
        room = Room(MARGIN_MM + aside, square, wide - aside, _TEXT_MM)
    bottom = size[1] - MARGIN_MM
    lines = list(sheet.legend)
    drawings: list[Drawing] = []
    while lines or not drawings:
        many = max(1, int((bottom - room.top) / (_TEXT_MM * _LINE_SHARE)))
        items, _ = _legend(sheet, room, lines[:many])
        lines, more = lines[many:], bool(drawings)
        here = (*_head(sheet, MARGIN_MM, wide, "legend" if more else ""), *items)
        layers = (Layer("words", here if more else (*here, *words)), _proving(square))
        drawings.append(Drawing(*size, layers, title=_name(sheet), background="#ffffff"))
    return drawings


def _proving(square: float) -> Layer:
    """Return the square and ruler that prove the scale."""
    return Layer(
        "scale",
        (
            Lines((box(MARGIN_MM, square, SQUARE_MM, SQUARE_MM),), _PROVING, closed=True),
            Words(MARGIN_MM + 2.0, square + 5.0, "100 mm", _TEXT_MM, colour=FAINT_INK),
            *_ruler(MARGIN_MM, square + SQUARE_MM + 2.0),
        ),
    )


def _tile(
    sheet: ChartSheet, size: tuple[float, float], column: int, row: int, grid: tuple[int, int]
) -> Drawing:
    wide, high = _usable(size)
    overlap = _overlap(sheet, size)
    x, y = column * (wide - overlap), row * (high - overlap)
    window = (x, y, min(x + wide, sheet.width_mm), min(y + high, sheet.height_mm))
    # What no tile is sure to hold whole is shown on every tile that it reaches into.
    room = sheet.reach_mm if 2.0 * sheet.reach_mm < overlap else -sheet.reach_mm
    left, top = MARGIN_MM, MARGIN_MM + HEAD_MM
    at = (left - x, top - y)
    where = f"page {_letter(row)}{column + 1} of {_letter(grid[1] - 1)}{grid[0]}"
    proving = (
        Lines((box(left, top, SQUARE_MM, SQUARE_MM),), _PROVING, closed=True),
        *_ruler(left, top + high + 2.0),
        Words(left, top + high + 7.0, _TILE_WORDS, 1.8, colour=FAINT_INK),
    )
    layers = (
        Layer("artwork", _lines(sheet, window, at)),
        Layer("scale", proving),
        Layer("pieces", _pieces(sheet, window, at, room)),
        Layer("match", tuple(_matches((wide, high), (column, row), grid, (left, top), overlap))),
        Layer("words", tuple(_head(sheet, left, wide, where))),
    )
    return Drawing(
        *size,
        tuple(layer for layer in layers if layer.items),
        title=f"{_name(sheet)}, {where}",
        background="#ffffff",
    )


def _letter(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"A{_letter(row - 26)}"


def _matches(
    usable: tuple[float, float],
    cell: tuple[int, int],
    grid: tuple[int, int],
    corner: tuple[float, float],
    overlap: float,
) -> Iterator[Item]:
    """Yield crosses in the middle of each overlap, at the same places on both pages."""
    (wide, high), (column, row), (left, top) = usable, cell, corner
    if grid == (1, 1):
        return
    half = overlap / 2.0
    xs = [wide / 4.0, 3.0 * wide / 4.0]
    ys = [high / 4.0, 3.0 * high / 4.0]
    at: list[tuple[float, float]] = []
    if column > 0:
        at += [(half, y) for y in ys]
    if column < grid[0] - 1:
        at += [(wide - half, y) for y in ys]
    if row > 0:
        at += [(x, half) for x in xs]
    if row < grid[1] - 1:
        at += [(x, high - half) for x in xs]
    arm = 2.5
    for x, y in at:
        px, py = left + x, top + y
        yield Lines(
            (
                np.array([[px - arm, py], [px + arm, py]]),
                np.array([[px, py - arm], [px, py + arm]]),
            ),
            _MATCH,
        )


def _pieces(
    sheet: ChartSheet,
    window: tuple[float, float, float, float],
    at: tuple[float, float],
    room_mm: float = 0.0,
) -> tuple[Item, ...]:
    """Return the pieces with their centres this far inside a window, outside if below 0.

    At the design's own edges nothing is cut: its bounds hold every piece.
    """
    rows = np.flatnonzero(
        _between(sheet.xy[:, 0], window[0], window[2], sheet.width_mm, room_mm)
        & _between(sheet.xy[:, 1], window[1], window[3], sheet.height_mm, room_mm)
    )
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
    x0, y0, x1, y1 = window
    strings = [shapely.LineString(line) for line in sheet.lines if len(line) > 1]
    cut = [shapely.clip_by_rect(string, x0, y0, x1, y1) for string in strings]
    parts: list[Floats] = [
        shapely.get_coordinates(part) + np.array(at)
        for each in cut
        for part in shapely.get_parts(each)
        if part.geom_type == "LineString"
    ]
    return (Lines(tuple(parts), _FAINT),) if parts else ()


def _name(sheet: ChartSheet) -> str:
    return "MIRRORED chart" if sheet.mirror else "Chart"


def _head(sheet: ChartSheet, left: float, wide: float, where: str) -> Iterator[Item]:
    use = (
        "MIRRORED: lay pieces face down on the sticky sheet over it"
        if sheet.mirror
        else "as seen, not mirrored"
    )
    first = fitted(sheet.title.words, 3.2, wide, bold=True)
    yield Words(left, MARGIN_MM + 4.0, first, 3.2, bold=True, colour=INK)
    second = " · ".join(part for part in ("Chart at true size", use, where) if part)
    yield Words(left, MARGIN_MM + 9.0, fitted(second, _TEXT_MM, wide), _TEXT_MM, colour=FAINT_INK)
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


def _legend(sheet: ChartSheet, room: Room, lines: Sequence[Entry]) -> tuple[list[Item], float]:
    picture_of = {
        code: (edge, *glyph)
        for code, edge, glyph in zip(sheet.codes, sheet.edges, sheet.glyphs, strict=True)
    }

    def swatch(entry: Entry, _: int, middle: tuple[float, float], __: float) -> list[Item]:
        none = np.zeros(1, dtype=np.int64)
        place = np.array([middle])
        name = f"sign-{sheet.codes.index(entry.code)}"
        return [Stamps(name, (picture_of[entry.code],), none, place, np.zeros(1))]

    return legend(lines, room, swatch)


def _ruler(left: float, top: float) -> Iterator[Item]:
    """Yield a ruler of 100 mm, a tick a centimetre and a small one each 5 mm."""
    ticks = [np.array([[left, top], [left + SQUARE_MM, top]])]
    for five in range(21):
        x = left + 5.0 * five
        ticks.append(np.array([[x, top], [x, top + (2.0 if five % 2 == 0 else 1.0)]]))
    yield Lines(tuple(ticks), _MATCH)
    yield Words(left + SQUARE_MM + 1.5, top + 2.0, "100 mm", 1.8, colour=FAINT_INK)
