"""A test-cut card: holes of each size in steps of clearance, to find which one brushes well.

Cut it from the sheet of the job, brush each row, and enter the least clearance that fills at once
and lifts cleanly under ``[template] clearance_mm``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats, frozen
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_footprint
from embellish.geometry.outlines import Outline, bounds, placed
from embellish.plans.template_holes import Holes, hole_of

STEP_MM: Final = 0.05
_RIM_MM: Final = 6.0
_WALL_MM: Final = 1.5
"""Wide, so that a thin wall does not spoil the trial of the clearance."""
_WORDS_MM: Final = 4.5
_REPEAT: Final = 3


@dataclass(frozen=True, slots=True)
class CardWords:
    """A line of words on the card; (x, y) is the start of its baseline."""

    x_mm: float
    y_mm: float
    text: str


@dataclass(frozen=True, eq=False)
class CutCard:
    """A card of trial holes, in its own mm, y down.

    Parameters
    ----------
    holes
        All of them, row by row, from the least clearance to the most.
    codes
        Of each hole, the piece it is for.
    clearance_mm : array of shape (n,)
        Of each hole.
    words
        What stands beside them.
    width_mm, height_mm
        Of the card.
    """

    holes: Holes
    codes: tuple[str, ...]
    clearance_mm: Floats
    words: tuple[CardWords, ...]
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "clearance_mm", frozen(self.clearance_mm))


def cut_card(
    pieces: Iterable[Piece],
    least_mm: float = 0.1,
    most_mm: float = 0.6,
    repeat: int = _REPEAT,
) -> CutCard:
    """Lay out a test-cut card.

    Parameters
    ----------
    pieces
        One row a size: of pieces alike in shape and greatest size, the first stands for all.
    least_mm, most_mm
        Clearances tried, in steps of 0.05 mm.
    repeat
        Holes of each clearance.

    Raises
    ------
    ValueError
        For no piece, or clearances out of order.
    """
    sorts = {
        (piece.shape, piece.length_mm.max, piece.width_mm.max, piece.outline_mm): piece
        for piece in reversed(list(pieces))
    }
    rows = sorted(sorts.values(), key=lambda piece: (-piece.width_mm.max, piece.code))
    steps = round((most_mm - least_mm) / STEP_MM) + 1
    if not rows or steps < 1 or least_mm < 0.0 or repeat < 1:
        raise ValueError("a card needs a piece, and clearances from low to high")
    tried = [round(least_mm + STEP_MM * index, 6) for index in range(steps)]
    outlines: list[Outline] = []
    centres: list[tuple[float, float]] = []
    codes: list[str] = []
    gaps: list[float] = []
    words: list[CardWords] = []
    top = _RIM_MM
    widest = 0.0
    for piece in rows:
        footprint = piece_footprint(piece)
        holes = [hole_of(footprint, clearance) for clearance in tried]
        x0, y0, x1, y1 = bounds(holes[-1])
        # A column is as wide as its words and its largest hole.
        pitch, line = max(x1 - x0 + _WALL_MM, 9.0), y1 - y0 + _WALL_MM
        size = (
            f"{piece.length_mm.max:g} mm"
            if piece.length_mm == piece.width_mm
            else (f"{piece.length_mm.max:g} x {piece.width_mm.max:g} mm")
        )
        words.append(
            CardWords(_RIM_MM, top + _WORDS_MM, f"{piece.code}, at most {size}; clearance in mm:")
        )
        for column, (hole, clearance) in enumerate(zip(holes, tried, strict=True)):
            left = _RIM_MM + column * pitch
            words.append(CardWords(left, top + 2.0 * _WORDS_MM, f"{clearance:.2f}"))
            for number in range(repeat):
                x = left + pitch / 2.0
                y = top + 2.0 * _WORDS_MM + _WALL_MM + (number + 0.5) * line
                outlines.append(hole)
                centres.append((x, y))
                codes.append(piece.code)
                gaps.append(clearance)
        widest = max(widest, steps * pitch)
        top += 2.0 * _WORDS_MM + _WALL_MM + repeat * line + _WORDS_MM
    xy = np.round(np.array(centres), 6)
    radius = np.array(
        [np.nan if o.round_radius_mm is None else o.round_radius_mm for o in outlines]
    )
    shaped = {
        index: placed(outline, *xy[index].tolist())
        for index, outline in enumerate(outlines)
        if outline.round_radius_mm is None
    }
    return CutCard(
        Holes(xy, radius, shaped),
        tuple(codes),
        np.array(gaps),
        tuple(words),
        round(max(widest, 70.0) + 2.0 * _RIM_MM, 6),
        round(top + _RIM_MM, 6),
    )
