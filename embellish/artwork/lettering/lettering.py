"""Words as shapes: set line by line on a straight baseline, an arc, or a line of the drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Path, Shape
from embellish.artwork.flatten import Line
from embellish.artwork.lettering.fit import Fitted, fitted
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.artwork.lettering.union import united
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.fonts import Font
from embellish.geometry.transforms import Affine

LINE_STEP: Final = 1.7
"""From baseline to baseline, in heights of capitals, where nothing is said."""

INK: Final = "#000000"


@dataclass(frozen=True, eq=False)
class SetText:
    """Words that were set."""

    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...]


def set_text(settings: LetteringSettings, font: Font, baseline: Line | None = None) -> SetText:
    """Set words in a font.

    Parameters
    ----------
    settings
        The words and how they are set.
    font
        What sets them.
    baseline
        The line of the drawing they follow, where ``along`` names one.

    Returns
    -------
    SetText
        A shape a letter in reading order of what is seen, y down, in mm of the page; letters that
        overlap united where asked. A letter the font does not have is an error finding.

    Raises
    ------
    ArtworkError
        Where nothing of it can be set, or it is longer than its baseline or the width allowed.
    """
    length = None if baseline is None else _length(baseline.points)
    fit = fitted(settings, font, length)
    step = settings.line_step_mm or LINE_STEP * settings.cap_height_mm
    # Smaller letters keep the lines as near as they were to their size.
    step *= fit.cap_height_mm / settings.cap_height_mm
    shapes: list[Shape] = []
    letters = 0
    for number, line in enumerate(fit.lines):
        groups = (settings.id, f"{settings.id}-line-{number + 1}")
        place = _placing(settings, number * step, baseline)
        pen = _start(settings, fit.widths_mm[number], length)
        for glyph in line:
            if glyph.chains:
                letters += 1
                move = place(pen + glyph.advance_mm / 2.0, glyph.advance_mm)
                chains = [move(chain) for chain in glyph.chains]
                shapes.append(_shape(f"{settings.id}-{letters}", groups, chains, font))
            pen += glyph.advance_mm + fit.letter_gap_mm
    findings = [*font.findings, *fit.findings, *_missing(settings, font, fit)]
    if not shapes:
        raise ArtworkError(
            f"the font {font.name} has none of these letters",
            item=f"lettering '{settings.id}'",
            mend="Choose another font.",
        )
    if settings.unite and font.closed:
        return SetText(united(shapes), tuple(findings))
    return SetText(tuple(shapes), tuple(findings))


def _shape(name: str, groups: tuple[str, ...], chains: Sequence[Floats], font: Font) -> Shape:
    return Shape(
        id=name,
        layer=groups[0],
        classes=("letter",),
        fill=INK if font.closed else None,
        stroke=None if font.closed else INK,
        stroke_width_mm=0.0,
        fill_rule="nonzero",
        paths=tuple(Path(chain, font.closed) for chain in chains),
        groups=groups,
    )


def _missing(settings: LetteringSettings, font: Font, fit: Fitted) -> list[Finding]:
    missing = list(dict.fromkeys(glyph.text for glyph in fit.glyphs if glyph.missing))
    if not missing:
        return []
    shown = ", ".join(f"'{each}'" for each in missing)
    return [
        Finding(
            "letters-missing",
            "error",
            f"the font {font.name} does not have {shown} of '{settings.text}'",
            mend="Choose a font that has them, or write the words otherwise.",
        )
    ]


def _length(points: Floats) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _start(settings: LetteringSettings, width_mm: float, length_mm: float | None) -> float:
    """Return where the pen begins: from the anchor, or from the start of a line."""
    share = {"left": 0.0, "centre": 0.5, "right": 1.0}[settings.align]
    room = 0.0 if length_mm is None else length_mm
    return share * (room - width_mm)


Placing = Callable[[float, float], Affine]
"""From the middle of a letter along the baseline, and its width, to where it is put."""


def _placing(settings: LetteringSettings, down_mm: float, baseline: Line | None) -> Placing:
    x, y = settings.at_mm
    if baseline is not None:
        return _on_line(baseline.points)
    if settings.arc_mm:
        return _on_arc(settings.arc_mm, down_mm, x, y)

    def straight(middle: float, width: float) -> Affine:
        return Affine.move(x + middle - width / 2.0, y + down_mm)

    return straight


def _on_arc(arc_mm: float, down_mm: float, x: float, y: float) -> Placing:
    """Return the placing on a circle whose highest (or lowest) point is the anchor.

    Each line has a circle of its own about the same centre; letters keep their shape.
    """
    up = 1.0 if arc_mm > 0.0 else -1.0
    radius = max(abs(arc_mm) - up * down_mm, 1e-3)

    def arched(middle: float, width: float) -> Affine:
        angle = float(np.degrees(middle / radius)) * up
        centre = Affine.move(x, y + up * abs(arc_mm))
        own = Affine.move(-width / 2.0, -up * radius)
        return centre @ Affine.turn(angle) @ own

    return arched


def _on_line(points: Floats) -> Placing:
    """Return the placing along a line: each letter stands on the chord under it."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])

    def at(s: float) -> Floats:
        # Beyond the ends it goes straight on, so that half a letter's chord is always there.
        over = min(s, 0.0) + max(s - along[-1], 0.0)
        x, y = (np.interp(s, along, points[:, axis]) for axis in (0, 1))
        edge = points[1] - points[0] if s < 0.0 else points[-1] - points[-2]
        place: Floats = np.array([x, y]) + edge / np.hypot(*edge) * over
        return place

    def placed(middle: float, width: float) -> Affine:
        half = max(width / 2.0, 1e-6)
        chord = at(middle + half) - at(middle - half)
        angle = float(np.degrees(np.arctan2(chord[1], chord[0])))
        x, y = at(middle)
        return Affine.move(float(x), float(y)) @ Affine.turn(angle) @ Affine.move(-width / 2, 0.0)

    return placed
