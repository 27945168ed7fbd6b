"""Words of a job set as shapes of its artwork: fonts read, placed on the drawing or alone."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import Line, lines_of
from embellish.artwork.lettering.lettering import set_text
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.artwork.selecting import select
from embellish.errors import ArtworkError, EmbellishError, JobError
from embellish.findings import Finding
from embellish.formats.fonts import Font, read_font
from embellish.formats.fonts_single_line import PREFIX, single_line_font
from embellish.geometry.transforms import Affine
from embellish.job.reading_files import bytes_of

_read_once = lru_cache(maxsize=8)(read_font)


def with_lettering(
    artwork: Artwork | None, words: Sequence[LetteringSettings], folder: Path
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return the artwork with a job's words on it, or the words alone.

    Parameters
    ----------
    artwork
        The drawing, sized; None where the job has none. Words alone have a page of their own size.
    words
        ``[[lettering]]`` of the job.
    folder
        Where fonts are looked for.

    Raises
    ------
    EmbellishError
        Where a font cannot be read, or words cannot be set as asked.
    """
    shapes: list[Shape] = list(artwork.shapes) if artwork else []
    findings: list[Finding] = []
    for each in words:
        try:
            _refuse_twins(each.id, shapes)
            font = _font(each.font, folder)
            made = set_text(each, font, _baseline(each, artwork))
        except EmbellishError as wrong:
            raise wrong.within(item=f"lettering '{each.id}'") from wrong
        shapes += made.shapes
        findings += made.findings
    if artwork is not None:
        return replace(artwork, shapes=tuple(shapes)), tuple(findings)
    return _alone(shapes), tuple(findings)


def fonts_sha256(words: Sequence[LetteringSettings], folder: Path) -> str:
    """Return one hash over the fonts of a job's words."""
    files = sorted({each.font for each in words if not each.font.startswith(PREFIX)})
    held = b"".join(
        hashlib.sha256(bytes_of(folder / name, ArtworkError, "font")).digest() for name in files
    )
    return hashlib.sha256(held).hexdigest()


def font_files(words: Sequence[LetteringSettings]) -> tuple[str, ...]:
    """Return the font files that words name, each once."""
    named = (each.font for each in words if not each.font.startswith(PREFIX))
    return tuple(dict.fromkeys(named))


def _font(name: str, folder: Path) -> Font:
    if name.startswith(PREFIX):
        return single_line_font(name)
    return _read_once(bytes_of(folder / name, ArtworkError, "font"), name)


def _baseline(words: LetteringSettings, artwork: Artwork | None) -> Line | None:
    if words.along is None:
        return None
    if artwork is None:
        raise JobError(
            "along names a line of the drawing, and this job has no drawing",
            mend="Name its file under [artwork], or use arc_mm.",
        )
    lines = [line for shape in select(artwork, words.along) for line in lines_of(shape)]
    if len(lines) != 1:
        raise JobError(
            f"along = '{words.along}' finds {len(lines)} lines, and words follow one",
            mend="Name a shape that is one line.",
        )
    return lines[0]


def _refuse_twins(name: str, shapes: Sequence[Shape]) -> None:
    taken = {other for shape in shapes for other in (shape.id, shape.layer, *shape.groups)}
    if name in taken:
        raise JobError(
            f"there is a '{name}' in the artwork already", mend="Give the words another id."
        )


def _alone(shapes: Sequence[Shape]) -> Artwork:
    """Return words without a drawing: a page that just holds them."""
    bare = Artwork(tuple(shapes), None, sized=True)
    bounds = bare.bounds()
    assert bounds is not None  # noqa: S101 - words have at least one letter
    move = Affine.move(-bounds[0], -bounds[1])
    moved = tuple(shape.mapped(move) for shape in shapes)
    return Artwork(moved, (bounds[2] - bounds[0], bounds[3] - bounds[1]), sized=True)
