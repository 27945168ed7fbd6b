"""Single-line letters: the public-domain stroke fonts that the library Hershey-Fonts carries.

They know the letters of ASCII only; the library leaves any other out without a word, so each is
looked for here.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Final

import numpy as np

from embellish.arrays import Floats
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.extras import extra
from embellish.formats.fonts import Glyph
from embellish.formats.nearest import nearest

PREFIX: Final = "single-line:"


class SingleLineFont:
    """A stroke font; letters are open lines, one stroke each."""

    closed = False
    findings: tuple[Finding, ...] = ()

    def __init__(self, name: str) -> None:
        library = extra("HersheyFonts").HersheyFonts()
        known = list(library.default_font_names)
        plain = name.removeprefix(PREFIX)
        if plain not in known:
            raise ArtworkError(
                f"there are no single-line letters '{plain}'", mend=nearest(plain, known)
            )
        library.load_default_font(plain)
        self.name = name
        self._library = library
        strokes = _strokes(next(iter(library.glyphs_for_text("H"))))
        every = np.concatenate(strokes)
        self._baseline = float(every[:, 1].max())
        self._cap = self._baseline - float(every[:, 1].min())

    def shaped(
        self,
        line: str,
        cap_height_mm: float,
        *,
        kerning: bool = True,
        ligatures: bool = True,
        features: tuple[str, ...] = (),
    ) -> list[Glyph]:
        """Return the letters of one line; these fonts have no kerning, ligatures or features."""
        del kerning, ligatures, features
        scale = cap_height_mm / self._cap
        found = []
        for index, letter in enumerate(line):
            glyphs = list(self._library.glyphs_for_text(letter))
            if not glyphs:
                found.append(Glyph((), 0.0, letter, index, missing=not letter.isspace()))
                continue
            glyph = glyphs[0]
            chains = tuple(
                _straight((stroke - (glyph.left_offset, self._baseline)) * scale)
                for stroke in _strokes(glyph)
            )
            found.append(Glyph(chains, glyph.char_width * scale, letter, index))
        return found


def _straight(points: Floats) -> Floats:
    """Return a stroke as cubics, their controls at thirds, as outlines have them."""
    share = np.array([0.0, 1.0, 2.0, 3.0])[:, None] / 3.0
    return points[:-1, None] + (points[1:] - points[:-1])[:, None] * share


@cache
def single_line_font(name: str) -> SingleLineFont:
    """Return a stroke font by its name in a job, such as ``single-line:futural``."""
    return SingleLineFont(name)


def _strokes(glyph: Any) -> list[Floats]:
    strokes = [np.array(stroke, dtype=np.float64) for stroke in glyph.strokes]
    return [stroke for stroke in strokes if len(stroke) > 1]
