"""The words and swatches beside a picture of a layout: what is in it, how large it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Piece
from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import Item, Lines, Style, Words
from embellish.outputs.drawing.fonts import drawable, text_width_mm
from embellish.outputs.drawing.numbers import number
from embellish.outputs.seated import seated

INK: Final = "#1d1f24"
FAINT_INK: Final = "#5d6270"
RULE: Final = "#c9ccd3"
_STEP: Final = 3.4
"""Height of a line at least, in heights of its capitals."""
_BARS_MM: Final = (1000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0)


@dataclass(frozen=True, slots=True)
class Room:
    """Where words may stand: left edge, top, width, and the height of capitals, in mm."""

    left: float
    top: float
    width: float
    text: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece about the middle of its seat."""

    piece: Piece
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    angle_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a legend."""

    code: str
    name: str
    size: str
    count: int
    members: tuple[Placed, ...]


Box: TypeAlias = tuple[float, float]
"""Width and height in mm."""
Swatch: TypeAlias = Callable[[Entry, int, tuple[float, float], float], list[Item]]


def entries(layout: Layout) -> tuple[Entry, ...]:
    """Return a line a piece that is used, counted with the members of units, then units."""
    counts = np.bincount(seated(layout).piece, minlength=len(layout.pieces)).tolist()
    lines = [
        Entry(piece.code, piece_name(piece), piece_size(piece), count, (Placed(piece),))
        for piece, count in zip(layout.pieces, counts, strict=True)
        if count
    ]
    by_code = {piece.code: piece for piece in layout.pieces}
    sets = np.bincount(layout.unit[layout.unit >= 0], minlength=len(layout.units)).tolist()
    for unit, count in zip(layout.units, sets, strict=True):
        if count:
            words = "set together: " + " + ".join(member.piece for member in unit.members)
            members = tuple(
                Placed(by_code[one.piece], one.dx_mm, one.dy_mm, one.angle_deg)
                for one in unit.members
            )
            lines.append(Entry(unit.name, words, "", count, members))
    return tuple(lines)


def piece_name(piece: Piece) -> str:
    """Return what a piece is, in words."""
    name = piece.name or piece.kind
    return f"{name}, {piece.colour}" if piece.colour and piece.colour not in name else name


def piece_size(piece: Piece) -> str:
    """Return the nominal size of a piece, its trade label first."""
    length, width = piece.length_mm.nominal, piece.width_mm.nominal
    mm = f"{number(round(length, 2))} mm"
    if length != width:
        mm = f"{number(round(length, 2))} × {number(round(width, 2))} mm"
    # A label that is the millimetres once more tells nothing.
    plain = piece.size.replace("mm", "").replace("x", "").replace(" ", "").replace(".", "")
    return mm if plain.isdigit() or not plain else f"{piece.size} · {mm}"


def fitted(text: str, height_mm: float, width_mm: float, *, bold: bool = False) -> str:
    """Return the text, cut with an ellipsis where it is wider than the room for it."""
    if text_width_mm(text, height_mm, bold=bold) <= width_mm:
        return text
    short = drawable(text)
    while short and text_width_mm(short + "…", height_mm, bold=bold) > width_mm:
        short = short[:-1]
    return short.rstrip() + "…"


def wrapped(text: str, height_mm: float, width_mm: float) -> list[str]:
    """Return the text in lines no wider than the room, broken at spaces."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, height_mm) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return [fitted(line, height_mm, width_mm) for line in lines]


def scale_bar(x_mm: float, y_mm: float, most_mm: float, height_mm: float) -> tuple[Item, ...]:
    """Return a bar of a round length, in ten parts, with its words; (x, y) is its left end."""
    length = next((bar for bar in _BARS_MM if bar <= most_mm), _BARS_MM[-1])
    tall = height_mm * 0.7
    step = length / 10.0
    dark = tuple(
        np.array([[a, y_mm], [a + step, y_mm], [a + step, y_mm + tall], [a, y_mm + tall]])
        for a in (x_mm + step * np.arange(0, 10, 2)).tolist()
    )
    frame = np.array(
        [[x_mm, y_mm], [x_mm + length, y_mm], [x_mm + length, y_mm + tall], [x_mm, y_mm + tall]]
    )
    low = y_mm + tall + height_mm * 1.5
    return (
        Lines(dark, Style(fill=INK), closed=True),
        Lines((frame,), Style(stroke=INK, stroke_width_mm=height_mm * 0.06), closed=True),
        Words(x_mm, low, "0", height_mm * 0.8, colour=FAINT_INK),
        Words(x_mm + length, low, f"{number(length)} mm", height_mm * 0.8, "end", colour=FAINT_INK),
    )


def line_heights(text_mm: float, boxes: Sequence[Box]) -> list[float]:
    """Return how high each line of a legend is, for pictures of these sizes."""
    step = text_mm * _STEP
    return [step if height < step else height + text_mm for _, height in boxes]


def legend(
    lines: Sequence[Entry], room: Room, swatch: Swatch, boxes: Sequence[Box] | None = None
) -> tuple[list[Item], float]:
    """Return the table of a legend, and the y below it.

    Parameters
    ----------
    lines
        What to list.
    room
        Where it may stand.
    swatch
        Draws what stands at the head of a line: ``(entry, index, middle, side) -> items``.
    boxes
        Width and height of each of these pictures in mm, where they are not squares of that side.
    """
    text, left, right = room.text, room.left, room.left + room.width
    if not lines:
        return [], room.top
    side = text * _STEP * 0.86
    boxes = boxes if boxes is not None else [(side, side)] * len(lines)
    widest = max([side, *(width for width, _ in boxes)])
    codes = max((text_width_mm(line.code, text, bold=True) for line in lines), default=0.0)
    sizes = max((text_width_mm(line.size, text) for line in lines), default=0.0)
    codes, sizes = min(codes, room.width * 0.28), min(sizes, room.width * 0.3)
    counts = max((text_width_mm(str(line.count), text, bold=True) for line in lines), default=0.0)
    at_code = left + widest + text * 1.2
    at_name = at_code + codes + text * 1.5
    at_size = right - counts - text * 1.5
    name_width = at_size - sizes - text * 1.5 - at_name
    y = room.top
    items: list[Item] = []
    for index, (line, step) in enumerate(zip(lines, line_heights(text, boxes), strict=True)):
        items.append(rule(left, right, y, text))
        middle = y + step / 2.0
        base = middle + text / 2.0
        items += swatch(line, index, (left + widest / 2.0, middle), side)
        code = fitted(line.code, text, codes * 1.01, bold=True)
        size = fitted(line.size, text, sizes * 1.01)
        items += [
            Words(at_code, base, code, text, bold=True, colour=INK),
            Words(at_size, base, size, text, "end", colour=INK),
            Words(right, base, str(line.count), text, "end", colour=INK, bold=True),
        ]
        items += _two_lines(line.name, at_name, middle, text * 0.9, name_width)
        y += step
    items.append(rule(left, right, y, text))
    return items, y


def _two_lines(words: str, x: float, middle: float, height: float, width: float) -> list[Item]:
    lines = wrapped(words, height, width)
    if len(lines) > 2:
        lines = [lines[0], fitted(" ".join(lines[1:]), height, width)]
    first = middle + height / 2.0 - (len(lines) - 1) * height * 0.8
    return [
        Words(x, first + order * height * 1.6, line, height, colour=INK)
        for order, line in enumerate(lines)
    ]


def box(x: float, y: float, width: float, height: float) -> Floats:
    """Return the corners of a rectangle, shape (4, 2)."""
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])


def rule(left: float, right: float, y: float, text: float) -> Lines:
    """Return the thin line between two lines of a table."""
    line = np.array([[left, y], [right, y]])
    return Lines((line,), Style(stroke=RULE, stroke_width_mm=text * 0.05))
