"""Words made to fit a width: nearer together, smaller, or in two lines, as the maker allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from embellish.artwork.lettering.settings import Beyond, LetteringSettings
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.fonts import Font, Glyph

TIGHTEST: Final = 0.12
"""Letters come nearer by at most this share of the capitals' height."""

SMALLEST: Final = 0.6
"""Letters are made no smaller than this share, where the job does not say."""

_EPS_MM: Final = 1e-6


@dataclass(frozen=True, eq=False)
class Fitted:
    """Lines of letters as they will be set.

    ``widths_mm`` are from the first pen position to the last, with the room between letters.
    """

    lines: tuple[list[Glyph], ...]
    widths_mm: tuple[float, ...]
    cap_height_mm: float
    letter_gap_mm: float
    findings: tuple[Finding, ...] = ()

    @property
    def glyphs(self) -> list[Glyph]:
        """Every letter."""
        return [glyph for line in self.lines for glyph in line]

    @property
    def width_mm(self) -> float:
        """Of the widest line."""
        return max(self.widths_mm)


def fitted(settings: LetteringSettings, font: Font, length_mm: float | None) -> Fitted:
    """Return the words at the size they fit in.

    Parameters
    ----------
    length_mm
        Length of the line they follow, where they do: a bound like ``most_width_mm``.

    Raises
    ------
    ArtworkError
        Where nothing that is allowed makes them fit.
    """
    bounds = [each for each in (settings.most_width_mm, length_mm) if each is not None]
    text = settings.text.split("\n")
    as_asked = _set(settings, font, text, settings.cap_height_mm, settings.letter_gap_mm)
    if not bounds or as_asked.width_mm <= min(bounds) + _EPS_MM:
        return as_asked
    most = min(bounds)
    best, told = as_asked, []
    for deed in settings.beyond:
        tried = _tried(deed, settings, font, best, text, most)
        if tried is None:
            continue
        if deed == "two-lines":
            text = _two_lines(text)
        best = tried
        told.append(_words(deed, settings, best))
        if best.width_mm <= most + _EPS_MM:
            finding = Finding(
                "lettering-fitted",
                "note",
                f"'{_one_line(settings.text)}' was wider than {most:g} mm: {', '.join(told)}",
                mend="Look at the proof, or give it more room.",
            )
            return Fitted(
                best.lines, best.widths_mm, best.cap_height_mm, best.letter_gap_mm, (finding,)
            )
    raise ArtworkError(
        f"'{_one_line(settings.text)}' is {best.width_mm:.1f} mm wide at the least, and"
        f" {most:g} mm are allowed",
        item=f"lettering '{settings.id}'",
        mend="Give it more room, allow smaller letters (least_cap_height_mm), or two lines"
        ' (beyond = ["tighten", "smaller", "two-lines"]).',
    )


def _tried(
    deed: Beyond,
    settings: LetteringSettings,
    font: Font,
    now: Fitted,
    text: list[str],
    most: float,
) -> Fitted | None:
    """Return what a deed makes of the words, None where it can do nothing."""
    cap, gap = now.cap_height_mm, now.letter_gap_mm
    if deed == "two-lines":
        split = _two_lines(text)
        return None if split == text else _set(settings, font, split, cap, gap)
    if deed == "tighten":
        joints = max(_joints(line) for line in now.lines)
        if not joints:
            return None
        least = settings.letter_gap_mm - TIGHTEST * cap
        wanted = gap - (now.width_mm - most) / joints
        tighter = _set(settings, font, text, cap, max(wanted, least))
        # The widest line has other joints than the one that has most of them.
        return (
            tighter
            if tighter.width_mm <= most + _EPS_MM
            else _set(settings, font, text, cap, least)
        )
    smallest = settings.least_cap_height_mm or SMALLEST * settings.cap_height_mm
    # All of a line grows with its letters, but for the room that is given in millimetres.
    fixed = max(_joints(line) for line in now.lines) * gap
    scale = (most - fixed) / max(now.width_mm - fixed, _EPS_MM)
    return _set(settings, font, text, max(cap * min(scale, 1.0) * (1 - 1e-9), smallest), gap)


def _set(
    settings: LetteringSettings, font: Font, text: list[str], cap: float, gap: float
) -> Fitted:
    lines = tuple(
        font.shaped(
            line,
            cap,
            kerning=settings.kerning,
            ligatures=settings.ligatures,
            features=settings.features,
        )
        for line in text
    )
    widths = tuple(sum(glyph.advance_mm for glyph in line) + _joints(line) * gap for line in lines)
    return Fitted(lines, widths, cap, gap)


def _joints(line: list[Glyph]) -> int:
    return max(len(line) - 1, 0)


def _two_lines(text: list[str]) -> list[str]:
    """Return one line of words broken at the space nearest to its middle."""
    if len(text) != 1:
        return text
    (line,) = text
    spaces = [n for n, letter in enumerate(line) if letter in " -"]
    spaces = [n for n in spaces if line[:n].strip() and line[n + 1 :].strip()]
    if not spaces:
        return text
    at = min(spaces, key=lambda n: (abs(n - len(line) / 2.0), n))
    first = line[: at + 1] if line[at] == "-" else line[:at]
    return [first.rstrip(), line[at + 1 :].lstrip()]


def _words(deed: Beyond, settings: LetteringSettings, now: Fitted) -> str:
    if deed == "two-lines":
        return "it is set in two lines"
    if deed == "tighten":
        return f"letters are {settings.letter_gap_mm - now.letter_gap_mm:.2f} mm nearer together"
    return f"capitals are {now.cap_height_mm:.2f} mm high, not {settings.cap_height_mm:g} mm"


def _one_line(text: str) -> str:
    return text.replace("\n", " / ")
