"""Signs of a chart: a symbol a code on its own outline, and the pictures of a legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import Outline, bounds, mirrored, placed, scaled
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.layout import Layout
from embellish.outputs.colours import PALETTE
from embellish.outputs.drawing.drawing import Chains, Circles, Lines, Style
from embellish.outputs.drawing.numbers import number
from embellish.outputs.legend import Entry
from embellish.outputs.seated import seated
from embellish.outputs.symbols import Symbol, symbols

_GLYPH_SHARE: Final = 0.64
_GLYPH_MOST_MM: Final = 2.2
_LINE_MM: Final = 0.12
_INK: Final = "#000000"
MOST_MM: Final = (30.0, 20.0)
"""Width and height of the largest picture of a legend; what is larger is drawn to scale."""
_SCALES: Final = (1, 2, 3, 4, 5, 10, 20, 50, 100, 200, 500, 1000)


@dataclass(frozen=True, slots=True)
class Sign:
    """How a code is shown: its symbol, and a colour beside it for those who see it."""

    symbol: Symbol
    colour: str

    def edge(self, piece: Piece, *, mirror: bool) -> Circles | Chains:
        """Return the piece's outline at nominal size, about its centre."""
        outline = piece_outline(piece, "nominal")
        style = Style(fill="#ffffff", stroke=self.colour, stroke_width_mm=_LINE_MM)
        if outline.round_radius_mm is not None:
            return Circles(np.zeros((1, 2)), np.array([outline.round_radius_mm]), style)
        return Chains((_seen_from_behind(outline) if mirror else outline,), style)

    def glyph(self, piece: Piece) -> tuple[Lines, ...]:
        """Return the symbol at the size that goes into the piece however it is turned."""
        girth = min(piece.length_mm.nominal, piece.width_mm.nominal)
        return self.symbol.drawn(min(_GLYPH_SHARE * girth / 2.0, _GLYPH_MOST_MM), _INK)


def _seen_from_behind(outline: Outline) -> Outline:
    """Return the outline to be turned by a mirrored angle: mirrored across its length.

    A mirror takes the direction of the length along with it, so that what is left to mirror in
    the piece's own frame is the width.
    """
    flipped = mirrored(outline)
    return Outline(-flipped.points, flipped.bulges, flipped.round_radius_mm)


def signs_of(layout: Layout) -> dict[str, Sign]:
    """Return a sign for each piece that is used, in the layout's own order."""
    counts = np.bincount(seated(layout).piece, minlength=len(layout.pieces)).tolist()
    used = [piece.code for piece, count in zip(layout.pieces, counts, strict=True) if count]
    given = symbols(used)
    return {
        code: Sign(given[code], PALETTE[index % len(PALETTE)]) for index, code in enumerate(used)
    }


@dataclass(frozen=True, eq=False, slots=True)
class Line:
    """One line of a chart's legend: its words, and its picture about the middle of its bounds.

    Parameters
    ----------
    entry
        Code, name, size and count; where the picture is not at true size, the size says so.
    items
        What is drawn, in order.
    width_mm, height_mm
        Of the picture.
    """

    entry: Entry
    items: tuple[Circles | Chains | Lines, ...]
    width_mm: float
    height_mm: float


def legend_lines(
    entries: Sequence[Entry], signs: dict[str, Sign], *, mirror: bool = False
) -> tuple[Line, ...]:
    """Return the legend of a chart: a piece as it looks there, a unit with all its members.

    Pictures are at true size where they fit, else at the largest of a few round scales that does.
    Entries with a piece that has no sign are left out.
    """
    return tuple(
        _line(entry, signs, mirror=mirror)
        for entry in entries
        if all(member.piece.code in signs for member in entry.members)
    )


def _line(entry: Entry, signs: dict[str, Sign], *, mirror: bool) -> Line:
    to_sheet = Affine.mirror_x() if mirror else IDENTITY
    items: list[Circles | Chains | Lines] = []
    boxes = []
    for member in entry.members:
        sign = signs[member.piece.code]
        x, y = to_sheet(np.array([member.dx_mm, member.dy_mm])).tolist()
        angle = float(to_sheet.turned_deg(np.array(member.angle_deg)))
        edge = sign.edge(member.piece, mirror=mirror)
        if isinstance(edge, Circles):
            items.append(replace(edge, xy=edge.xy + np.array([x, y])))
            boxes.append(
                (
                    *(edge.xy[0] + (x, y) - edge.radius_mm[0]).tolist(),
                    *(edge.xy[0] + (x, y) + edge.radius_mm[0]).tolist(),
                )
            )
        else:
            outline = placed(edge.outlines[0], x, y, angle)
            items.append(replace(edge, outlines=(outline,)))
            boxes.append(bounds(outline))
        items += [
            replace(part, lines=tuple(line + np.array([x, y]) for line in part.lines))
            for part in sign.glyph(member.piece)
        ]
    low, high = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
    width, height = (high - low).tolist()
    many = next(
        (each for each in _SCALES if width <= MOST_MM[0] * each and height <= MOST_MM[1] * each),
        _SCALES[-1],
    )
    shown = tuple(_drawn(item, -(low + high) / 2.0, 1.0 / many) for item in items)
    size = entry.size or f"{number(round(width, 2))} × {number(round(height, 2))} mm"
    if many > 1:
        size = f"{size} · drawn 1:{many}"
    return Line(replace(entry, size=size), shown, width / many, height / many)


def _drawn(item: Circles | Chains | Lines, move: Floats, factor: float) -> Circles | Chains | Lines:
    """Return an item moved, then scaled about the origin; pens keep their width on outlines."""
    if isinstance(item, Circles):
        return replace(item, xy=(item.xy + move) * factor, radius_mm=item.radius_mm * factor)
    if isinstance(item, Chains):
        x, y = move.tolist()
        return replace(
            item, outlines=tuple(scaled(placed(each, x, y), factor) for each in item.outlines)
        )
    pen = replace(item.style, stroke_width_mm=item.style.stroke_width_mm * factor)
    return replace(item, lines=tuple((line + move) * factor for line in item.lines), style=pen)
