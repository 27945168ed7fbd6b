"""The words on a template: what it is, in which order it is brushed, which way it lies."""

from __future__ import annotations

import textwrap
from typing import Final

from embellish.plans.title import TitleBlock

LETTER_MM: Final = 2.2
LINE_MM: Final = 3.8
PAD_MM: Final = 3.0
"""Between the label's lines and what is around them."""

_ADVANCE: Final = 0.85
"""Usual width of a letter over the height of capitals, on the safe side for sans-serif fonts."""

LEAST_WIDTH_MM: Final = 60.0
"""Narrower sheets would break words."""

_STAYS: Final = "\xa0"
"""A space at which no line ends."""

ARROW_MM: Final = 9.0
"""Width kept for the UP arrow at the left of the label."""


def label_lines(
    name: str, order: list[tuple[str, int, float]], *, mirrored: bool, title: TitleBlock | None
) -> list[str]:
    """Return the lines of a template's label, not yet wrapped.

    Parameters
    ----------
    name
        Of the template, as the work sheet says it.
    order
        Code, count and clearance in mm, in brush-in order.
    mirrored
        Whether the file is the mirror image of the layout.
    title
        The job's title block.
    """
    lines = [title.words] if title else []
    if title and title.state:
        lines.append(f"{title.state}.")
    lines.append(f"Template {name}")
    if not order:
        pass
    elif len(order) == 1:
        code, count, _ = order[0]
        lines.append(f"Brush in: {code}, {count} pieces.")
    else:
        steps = "; ".join(
            f"{number}.{_STAYS}{code}, {count} pieces"
            for number, (code, count, _) in enumerate(order, 1)
        )
        lines.append(
            f"Brush in, largest holes first; fill every hole of one before the next: {steps}."
        )
    if mirrored:
        lines.append("MIRRORED: cut face down, from the back. Use with this side down.")
    else:
        lines.append("NOT MIRRORED: cut and use with this side up.")
    if not order:
        return lines
    wide = sorted({clearance for _, _, clearance in order})
    if len(wide) == 1:
        said = f"{wide[0]:.2f} mm"
    else:
        said = ", ".join(f"{code} {clearance:.2f} mm" for code, _, clearance in order)
    lines.append(f"Hole over the largest piece: {said}.")
    return lines


def short_lines(name: str, *, mirrored: bool, title: TitleBlock | None) -> list[str]:
    """Return the least that a small tile says; the order stands in the work sheet."""
    lines = label_lines(name, [], mirrored=mirrored, title=title)
    lines.append("Brush in as the work sheet says.")
    return lines


def wrapped(lines: list[str], width_mm: float) -> list[str]:
    """Return the lines broken to a width in mm."""
    room = max(8, int((width_mm - ARROW_MM - 2.0 * PAD_MM) / (LETTER_MM * _ADVANCE)))
    return [
        part.replace(_STAYS, " ")
        for line in lines
        for part in textwrap.wrap(line, room, break_on_hyphens=False)
    ]


def text_room_mm(text: str) -> float:
    """Return the width in mm that a line of a label needs, on the safe side."""
    return len(text) * LETTER_MM * _ADVANCE


def label_height_mm(count: int) -> float:
    """Return the height in mm of a label of so many lines; never less than the arrow needs."""
    return max(count * LINE_MM, 12.0) + 2.0 * PAD_MM
