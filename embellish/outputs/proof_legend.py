"""The words and swatches beside a picture of a layout: what is in it, how large it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.catalogue.piece import Piece
from embellish.layout.layout import Layout
from embellish.outputs.drawing.drawing import Item, Lines, Style, Words
from embellish.outputs.drawing.fonts import drawable, text_width_mm
from embellish.outputs.drawing.numbers import number
from embellish.outputs.seated import seated

INK: Final = "#1d1f24"
FAINT_INK: Final = "#5d6270"
RULE: Final = "#c9ccd3"
_BARS_MM: Final = (1000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0)


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


def columns(lines: Sequence[Entry], height_mm: float) -> tuple[float, float]:
    """Return the widths that the codes and the sizes of a legend want."""
    codes = max((text_width_mm(line.code, height_mm, bold=True) for line in lines), default=0.0)
    sizes = max((text_width_mm(line.size, height_mm) for line in lines), default=0.0)
    return codes, sizes
