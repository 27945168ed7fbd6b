"""How long reading and filling a drawing takes, on icon sets and on one large drawing.

Run ``python -m tests.benchmarks svg``; the icon sets are fetched once with npm.
"""

from __future__ import annotations

import io
import statistics
import time

import numpy as np
import svgelements

from embellish.artwork.flatten import lines_of, region_of
from embellish.artwork.look import look_facts
from embellish.artwork.svg.reading import read_svg
from embellish.geometry.curves import segment_lengths
from embellish.geometry.regions import filled
from tests.artwork.svg.cases import page
from tests.benchmarks.yardstick import seconds, tell
from tests.real_artwork import icons


def one_icon() -> None:
    """Median of reading one icon, and of reading and filling it."""
    for package in ("bootstrap-icons", "lucide-static"):
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


def blob(rng: np.random.Generator) -> str:
    """Return a smooth closed outline of four curves that does not cross itself."""
    angle = (np.arange(4) + np.sort(rng.uniform(0.0, 0.5, 4))) * np.pi / 2.0
    reach = rng.uniform(0.5, 3.0) * rng.uniform(0.7, 1.2, (4, 1))
    out = np.stack([np.cos(angle), np.sin(angle)], axis=1) * reach
    along = np.stack([-out[:, 1], out[:, 0]], axis=1) / 2.0
    on = rng.uniform(10, 90, 2) + out
    after, there = np.roll(on, -1, axis=0), np.roll(along, -1, axis=0)
    curves = np.concatenate([on + along, after - there, after], axis=1).round(3)
    x, y = on[0].round(3).tolist()
    return f"M{x} {y}C{' '.join(map(str, curves.ravel().tolist()))}z"


def many_paths() -> None:
    """All that `look` tells of 5 000 shapes, against a general library's parse of the same file.

    Shapes as a tracing program draws them: plain closed outlines, a tenth of them with a second
    loop. The library reads the paths; ours also finds lengths, bounds, and areas by fill rule.
    """
    rng = np.random.default_rng(8)
    body = "".join(
        f'<path id="p{k}" d="{blob(rng)}{blob(rng) if k % 10 == 0 else ""}"/>' for k in range(5000)
    )
    _against_a_parse("outlines", page(body).encode())


def many_scribbles() -> None:
    """The same of 5 000 paths that cross themselves, whose areas take winding numbers."""
    rng = np.random.default_rng(8)
    at = rng.uniform(10, 90, (5000, 2)).round(3)
    bends = rng.normal(size=(5000, 24)).round(3)
    body = "".join(
        f'<path id="p{k}" d="M{x} {y}c{" ".join(map(str, bend))}z"/>'
        for k, ((x, y), bend) in enumerate(zip(at.tolist(), bends.tolist(), strict=True))
    )
    _against_a_parse("scribbles", page(body).encode())


def _against_a_parse(what: str, data: bytes) -> None:
    theirs = seconds(lambda: svgelements.SVG.parse(io.BytesIO(data)))
    ours = seconds(lambda: look_facts(*read_svg(data, "many.svg")))
    name, why = (
        f"look at 5 000 {what}, over a library's parse",
        "it finds areas and lengths besides",
    )
    tell(name, ours / theirs, 1.0, "", why=why)


def crossing_loop() -> None:
    """Faces and winding numbers of one loop of 1 000 corners that crosses itself everywhere."""
    loop = np.random.default_rng(6).uniform(0, 100, (1000, 2))
    tell("fill a loop with 1e5 crossings", seconds(lambda: filled([loop], "evenodd")), 6.0, "s")


BENCHMARKS = (one_icon, large_drawing, many_paths, many_scribbles, crossing_loop)
