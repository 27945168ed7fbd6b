"""Photos of every depth and mode come out as the colours that are seen."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from embellish.formats.photos import read_photo


def seen(image: Image.Image) -> list[list[int]]:
    held = BytesIO()
    image.save(held, "PNG")
    pixels: list[list[int]] = np.asarray(read_photo(held.getvalue(), "p.png").image)[0].tolist()
    return pixels


@pytest.mark.parametrize("level", [0, 1, 100, 128, 254, 255])
def test_a_deep_grey_is_the_grey_it_stands_for(level: int):
    """A grey of 16 bits is 257 times that of 8 bits, by the PNG specification's own rescaling."""
    deep = Image.fromarray(np.full((2, 2), level * 257, dtype=np.uint16))
    assert seen(deep)[0] == [level, level, level, 255]


@pytest.mark.parametrize(
    ("mode", "wanted"), [("1", [255] * 4), ("LA", [255] * 4), ("P", [255] * 4)]
)
def test_grey_with_cover_and_black_and_white_stay_what_they_are(mode: str, wanted: list[int]):
    grey = Image.fromarray(np.array([[255, 0]], dtype=np.uint8)).convert(mode)
    assert seen(grey)[0] == wanted
    assert seen(grey)[1] == [0, 0, 0, 255]
