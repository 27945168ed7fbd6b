"""Chart pages against paper standards, and measured from the PDF as another program reads it.

Sizes: ISO 216 names A4 as 210 × 297 mm, cut to within ±2 mm; ANSI/ASME Y14.1 names size A, sold
as Letter, as 8.5 × 11 in. A PDF's unit is 1/72 in (ISO 32000-1, 8.3.2.3), and an inch is 25.4 mm
exactly (international yard and pound agreement of 1959).
"""

from __future__ import annotations

import io
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from embellish.outputs.chart import chart_files
from embellish.outputs.paper import Paper
from tests.outputs.cast import TITLE, layout

MM_PER_POINT = Fraction(254, 10) / 72
STANDARD_MM: dict[Paper, tuple[Fraction, Fraction]] = {
    "A4": (Fraction(210), Fraction(297)),
    "Letter": (Fraction(85, 10) * Fraction(254, 10), Fraction(11) * Fraction(254, 10)),
}
SQUARE_MM = 100.0


def chart_pdf(paper: Paper, width: float, height: float) -> bytes:
    xy = np.random.default_rng(2).uniform((0, 0), (width, height), (80, 2)).tolist()
    laid = layout([(x, y, 7.0 * i, ("PEAR", "STONE")[i % 2]) for i, (x, y) in enumerate(xy)])
    return chart_files(laid, TITLE, paper=paper)["chart.pdf"]


CASES = [
    (paper, size)
    for paper in ("A4", "Letter")
    for size in ((60.0, 40.0), (240.0, 100.0), (300.0, 420.0))
]


@pytest.mark.parametrize(("paper", "size"), CASES)
def test_pages_are_of_the_standard_size_upright_or_turned(paper: Paper, size: tuple[float, float]):
    for page in PdfReader(io.BytesIO(chart_pdf(paper, *size))).pages:
        found = (page.mediabox.width, page.mediabox.height)
        mm = sorted(float(Fraction(str(side)) * MM_PER_POINT) for side in found)
        assert mm == pytest.approx([float(side) for side in STANDARD_MM[paper]], abs=0.01)
        assert page.get("/UserUnit", 1) == 1


def squares_mm(page: object) -> list[tuple[float, float]]:
    """Width and height of every dashed closed outline of four straight sides, as pypdf reads it."""
    found: list[tuple[float, float]] = []
    corners: list[tuple[float, float]] = []
    dashed = False
    depth: list[bool] = []

    def visit(
        operator: bytes, operands: list[Any], matrix: list[float], _text: list[float]
    ) -> None:
        nonlocal corners, dashed
        if operator == b"q":
            depth.append(dashed)
        elif operator == b"Q":
            dashed = depth.pop()
        elif operator == b"d":
            dashed = bool(operands[0])
        elif operator in (b"m", b"l"):
            a, b, c, d, e, f = map(float, matrix)
            x, y = map(float, operands)
            place = (a * x + c * y + e, b * x + d * y + f)
            corners = [place] if operator == b"m" else [*corners, place]
        elif operator in (b"s", b"S", b"h") and dashed and len(set(corners)) == 4:
            across, up = np.ptp(np.array(corners), axis=0) * float(MM_PER_POINT)
            found.append((float(across), float(up)))
            corners = []

    page.extract_text(visitor_operand_before=visit)  # type: ignore[attr-defined]
    return found


@pytest.mark.parametrize(("paper", "size"), CASES)
def test_every_page_has_a_square_of_a_hundred_millimetres(paper: Paper, size: tuple[float, float]):
    pages = PdfReader(io.BytesIO(chart_pdf(paper, *size))).pages
    assert len(pages) >= 2
    for page in pages:
        (square,) = squares_mm(page)
        assert square == pytest.approx((SQUARE_MM, SQUARE_MM), abs=0.01)


def test_a_printer_is_asked_not_to_scale():
    """ISO 32000-1, table 150: PrintScaling None."""
    reader = PdfReader(io.BytesIO(chart_pdf("A4", 60.0, 40.0)))
    preferences = reader.trailer["/Root"]["/ViewerPreferences"]  # type: ignore[index]
    assert preferences["/PrintScaling"] == "/None"


@pytest.mark.slow
def test_rendered_by_another_program_the_design_keeps_its_size(tmp_path: Path):
    """Poppler's pdftoppm at 254 dots an inch: a dot is a tenth of a millimetre."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm is not installed")
    laid = layout([(0.0, 0.0, 0.0, "SEQUIN"), (150.0, 90.0, 0.0, "SEQUIN")])
    (tmp_path / "chart.pdf").write_bytes(chart_files(laid, TITLE)["chart.pdf"])
    subprocess.run(
        ["pdftoppm", "-r", "254", "-f", "2", "-l", "2", "-gray", "chart.pdf", "page"],
        cwd=tmp_path,
        check=True,
    )
    (name,) = tmp_path.glob("page*.pgm")
    with Image.open(name) as picture:
        dark = np.asarray(picture) < 128
    # The symbol in the middle of either piece is its darkest part: a dot.
    ys, xs = np.nonzero(dark[1000:1400, 1400:1800])
    assert len(xs)
    far = np.array([xs.min() + xs.max(), ys.min() + ys.max()]) / 20.0 + (140.0, 100.0)
    ys, xs = np.nonzero(dark[255:285, 115:145])
    near = np.array([xs.min() + xs.max(), ys.min() + ys.max()]) / 20.0 + (11.5, 25.5)
    assert far - near == pytest.approx((150.0, 90.0), abs=0.15)
