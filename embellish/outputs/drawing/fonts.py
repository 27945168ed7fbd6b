"""One font for pictures and PDF: the Bitstream Vera that reportlab carries, so none is installed.

SVG names the reader's own sans-serif fonts instead; their capitals are as high within 2 %.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.resources import files
from io import BytesIO
from typing import Final

from PIL import ImageFont

CAP_SHARE: Final = 1493 / 2048
"""Height of Vera's capitals over the font size (the top of its H, in font units)."""

_PROBE_PX: Final = 256


@cache
def font_file(*, bold: bool = False) -> bytes:
    """Return the font's bytes."""
    return (files("reportlab") / "fonts" / ("VeraBd.ttf" if bold else "Vera.ttf")).read_bytes()


def pdf_library() -> None:
    """Make the PDF library ready: the fonts 'words' and 'words-bold', streams as plain bytes.

    Whatever writes a PDF calls this first, so that none depends on what was written before it.
    """
    # It takes a while to load, and most runs write no PDF.
    from reportlab import rl_config  # noqa: PLC0415 - see above
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - see above
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415 - see above

    # Streams as they are, not as letters: a quarter smaller, and written in half the time.
    rl_config.useA85 = 0
    for name, bold in (("words", False), ("words-bold", True)):
        pdfmetrics.registerFont(TTFont(name, BytesIO(font_file(bold=bold))))


@cache
def font(size_px: float, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Return the font at a size in pixels, laid out plainly so that machines agree."""
    return ImageFont.truetype(
        BytesIO(font_file(bold=bold)), size_px, layout_engine=ImageFont.Layout.BASIC
    )


def text_width_mm(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Return the width of a line whose capitals are ``height_mm`` high."""
    probe = font(_PROBE_PX, bold=bold)
    return float(probe.getlength(drawable(text))) / _PROBE_PX * height_mm / CAP_SHARE


@cache
def _drawn(letter: str) -> bool:
    # A letter the font lacks is drawn as its box for missing ones, the same for all.
    probe = font(32)
    missing = probe.getmask("\uffff")
    mask = probe.getmask(letter)
    return mask.size != missing.size or bytes(mask) != bytes(missing)


@cache
def drawable(text: str) -> str:
    """Return the text in letters the font has: marks are dropped (ő → o), the rest becomes '?'."""
    letters: list[str] = []
    for letter in text:
        if not letter.isprintable():
            letters.append(" ")
        elif letter == " " or _drawn(letter):
            letters.append(letter)
        else:
            plain = [part for part in unicodedata.normalize("NFKD", letter) if _drawn(part)]
            letters.append("".join(plain) or "?")
    return "".join(letters)
