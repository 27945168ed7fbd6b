"""What a printed page carries to prove its scale and to be glued to the next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.outputs.drawing.drawing import Item, Lines, Style, Words
from embellish.outputs.legend import FAINT_INK, box

SQUARE_MM: Final = 100.0
PROVING: Final = Style(stroke="#8a8f9c", stroke_width_mm=0.12, dash_mm=(1.0, 1.0))
MATCH: Final = Style(stroke="#000000", stroke_width_mm=0.15)
_ARM_MM: Final = 2.5


def square(left: float, top: float) -> Item:
    """Return the dashed square of 100 mm."""
    return Lines((box(left, top, SQUARE_MM, SQUARE_MM),), PROVING, closed=True)


def ruler(left: float, top: float) -> Iterator[Item]:
    """Yield a ruler of 100 mm, a tick a centimetre and a small one each 5 mm."""
    ticks = [np.array([[left, top], [left + SQUARE_MM, top]])]
    for five in range(21):
        x = left + 5.0 * five
        ticks.append(np.array([[x, top], [x, top + (2.0 if five % 2 == 0 else 1.0)]]))
    yield Lines(tuple(ticks), MATCH)
    yield Words(left + SQUARE_MM + 1.5, top + 2.0, "100 mm", 1.8, colour=FAINT_INK)


def crosses(
    usable: tuple[float, float],
    cell: tuple[int, int],
    grid: tuple[int, int],
    corner: tuple[float, float],
    overlap: float,
    style: Style = MATCH,
) -> Iterator[Item]:
    """Yield crosses in the middle of each overlap, at the same places on both pages.

    Parameters
    ----------
    usable
        Width and height in mm of what a page shows.
    cell, grid
        Which page, as column and row from 0, of how many.
    corner
        Where on the page what it shows begins.
    overlap
        How far pages repeat each other.
    style
        Of their lines.
    """
    (wide, high), (column, row), (left, top) = usable, cell, corner
    half = overlap / 2.0
    xs, ys = [wide / 4.0, 3.0 * wide / 4.0], [high / 4.0, 3.0 * high / 4.0]
    at: list[tuple[float, float]] = []
    if column > 0:
        at += [(half, y) for y in ys]
    if column < grid[0] - 1:
        at += [(wide - half, y) for y in ys]
    if row > 0:
        at += [(x, half) for x in xs]
    if row < grid[1] - 1:
        at += [(x, high - half) for x in xs]
    for x, y in at:
        px, py = left + x, top + y
        yield Lines(
            (
                np.array([[px - _ARM_MM, py], [px + _ARM_MM, py]]),
                np.array([[px, py - _ARM_MM], [px, py + _ARM_MM]]),
            ),
            style,
        )


def page_name(column: int, row: int) -> str:
    """Return a page's name: A1 at the top left, A2 right of it, B1 below."""
    return f"{_letter(row)}{column + 1}"


def _letter(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"A{_letter(row - 26)}"
