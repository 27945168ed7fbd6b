"""Pictures in stones against a general image library.

Source: Pillow's box reduction (`Image.reduce`), on amounts of light kept as 32-bit floats; the
transfer curve between a file's numbers and light is that of IEC 61966-2-1 (sRGB), here by its
published constants.
"""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from embellish.layout.ways.pictures import Picture


@pytest.mark.parametrize("factor", [2, 5, 12])
def test_mean_light_of_squares_is_the_librarys(factor: int):
    rng = np.random.default_rng(factor)
    rgb = rng.integers(0, 256, (60, 120, 3)).astype(np.uint8)
    value = rgb / 255.0
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    rgba = np.dstack([rgb, np.full((60, 120), 255, dtype=np.uint8)])
    x, y = np.meshgrid(np.arange(120 // factor) + 0.5, np.arange(60 // factor) + 0.5)
    at = np.stack([x.ravel(), y.ravel()], axis=1) * factor
    found, cover = Picture.of("p", rgba).seen(at, factor / 2.0)
    assert cover == pytest.approx(1.0)
    for channel in range(3):
        plane = Image.fromarray(light[..., channel].astype(np.float32), mode="F")
        reduced = np.asarray(plane.reduce(factor)).ravel()
        assert found[:, channel] == pytest.approx(reduced, abs=2e-6)
