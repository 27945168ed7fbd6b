"""A test-cut card: holes of each size in steps of clearance, to find which one brushes well.

Cut from the sheet of the job with its blade; the least clearance at which all holes of a size fill
at once and lift cleanly is what the job's ``[template] clearance_mm`` wants.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats, frozen
from embellish.geometry.outlines import Outline, bounds, placed
from embellish.layout.layout import Layout
from embellish.plans.registration import by_template
from embellish.plans.templates.holes import Holes, hole_of
from embellish.plans.templates.label import LETTER_MM, LINE_MM, text_room_mm
from embellish.plans.title import TitleBlock

STEP_MM: Final = 0.05
AROUND: Final = 4
"""Steps tried below and above what the job has now."""
REPEAT: Final = 3
_RIM_MM: Final = 6.0
_WALL_MM: Final = 1.5
"""Wide, so that a thin wall does not spoil the trial of the clearance."""
_WORDS_MM: Final = 4.5
_LETTERS: Final = 54
"""Of a line: about as wide as nine columns of small holes."""


@dataclass(frozen=True, slots=True)
class CardWords:
    """A line of words on the card; (x, y) is the start of its baseline."""

    x_mm: float
    y_mm: float
    text: str


@dataclass(frozen=True, slots=True)
class CardRow:
    """One size on the card.

    Parameters
    ----------
    codes
        Pieces or units that fit these holes alike.
    now_mm
        The clearance the job has for them.
    tried_mm
        Clearances from the least to the most; each has ``REPEAT`` holes.
    """

    codes: tuple[str, ...]
    now_mm: float
    tried_mm: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class CutCard:
    """A card of trial holes, in its own mm, y down.

    Parameters
    ----------
    rows
        The sizes, the largest first.
    holes
        Size by size, clearance by clearance, ``REPEAT`` of each.
    clearance_mm : array of shape (n,)
        Of each hole.
    words
        What stands beside them.
    width_mm, height_mm
        Of the card.
    """

    rows: tuple[CardRow, ...]
    holes: Holes
    clearance_mm: Floats
    words: tuple[CardWords, ...]
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "clearance_mm", frozen(self.clearance_mm))


def cut_card(
    layout: Layout, clearance_mm: Floats, title: TitleBlock | None = None
) -> CutCard | None:
    """Lay out a test-cut card for everything that is set by template; None where nothing is.

    Parameters
    ----------
    layout
        Its seats say what is set by template.
    clearance_mm : array of shape (k,)
        Of each of the layout's footprints, as the job has it now: holes are tried in steps of
        0.05 mm below and above.
    title
        Of the job.
    """
    sorts = _sorts(layout, clearance_mm)
    if not sorts:
        return None
    words = _how_to_read(sorts[0][0], title)
    top = words[-1].y_mm + _WORDS_MM / 2.0
    widest = max(text_room_mm(each.text) for each in words)
    holes: list[Outline] = []
    centres: list[tuple[float, float]] = []
    gaps: list[float] = []
    for row, index in sorts:
        footprint = layout.footprints[index]
        tried = [hole_of(footprint, clearance) for clearance in row.tried_mm]
        x0, y0, x1, y1 = bounds(tried[-1])
        # A column is as wide as its words and its largest hole.
        pitch, line = max(x1 - x0 + _WALL_MM, 11.0), y1 - y0 + _WALL_MM
        for line_of in textwrap.wrap(
            f"{', '.join(row.codes)}: clearance in mm", _LETTERS, break_on_hyphens=False
        ):
            top += LINE_MM
            words.append(CardWords(_RIM_MM, top, line_of))
        widest = max(widest, len(tried) * pitch)
        for column, (hole, clearance) in enumerate(zip(tried, row.tried_mm, strict=True)):
            left = _RIM_MM + column * pitch
            now = abs(clearance - row.now_mm) < STEP_MM / 2.0
            said = f">{clearance:.2f}<" if now else f"{clearance:.2f}"
            words.append(
                CardWords(left + (pitch - text_room_mm(said)) / 2.0, top + _WORDS_MM, said)
            )
            for number in range(REPEAT):
                centre = (
                    left + pitch / 2.0,
                    top + _WORDS_MM + _WALL_MM + (number + 0.5) * line,
                )
                centres.append(centre)
                holes.append(hole)
                gaps.append(clearance)
        top += _WORDS_MM + _WALL_MM + REPEAT * line + _WORDS_MM / 2.0
    return CutCard(
        tuple(row for row, _ in sorts),
        _holes(holes, np.round(np.array(centres), 6)),
        np.array(gaps),
        tuple(words),
        round(widest + 2.0 * _RIM_MM, 6),
        round(top + _RIM_MM, 6),
    )


def _sorts(layout: Layout, clearance_mm: Floats) -> list[tuple[CardRow, int]]:
    """Return a row for each hole that differs, with the footprint it is cut from."""
    names = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
    alike: dict[tuple[bytes, bytes, float], list[int]] = {}
    for index in np.unique(layout.footprint[by_template(layout)]).tolist():
        hole = hole_of(layout.footprints[index], 0.0)
        now = float(clearance_mm[index])
        key = (np.round(hole.points, 6).tobytes(), np.round(hole.bulges, 9).tobytes(), now)
        alike.setdefault(key, []).append(index)
    rows = [
        (CardRow(tuple(names[index] for index in mine), now, _tried(now)), mine[0])
        for (_, _, now), mine in alike.items()
    ]
    return sorted(rows, key=lambda row: (-layout.footprints[row[1]].reach_mm, row[0].codes))


def _tried(now_mm: float) -> tuple[float, ...]:
    """Return the clearances tried: what the job has, and steps below and above, none below 0."""
    steps = (round(now_mm + STEP_MM * step, 6) for step in range(-AROUND, AROUND + 1))
    return tuple(each for each in steps if each >= 0.0)


def _how_to_read(row: CardRow, title: TitleBlock | None) -> list[CardWords]:
    words = [
        "TEST-CUT CARD",
        *([title.words] if title else []),
        (
            "Cut it from the sheet of the job, with its blade and settings, and brush in each "
            "size. Take the least clearance at which all its holes fill at once and the pieces "
            "lift clean. Enter it in the job, by code or one for all; >..< is what the job has now:"
        ),
        f'[template] clearance_mm = {{ "{row.codes[0]}" = {row.now_mm:.2f} }}',
    ]
    lines = [
        part for each in words for part in textwrap.wrap(each, _LETTERS, break_on_hyphens=False)
    ]
    return [
        CardWords(_RIM_MM, _RIM_MM + LETTER_MM + number * LINE_MM, line)
        for number, line in enumerate(lines)
    ]


def _holes(outlines: list[Outline], xy: Floats) -> Holes:
    radius = np.array(
        [np.nan if o.round_radius_mm is None else o.round_radius_mm for o in outlines]
    )
    shaped = {
        index: placed(outline, *xy[index].tolist())
        for index, outline in enumerate(outlines)
        if outline.round_radius_mm is None
    }
    return Holes(xy, radius, shaped)
