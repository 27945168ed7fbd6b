"""Stitch files as artwork: fills, satins and lines of known size, in every format that is read."""

from __future__ import annotations

import io
import math

import numpy as np
import pyembroidery as pe
import pytest

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import region_of
from embellish.artwork.stitch_file import read_stitches
from embellish.errors import ArtworkError
from embellish.formats.stitches import READABLE
from embellish.geometry.curves import chain_length

RADIUS, HOLE = 15.0, 6.0


def disc(x: float, y: float, hole: float = 0.0) -> list[list[tuple[float, float]]]:
    """Rows of a fill 0.4 mm apart, to and fro, cut where the hole is."""
    runs: list[list[tuple[float, float]]] = []
    for part in (-1.0, 1.0) if hole else (0.0,):
        run: list[tuple[float, float]] = []
        for k, row in enumerate(np.arange(-RADIUS, RADIUS + 1e-9, 0.4).tolist()):
            half = math.sqrt(max(RADIUS**2 - row**2, 0.0))
            inner = math.sqrt(max(hole**2 - row**2, 0.0))
            a, b = sorted((part * inner, part * half)) if part else (-half, half)
            xs = np.linspace(a, b, max(2, int((b - a) / 3.0) + 1)).tolist()
            run += [(x + each, y + row) for each in (xs if k % 2 else xs[::-1])]
        runs.append(run)
    return runs


def satin(x: float, y: float) -> list[list[tuple[float, float]]]:
    return [[(x + (4.0 if k % 2 else 0.0), y + 0.2 * k) for k in range(201)]]


def wave(x: float, y: float) -> list[list[tuple[float, float]]]:
    return [[(x + t, y + 3.0 * math.sin(t / 4.0)) for t in np.arange(0.0, 50.0, 2.0).tolist()]]


def written(extension: str, *blocks: list[list[tuple[float, float]]]) -> bytes:
    pattern = pe.EmbPattern()
    for number, block in enumerate(blocks):
        if number:
            pattern.add_command(pe.COLOR_CHANGE)
        for run in block:
            pattern.add_command(pe.TRIM)
            pattern.add_stitch_absolute(pe.JUMP, run[0][0] * 10, run[0][1] * 10)
            for x, y in run:
                pattern.add_stitch_absolute(pe.STITCH, x * 10, y * 10)
        pattern.add_thread(("red", "blue", "green")[number])
    pattern.add_command(pe.END)
    held = io.BytesIO()
    getattr(pe, f"write_{extension}")(pattern, held)
    return held.getvalue()


def of(artwork: Artwork, kind: str, block: int) -> list[Shape]:
    return [s for s in artwork.shapes if kind in s.classes and f"block-{block}" in s.groups]


@pytest.mark.parametrize("extension", READABLE)
def test_fill_satin_and_line_at_their_true_size(extension: str):
    data = written(extension, disc(0, 0), satin(30, -20), wave(-20, 30))
    artwork, _ = read_stitches(data, f"design.{extension}")
    (round_,), (column,), (line,) = (
        of(artwork, kind, n + 1) for n, kind in enumerate(("fill", "fill", "line"))
    )
    assert region_of(round_).area == pytest.approx(math.pi * RADIUS**2, rel=0.01)
    assert region_of(column).area == pytest.approx(4.0 * 40.0, rel=0.03)
    x0, y0, x1, y1 = region_of(column).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((4.0, 40.0), abs=0.3)
    steps = np.diff(np.array(wave(0, 0)[0]), axis=0)
    wanted = float(np.hypot(*steps.T).sum())
    length = sum(chain_length(path.segments) for path in line.paths)
    assert length == pytest.approx(wanted, rel=0.01)
    assert artwork.page == pytest.approx((54.0, 53.0), abs=0.4)
    assert artwork.sized


def test_what_is_left_free_in_a_fill_is_a_hole():
    artwork, _ = read_stitches(written("pes", disc(0, 0, HOLE)), "ring.pes")
    (ring,) = of(artwork, "fill", 1)
    wanted = math.pi * (RADIUS**2 - HOLE**2)
    assert region_of(ring).area == pytest.approx(wanted, rel=0.02)
    assert len(region_of(ring).interiors) == 1  # type: ignore[union-attr]
    assert of(artwork, "line", 1) == []


def test_each_colour_keeps_its_own_shapes_and_colour():
    artwork, findings = read_stitches(written("pes", disc(0, 0), wave(-20, 30)), "two.pes")
    fill, line = artwork.shapes
    assert fill.fill is not None
    assert fill.stroke is None
    assert line.stroke is not None
    assert line.fill is None
    assert fill.fill != line.stroke
    assert any("1 fills and 1 lines" in finding.message for finding in findings)


@pytest.mark.parametrize("extension", READABLE)
@pytest.mark.parametrize("keep", [0.0, 0.05, 0.5])
def test_what_is_cut_off_is_refused(extension: str, keep: float):
    data = written(extension, disc(0, 0))
    if extension == "exp" and keep:
        pytest.skip("EXP has no end mark: what is left is a design like any other")
    with pytest.raises(ArtworkError) as wrong:
        read_stitches(data[: int(len(data) * keep)], f"cut.{extension}")
    assert f"cut.{extension}" in str(wrong.value)


@pytest.mark.parametrize("data", [b"", b"junk" * 500, b"<svg/>", bytes(4096)])
def test_junk_is_no_design(data: bytes):
    with pytest.raises(ArtworkError):
        read_stitches(data, "junk.dst")
