"""How long a picture in stones takes: 20 000 seats, 300 colours.

Run ``python -m tests.benchmarks mosaics``.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from embellish.layout.ways.mosaics import coloured
from embellish.layout.ways.pictures import Mosaic, Picture
from embellish.layout.ways.way import Seats, no_progress
from tests.benchmarks.yardstick import seconds, tell


def colours() -> None:
    """Nearest of all, of the best twelve, and with misses made up for."""
    n = 20_000
    xy = np.stack(np.meshgrid(np.arange(200) * 2.5, np.arange(100) * 2.5), -1).reshape(-1, 2)
    none, no = np.zeros(n), np.zeros(n, dtype=np.int64)
    seats = Seats(xy, none, no, no, no, none, none)
    rng = np.random.default_rng(2)
    coarse = rng.random((9, 16, 3))
    y, x = np.mgrid[0:600, 0:1200] / 75.0
    smooth = coarse[y.astype(int), x.astype(int)] * 0.6 + 0.4 * np.stack([x / 16, y / 9, x / 16], 2)
    rgba = np.dstack([smooth * 255, np.full((600, 1200), 255.0)]).astype(np.uint8)
    picture = Picture.of("invented", rgba)
    hexes = [f"#{number:06x}" for number in rng.integers(0, 1 << 24, 300).tolist()]
    seen = Mosaic(picture=picture, at_mm=(0, 0), width_mm=500).seen_over([])
    for words, asked, target in (
        ("all colours", Mosaic(picture=picture), 1.5),
        ("the best 12", Mosaic(picture=picture, colours=12), 1.5),
        ("the best 12, misses made up for", Mosaic(picture=picture, colours=12, dither=True), 4.0),
    ):
        run = partial(coloured, seats, hexes, asked, seen, 2.5, no_progress)
        took = seconds(run, rounds=1)
        tell(f"mosaic of {n}, 300 colours, {words}", took, target, "s")


BENCHMARKS = (colours,)
