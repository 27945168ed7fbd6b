"""What proves the scale of a page and joins it to its neighbours: square, ruler and crosses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.outputs.drawing.drawing import Item, Layer, Lines, Style, Words
from embellish.outputs.legend import FAINT_INK, box
from embellish.outputs.paper import MARGIN_MM

SQUARE_MM: Final = 100.0
TEXT_MM: Final = 2.4
PROVING: Final = Style(stroke="#8a8f9c", stroke_width_mm=0.12, dash_mm=(1.0, 1.0))
_MATCH: Final = Style(stroke="#000000", stroke_width_mm=0.15)


def proving(square: float) -> Layer:
    """Return the square and ruler that prove the scale."""
    return Layer(
        "scale",
        (
            Lines((box(MARGIN_MM, square, SQUARE_MM, SQUARE_MM),), PROVING, closed=True),
            Words(MARGIN_MM + 2.0, square + 5.0, "100 mm", TEXT_MM, colour=FAINT_INK),
            *ruler(MARGIN_MM, square + SQUARE_MM + 2.0),
        ),
    )


def matches(
    usable: tuple[float, float],
    cell: tuple[int, int],
    grid: tuple[int, int],
    corner: tuple[float, float],
    overlap: float,
    ink: str = "#000000",
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
            Style(stroke=ink, stroke_width_mm=0.15),
        )


def ruler(left: float, top: float) -> Iterator[Item]:
    """Yield a ruler of 100 mm, a tick a centimetre and a small one each 5 mm."""
    ticks = [np.array([[left, top], [left + SQUARE_MM, top]])]
    for five in range(21):
        x = left + 5.0 * five
        ticks.append(np.array([[x, top], [x, top + (2.0 if five % 2 == 0 else 1.0)]]))
    yield Lines(tuple(ticks), _MATCH)
    yield Words(left + SQUARE_MM + 1.5, top + 2.0, "100 mm", 1.8, colour=FAINT_INK)


def letter(row: int) -> str:
    """Return the letter of a row of pages."""
    return chr(ord("A") + row) if row < 26 else f"A{letter(row - 26)}"
