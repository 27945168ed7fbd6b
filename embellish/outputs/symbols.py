"""Symbols for charts: one a code, told apart without colour, legible at a millimetre.

The set is this project's own: plain strokes and solids, each of which paints at least a third
otherwise than any other, and letters that pass for digits or signs are left out. Symbols are drawn
upright whatever the turn of their piece and never mirrored, since a plus turned is a cross.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from embellish.arrays import Floats
from embellish.errors import OutputError
from embellish.outputs.drawing.drawing import Lines, Style

_Points: TypeAlias = tuple[tuple[float, float], ...]

STROKE: Final = 0.26
"""Width of a symbol's strokes, in its own half height."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol within the unit circle, y down.

    Parameters
    ----------
    name
        What a person would call it, unique in the set.
    strokes
        Lines drawn with a pen.
    solids
        Closed outlines filled.
    """

    name: str
    strokes: tuple[_Points, ...] = ()
    solids: tuple[_Points, ...] = ()

    def drawn(self, half_height_mm: float, ink: str) -> tuple[Lines, ...]:
        """Return the symbol about the origin at a size."""
        scale = half_height_mm * 0.94
        pen = Style(stroke=ink, stroke_width_mm=STROKE * half_height_mm)
        parts = []
        if self.solids:
            filled = tuple(np.array(ring) * scale for ring in self.solids)
            parts.append(Lines(filled, Style(fill=ink), closed=True))
        if self.strokes:
            # The pen's own width stays within the circle.
            inner = scale * (1.0 - STROKE / 2.0)
            lines: tuple[Floats, ...] = tuple(np.array(line) * inner for line in self.strokes)
            parts.append(Lines(lines, pen))
        return tuple(parts)


def _round(radius: float, count: int = 24, x: float = 0.0, y: float = 0.0) -> _Points:
    turns = [2.0 * math.pi * i / count for i in range(count)]
    return tuple((x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns)


def _closed(ring: _Points) -> _Points:
    return (*ring, ring[0])


_S: Final = 0.68
_SQUARE: Final[_Points] = ((-_S, -_S), (_S, -_S), (_S, _S), (-_S, _S))
_DIAMOND: Final[_Points] = ((0.0, -1.0), (0.85, 0.0), (0.0, 1.0), (-0.85, 0.0))
_SLIM: Final[_Points] = ((0.0, -1.0), (0.7, 0.0), (0.0, 1.0), (-0.7, 0.0))
_UP: Final[_Points] = ((0.0, -0.95), (0.85, 0.6), (-0.85, 0.6))
_DOWN: Final[_Points] = ((0.0, 0.95), (-0.85, -0.6), (0.85, -0.6))
_H: Final = 0.8

BASE: Final = (
    Symbol("dot", solids=(_round(0.5),)),
    Symbol("plus", strokes=(((-0.95, 0.0), (0.95, 0.0)), ((0.0, -0.95), (0.0, 0.95)))),
    Symbol("ring", strokes=(_closed(_round(0.8)),)),
    Symbol("cross", strokes=(((-0.7, -0.7), (0.7, 0.7)), ((0.7, -0.7), (-0.7, 0.7)))),
    Symbol("triangle", solids=(_UP,)),
    Symbol("square", strokes=(_closed(_SQUARE),)),
    Symbol("bar", strokes=(((-0.95, 0.0), (0.95, 0.0)),)),
    Symbol("diamond", solids=(_SLIM,)),
    Symbol("A", strokes=(((-0.65, _H), (0.0, -_H), (0.65, _H)), ((-0.4, 0.25), (0.4, 0.25)))),
    Symbol("slash", strokes=(((-0.6, 0.75), (0.6, -0.75)),)),
    Symbol(
        "H", strokes=(((-0.6, -_H), (-0.6, _H)), ((0.6, -_H), (0.6, _H)), ((-0.6, 0), (0.6, 0)))
    ),
    Symbol("hollow down triangle", strokes=(_closed(_DOWN),)),
    Symbol("T", strokes=(((-0.7, -_H), (0.7, -_H)), ((0.0, -_H), (0.0, _H)))),
    Symbol("two bars", strokes=(((-0.85, -0.4), (0.85, -0.4)), ((-0.85, 0.4), (0.85, 0.4)))),
    Symbol(
        "E", strokes=(((0.55, -_H), (-0.55, -_H), (-0.55, _H), (0.55, _H)), ((-0.55, 0), (0.4, 0)))
    ),
    Symbol("hollow diamond", strokes=(_closed(_DIAMOND),)),
    Symbol("solid square", solids=(_SQUARE,)),
    Symbol(
        "K",
        strokes=(((-0.5, -_H), (-0.5, _H)), ((0.6, -_H), (-0.5, 0.1)), ((-0.1, -0.15), (0.6, _H))),
    ),
    Symbol("ring and dot", strokes=(_closed(_round(0.88)),), solids=(_round(0.3),)),
    Symbol("L", strokes=(((-0.5, -_H), (-0.5, _H), (0.6, _H)),)),
    Symbol(
        "backslash and dots",
        strokes=(((-0.6, -0.75), (0.6, 0.75)),),
        solids=(_round(0.2, 12, 0.55, -0.5), _round(0.2, 12, -0.55, 0.5)),
    ),
    Symbol("M", strokes=(((-0.7, _H), (-0.7, -_H), (0.0, 0.2), (0.7, -_H), (0.7, _H)),)),
    Symbol(
        "hourglass",
        solids=(((-0.75, -0.8), (0.75, -0.8), (0.0, 0.0)), ((-0.75, 0.8), (0.0, 0.0), (0.75, 0.8))),
    ),
    Symbol(
        "P",
        strokes=(
            (
                (-0.5, _H),
                (-0.5, -_H),
                (0.35, -_H),
                (0.6, -0.55),
                (0.6, -0.2),
                (0.35, 0.05),
                (-0.5, 0.05),
            ),
        ),
    ),
    Symbol(
        "half disk",
        solids=(
            (
                (-0.9, 0.0),
                *[
                    (-0.9 * math.cos(math.pi * i / 12), -0.9 * math.sin(math.pi * i / 12))
                    for i in range(13)
                ],
            ),
        ),
    ),
    Symbol("Y", strokes=(((-0.65, -_H), (0.0, 0.0), (0.65, -_H)), ((0.0, 0.0), (0.0, _H)))),
    Symbol(
        "two blocks",
        solids=(
            ((-_S, -_S), (-0.08, -_S), (-0.08, -0.08), (-_S, -0.08)),
            ((0.08, 0.08), (_S, 0.08), (_S, _S), (0.08, _S)),
        ),
    ),
    Symbol(
        "three dots",
        solids=(
            _round(0.32, 16, 0.0, -0.55),
            _round(0.32, 16, -0.55, 0.45),
            _round(0.32, 16, 0.55, 0.45),
        ),
    ),
    Symbol(
        "U",
        strokes=(((-0.6, -_H), (-0.6, 0.3), (-0.3, 0.75), (0.3, 0.75), (0.6, 0.3), (0.6, -_H)),),
    ),
)
"""Symbols given first, the ones that differ most before those that differ less."""

_BARS: Final[tuple[tuple[str, tuple[float, float]], ...]] = (
    (" over a bar", (0.0, 1.0)),
    (" under a bar", (0.0, -1.0)),
    (" left of a bar", (1.0, 0.0)),
    (" right of a bar", (-1.0, 0.0)),
)
"""Where the bar stands, seen from the middle, once the plain symbols are used up."""

_SMALLER: Final = 0.7
_ASIDE: Final = 0.25

MOST: Final = len(BASE) * (1 + len(_BARS))


def symbols(codes: Sequence[str]) -> dict[str, Symbol]:
    """Return a symbol for each code, by its place in the sequence.

    Raises
    ------
    OutputError
        For more codes than there are symbols.
    """
    if len(codes) > MOST:
        raise OutputError(
            f"a chart tells {MOST} pieces apart, and this layout has {len(codes)}",
            item="chart",
            mend="Chart some of the lays at a time.",
        )
    return {code: _numbered(index) for index, code in enumerate(codes)}


def _numbered(index: int) -> Symbol:
    base = BASE[index % len(BASE)]
    if index < len(BASE):
        return base
    words, (x, y) = _BARS[index // len(BASE) - 1]

    def aside(points: _Points) -> _Points:
        return tuple((_SMALLER * px - _ASIDE * x, _SMALLER * py - _ASIDE * y) for px, py in points)

    along, at = 0.5, 0.92
    bar = ((at * x - along * y, at * y - along * x), (at * x + along * y, at * y + along * x))
    return Symbol(
        base.name + words,
        (*(aside(line) for line in base.strokes), bar),
        tuple(aside(ring) for ring in base.solids),
    )
