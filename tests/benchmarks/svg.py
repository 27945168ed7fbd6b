"""How long reading and filling a drawing takes, on icon sets and on one large drawing.

Run ``python -m tests.benchmarks.svg``; the icon sets are fetched once with npm.
"""

from __future__ import annotations

import statistics
import sys
import time

import numpy as np

from embellish.artwork.flatten import lines_of, region_of
from embellish.artwork.svg import read_svg
from embellish.geometry.curves import segment_lengths
from embellish.geometry.regions import filled
from tests.artwork.svg_cases import page
from tests.benchmarks.yardstick import seconds, tell
from tests.real_artwork import VERSIONS, icons


def one_icon() -> None:
    """Median of reading one icon, and of reading and filling it."""
    for package in VERSIONS:
        reading, filling = [], []
        for name, data in icons(package)[::7]:
            start = time.process_time()
            artwork, _ = read_svg(data, name)
            reading.append(time.process_time() - start)
            for shape in artwork.shapes:
                if shape.fill is not None:
                    region_of(shape)
                else:
                    lines_of(shape)
            filling.append(time.process_time() - start)
        tell(f"read an icon, {package}", statistics.median(reading) * 1e3, 9.0, "ms")
        tell(f"read and flatten it, {package}", statistics.median(filling) * 1e3, 15.0, "ms")


def large_drawing() -> None:
    """A traced drawing: 1 000 paths of 100 curves each."""
    rng = np.random.default_rng(5)
    curves = [
        "c" + " ".join(f"{v:.3f}" for v in rng.normal(size=600).round(3)) for _ in range(1000)
    ]
    starts = rng.uniform(20, 80, (1000, 2)).round(3)
    body = "".join(
        f'<path d="M{x} {y}{curve}z"/>' for (x, y), curve in zip(starts, curves, strict=True)
    )
    data = page(body).encode()
    tell("read 1e5 curves", seconds(lambda: read_svg(data, "traced.svg")), 3.0, "s")
    segments = np.concatenate(
        [path.segments for shape in read_svg(data, "traced.svg")[0].shapes for path in shape.paths]
    )
    took = seconds(lambda: segment_lengths(segments))
    tell("length of a curve to 1e-9", took / len(segments) * 1e6, 20.0, "µs")


def crossing_loop() -> None:
    """Faces and winding numbers of one loop of 1 000 corners that crosses itself everywhere."""
    loop = np.random.default_rng(6).uniform(0, 100, (1000, 2))
    tell("fill a loop with 1e5 crossings", seconds(lambda: filled([loop], "evenodd")), 6.0, "s")


if __name__ == "__main__":
    wanted = sys.argv[1:]
    for benchmark in (one_icon, large_drawing, crossing_loop):
        if not wanted or benchmark.__name__ in wanted:
            benchmark()
