"""Pictures side by side, each with its words below."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Final

from PIL import Image, ImageDraw, ImageFont

_APART_PX: Final = 24
_WORDS_PX: Final = 34
_INK: Final = "#1d1f24"


def side_by_side_png(pictures: Sequence[tuple[str, bytes]]) -> bytes:
    """Return PNG pictures in a row, each with its words below it."""
    held = [(words, Image.open(io.BytesIO(png)).convert("RGB")) for words, png in pictures]
    width = sum(image.width for _, image in held) + _APART_PX * (len(held) + 1)
    height = max(image.height for _, image in held) + 2 * _APART_PX + _WORDS_PX
    sheet = Image.new("RGB", (width, height), "white")
    pen, font = ImageDraw.Draw(sheet), ImageFont.load_default(size=20)
    left = _APART_PX
    for words, image in held:
        sheet.paste(image, (left, _APART_PX))
        pen.text((left, height - _WORDS_PX - 6), words, fill=_INK, font=font)
        left += image.width + _APART_PX
    out = io.BytesIO()
    sheet.save(out, "PNG", optimize=True)
    return out.getvalue()
