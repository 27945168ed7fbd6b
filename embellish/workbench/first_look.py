"""What a drawing, words or a list of pieces hold, told before a job is begun with them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from embellish.artwork.artwork import Artwork
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.errors import JobError
from embellish.findings import Finding
from embellish.formats.fonts_single_line import PREFIX
from embellish.formats.tables import checked
from embellish.job.catalogue_files import open_catalogue
from embellish.job.files import open_wide
from embellish.job.lettering import with_lettering
from embellish.workbench.facts import shape_facts
from embellish.workbench.handed import HandedFile, laid_out
from embellish.workbench.plain_words import shown

SHOWN: Final = 600
"""Shapes drawn in the small picture."""

LETTERS: Final = (
    ("futural", "plain"),
    ("futuram", "plain, doubled lines"),
    ("scripts", "script"),
    ("scriptc", "script, doubled lines"),
    ("cursive", "cursive"),
    ("timesr", "with serifs"),
    ("timesi", "with serifs, slanted"),
    ("gothgbt", "blackletter"),
    ("greek", "Greek"),
    ("cyrillic", "Cyrillic"),
)
"""The single-line letters the page offers, and what it calls them."""


def look_at_drawing(file: HandedFile, width_mm: float | None) -> dict[str, Any]:
    """Return a drawing's size, shapes, and what the reader did not understand.

    Raises
    ------
    EmbellishError
        Where it cannot be read, or cannot have this width.
    """
    with laid_out(file) as path:
        artwork, findings = open_wide(path, width_mm)
    return _look(artwork, findings)


def look_at_words(text: str, font: HandedFile | str, cap_height_mm: float) -> dict[str, Any]:
    """Return the size of words, and what the font lacks.

    Parameters
    ----------
    font
        A font file, or the name of single-line letters.

    Raises
    ------
    EmbellishError
        Where they cannot be set.
    """
    if isinstance(font, str):
        return _words(text, font, cap_height_mm, Path())
    with laid_out(font) as path:
        return _words(text, path.name, cap_height_mm, path.parent)


def _words(text: str, font: str, cap_height_mm: float, folder: Path) -> dict[str, Any]:
    asked = {"text": text, "font": font, "cap_height_mm": cap_height_mm}
    words = checked(LetteringSettings, asked, file=None, item="the words", error=JobError)
    return _look(*with_lettering(None, [words], folder))


def look_at_catalogue(file: HandedFile) -> dict[str, Any]:
    """Return how many pieces a catalogue file has, of which kinds.

    Raises
    ------
    EmbellishError
        Where it cannot be read.
    """
    with laid_out(file) as path:
        catalogue = open_catalogue(str(path))
    kinds = Counter(piece.kind for piece in catalogue.pieces.values())
    return {"count": len(catalogue.pieces), "kinds": dict(sorted(kinds.items()))}


def letters() -> list[dict[str, str]]:
    """Return the single-line letters there are, as a choice."""
    return [{"value": f"{PREFIX}{name}", "words": words} for name, words in LETTERS]


def _look(artwork: Artwork, findings: Sequence[Finding]) -> dict[str, Any]:
    bounds = artwork.bounds() or (0.0, 0.0, 0.0, 0.0)
    width, height = artwork.page or (bounds[2] - bounds[0], bounds[3] - bounds[1])
    return {
        "sized": artwork.sized,
        "width_mm": round(width, 3),
        "height_mm": round(height, 3),
        "bounds_mm": [round(each, 3) for each in bounds],
        "count": len(artwork.shapes),
        "closed": sum(shape.is_closed for shape in artwork.shapes),
        "shapes": [shape_facts(shape) for shape in artwork.shapes[:SHOWN]],
        "findings": [shown(finding) for finding in findings],
    }
