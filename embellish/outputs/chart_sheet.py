"""What a chart shows: each piece's outline at true size, with the symbol of its code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import Outline, mirrored
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.outputs.colours import PALETTE
from embellish.outputs.drawing.drawing import Chains, Circles, Lines, Style
from embellish.outputs.legend import Entry, entries
from embellish.outputs.seated import seated
from embellish.outputs.symbols import Symbol, symbols
from embellish.plans.title import TitleBlock

_GLYPH_SHARE: Final = 0.64
_GLYPH_MOST_MM: Final = 2.2
_LINE_MM: Final = 0.12
_INK: Final = "#000000"
_FLAT_MM: Final = 0.02
"""How far a shape's faint line may stray from its curve: less than a printed line is wide."""


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


@dataclass(frozen=True, eq=False)
class ChartSheet:
    """A chart on one sheet: what stands where, in the chart's own millimetres from (0, 0).

    Parameters
    ----------
    title
        Words that tie it to its layout.
    width_mm, height_mm
        Of the design.
    mirror
        Whether it shows the work from its wrong side.
    codes
        Of the pieces, index by index.
    edges, glyphs
        Outline and symbol of each code, about its centre: edges are turned with the piece, symbols
        are not.
    xy, angle_deg, which : arrays of shape (n, 2), (n,) and (n,)
        Centres, turns, and index into ``codes`` of every single piece.
    reach_mm
        The greatest distance of a piece's edge from its centre.
    lines
        The artwork, faintly, each of shape (k, 2).
    legend
        A line a code.
    """

    title: TitleBlock
    width_mm: float
    height_mm: float
    mirror: bool
    codes: tuple[str, ...]
    edges: tuple[Circles | Chains, ...]
    glyphs: tuple[tuple[Lines, ...], ...]
    xy: Floats
    angle_deg: Floats
    which: Ints
    reach_mm: float
    lines: tuple[Floats, ...]
    legend: tuple[Entry, ...]


def signs_of(layout: Layout) -> dict[str, Sign]:
    """Return a sign for each piece that is used, in the layout's own order."""
    counts = np.bincount(seated(layout).piece, minlength=len(layout.pieces)).tolist()
    used = [piece.code for piece, count in zip(layout.pieces, counts, strict=True) if count]
    given = symbols(used)
    return {
        code: Sign(given[code], PALETTE[index % len(PALETTE)]) for index, code in enumerate(used)
    }


def chart_sheet(
    layout: Layout,
    title: TitleBlock,
    signs: dict[str, Sign],
    artwork: Sequence[Shape] = (),
    *,
    mirror: bool = False,
) -> ChartSheet:
    """Return the chart of a layout, moved so that the design's bounds begin at (0, 0)."""
    lines = [line.points for shape in artwork for line in lines_of(shape, _FLAT_MM)]
    x0, y0, x1, y1 = _bounds(layout, lines)
    move = Affine.move(-x0, -y0)
    if mirror:
        move = Affine.mirror_x((x1 - x0) / 2.0) @ move
    pieces = seated(layout.mapped(move))
    if mirror:
        # A member's offset turns the other way in a mirrored seat: map places, not frames.
        plain = seated(layout)
        xy, angle = move(plain.xy), np.mod(move.turned_deg(plain.angle_deg), 360.0)
    else:
        xy, angle = pieces.xy, pieces.angle_deg
    codes = tuple(signs)
    index_of = {code: index for index, code in enumerate(codes)}
    which = np.array([index_of.get(piece.code, -1) for piece in layout.pieces], dtype=np.int64)
    by_code = {piece.code: piece for piece in layout.pieces}
    return ChartSheet(
        title=title,
        width_mm=x1 - x0,
        height_mm=y1 - y0,
        mirror=mirror,
        codes=codes,
        edges=tuple(sign.edge(by_code[code], mirror=mirror) for code, sign in signs.items()),
        glyphs=tuple(sign.glyph(by_code[code]) for code, sign in signs.items()),
        xy=xy,
        angle_deg=angle,
        which=which[pieces.piece],
        reach_mm=float(layout.reach_mm.max(initial=0.0)),
        lines=tuple(move(line) for line in lines),
        legend=tuple(entry for entry in entries(layout) if entry.code in signs),
    )


def _bounds(layout: Layout, lines: Sequence[Floats]) -> tuple[float, float, float, float]:
    reach = layout.reach_mm[:, None]
    corners = [layout.xy - reach, layout.xy + reach, *lines]
    every = np.concatenate([part for part in corners if len(part)] or [np.zeros((1, 2))])
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return x0, y0, x1, y1
