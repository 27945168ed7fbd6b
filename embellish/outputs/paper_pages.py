"""A drawing at true size on pages of paper that repeat each other, with what proves the scale."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil
from typing import Final, TypeAlias

import numpy as np
import shapely

from embellish.arrays import Floats
from embellish.geometry.outlines import bounds
from embellish.geometry.outlines import placed as placed_outline
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
from embellish.outputs.legend import FAINT_INK, INK, box, fitted
from embellish.outputs.paper import MARGIN_MM, SIZES_MM, Paper
from embellish.outputs.proving import crosses, page_name, ruler, square

OVERLAP_MM: Final = 10.0
"""How far a page repeats its neighbour at least, to be glued."""
HEAD_MM: Final = 10.0
FOOT_MM: Final = 9.0
_SLACK_MM: Final = 0.1
_ADVANCE: Final = 0.9
"""Width of a letter over the height of capitals, on the safe side."""
_SCALE_WORDS: Final = (
    "Print at 100 %, not fitted to the page: the dashed square is 100 mm each way."
)
_WHITE: Final = Style(fill="#ffffff")

Window: TypeAlias = tuple[float, float, float, float]


def paper_pages(drawing: Drawing, paper: Paper = "A4") -> list[Drawing]:
    """Return the pages on which a drawing is printed at true size.

    Circles and outlines are whole on at least one page each; lines are cut at a page's window.
    The paper is turned where that takes fewer pages.

    Parameters
    ----------
    drawing
        Of circles, outlines, lines and words.
    paper
        Its size.

    Raises
    ------
    TypeError
        Where it has other items.
    """
    upright = SIZES_MM[paper]
    overlap = max(OVERLAP_MM, _widest(drawing) + _SLACK_MM)
    size = min((upright, upright[::-1]), key=lambda each: np.prod(_grid(drawing, each, overlap)))
    overlap = min(overlap, min(_usable(size)) / 2.0)
    columns, rows = _grid(drawing, size, overlap)
    return [
        _page(drawing, size, (c, r), (columns, rows), overlap)
        for r in range(rows)
        for c in range(columns)
    ]


def _usable(size: tuple[float, float]) -> tuple[float, float]:
    return size[0] - 2.0 * MARGIN_MM, size[1] - 2.0 * MARGIN_MM - HEAD_MM - FOOT_MM


def _grid(drawing: Drawing, size: tuple[float, float], overlap: float) -> tuple[int, int]:
    wide, high = _usable(size)
    overlap = min(overlap, min(wide, high) / 2.0)
    return (
        max(1, ceil((drawing.width_mm - overlap) / (wide - overlap))),
        max(1, ceil((drawing.height_mm - overlap) / (high - overlap))),
    )


def _page(
    drawing: Drawing,
    size: tuple[float, float],
    cell: tuple[int, int],
    grid: tuple[int, int],
    overlap: float,
) -> Drawing:
    wide, high = _usable(size)
    x, y = cell[0] * (wide - overlap), cell[1] * (high - overlap)
    window = (x, y, x + wide, y + high)
    left, top = MARGIN_MM, MARGIN_MM + HEAD_MM
    shown = [
        Layer(layer.id, tuple(_shown(layer.items, window, (left - x, top - y))))
        for layer in drawing.layers
    ]
    where = ""
    if grid != (1, 1):
        last = page_name(grid[0] - 1, grid[1] - 1)
        where = f"Page {page_name(*cell)} of A1 to {last}: glue the pages cross on cross."
    foot = top + high
    layers = (
        Layer("scale", (square(left, top),)),
        *(layer for layer in shown if layer.items),
        # What reaches over a page's window would be cut by the printer somewhere: here by us.
        Layer("rim", tuple(_rim(size, (left, top, wide, high)))),
        Layer("match", tuple(crosses((wide, high), cell, grid, (left, top), overlap))),
        Layer(
            "words",
            (
                Words(left, MARGIN_MM + 3.5, fitted(drawing.title, 2.6, wide), 2.6, colour=INK),
                Words(left, MARGIN_MM + 7.8, where, 2.2, colour=INK),
                *ruler(left, foot + 2.0),
                Words(left, foot + 7.5, _SCALE_WORDS, 1.8, colour=FAINT_INK),
            ),
        ),
    )
    return Drawing(*size, layers, title=drawing.title, background="#ffffff")


def _rim(size: tuple[float, float], inner: Window) -> Iterator[Item]:
    (width, height), (left, top, wide, high) = size, inner
    right, foot = left + wide, top + high
    yield Lines(
        (
            box(0.0, 0.0, width, top),
            box(0.0, foot, width, height - foot),
            box(0.0, top, left, high),
            box(right, top, width - right, high),
        ),
        _WHITE,
        closed=True,
    )


def _shown(items: tuple[Item, ...], window: Window, by: tuple[float, float]) -> Iterator[Item]:
    """Yield what reaches into a window, moved."""
    for item in items:
        yield from _KINDS[type(item)](item, window, by) if type(item) in _KINDS else _refused(item)


def _refused(item: Item) -> Iterator[Item]:
    raise TypeError(f"{type(item).__name__} cannot be tiled over pages")


def _circles(item: Circles, window: Window, by: tuple[float, float]) -> Iterator[Item]:
    radius = np.asarray(item.radius_mm)
    boxes = np.concatenate([item.xy - radius[:, None], item.xy + radius[:, None]], axis=1)
    keep = _meets(boxes, window)
    if keep.any():
        yield Circles(item.xy[keep] + np.array(by), radius[keep], item.style)


def _chains(item: Chains, window: Window, by: tuple[float, float]) -> Iterator[Item]:
    boxes = np.array([bounds(each) for each in item.outlines]).reshape(-1, 4)
    keep = np.flatnonzero(_meets(boxes, window)).tolist()
    if keep:
        yield Chains(tuple(placed_outline(item.outlines[i], *by) for i in keep), item.style)


def _lines(item: Lines, window: Window, by: tuple[float, float]) -> Iterator[Item]:
    rings = [np.vstack([line, line[:1]]) if item.closed else line for line in item.lines]
    cut = [shapely.clip_by_rect(shapely.LineString(ring), *window) for ring in rings]
    parts: list[Floats] = [
        shapely.get_coordinates(part) + np.array(by)
        for each in cut
        for part in shapely.get_parts(each)
        if part.geom_type == "LineString"
    ]
    if parts:
        yield Lines(tuple(parts), item.style)


def _words(item: Words, window: Window, by: tuple[float, float]) -> Iterator[Item]:
    # Words reach no further than this from their anchor, whichever way they run.
    reach = item.height_mm * (1.0 + _ADVANCE * len(item.text))
    x, y = item.x_mm, item.y_mm
    if _meets(np.array([[x - reach, y - reach, x + reach, y + reach]]), window)[0]:
        yield replace(item, x_mm=x + by[0], y_mm=y + by[1])


_KINDS: Final[dict[type, Callable[..., Iterator[Item]]]] = {
    Circles: _circles,
    Chains: _chains,
    Lines: _lines,
    Words: _words,
}


def _meets(boxes: Floats, window: Window) -> np.ndarray:
    x0, y0, x1, y1 = window
    return (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1) & (boxes[:, 3] > y0)


def _widest(drawing: Drawing) -> float:
    """Return the greatest side of a hole: pages repeat each other by so much."""
    widest = 0.0
    for item in (item for layer in drawing.layers for item in layer.items):
        if isinstance(item, Circles) and len(item.xy):
            widest = max(widest, 2.0 * float(np.max(item.radius_mm)))
        elif isinstance(item, Chains):
            boxes = np.array([bounds(each) for each in item.outlines]).reshape(-1, 2, 2)
            widest = max(widest, float(np.ptp(boxes, axis=1).max(initial=0.0)))
    return widest
