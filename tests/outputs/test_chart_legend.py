"""The legend of a chart: every piece and unit as it is, or to a scale that is told; the garment."""

from __future__ import annotations

import numpy as np
import pytest

from embellish.artwork.artwork import Path, Shape
from embellish.geometry.outlines import sampled
from embellish.outputs.chart_pages import sheet_drawing, tiled_drawings
from embellish.outputs.chart_sheet import chart_sheet, frame_of
from embellish.outputs.chart_signs import Line, signs_of
from embellish.outputs.drawing.drawing import Chains, Circles, Lines, Stamps, Words
from embellish.outputs.legend import RULE
from embellish.outputs.paper import MARGIN_MM
from tests.outputs.cast import ALL, TITLE, layout, piece
from tests.outputs.test_chart import face_down, sheet_of, words_of

LARGE = piece("LARGE", "stone", "rectangle", 25.0, 18.0)
HUGE = piece("HUGE", "other", "pear", 120.0, 70.0)


def legend_of(*codes: str, mirror: bool = False) -> dict[str, Line]:
    seats = [(200.0 * index, 0.0, 0.0, code) for index, code in enumerate(codes)]
    laid = layout(seats, pieces=(*ALL, LARGE, HUGE))
    return {line.entry.code: line for line in sheet_of(laid, mirror=mirror).legend}


def extent(line: Line) -> np.ndarray:
    """Corners (x0, y0), (x1, y1) of a legend's picture, pens left out."""
    parts = []
    for item in line.items:
        if isinstance(item, Circles):
            parts += [item.xy - item.radius_mm[:, None], item.xy + item.radius_mm[:, None]]
        elif isinstance(item, Chains):
            parts += [sampled(outline, 1e-4) for outline in item.outlines]
        else:
            parts += list(item.lines)
    every = np.concatenate(parts)
    return np.array([every.min(axis=0), every.max(axis=0)])


@pytest.mark.parametrize("code", [each.code for each in (*ALL, LARGE)])
def test_a_picture_of_the_legend_is_the_piece_at_true_size(code: str):
    line = legend_of(code)[code]
    by_code = {each.code: each for each in (*ALL, LARGE)}
    nominal = (by_code[code].length_mm.nominal, by_code[code].width_mm.nominal)
    assert (line.width_mm, line.height_mm) == pytest.approx(nominal, abs=0.06)
    assert extent(line) == pytest.approx(np.array([[-1, -1], [1, 1]]) * nominal / 2, abs=0.04)
    assert "drawn" not in line.entry.size


def test_what_does_not_fit_is_drawn_to_a_round_scale_that_is_told():
    line = legend_of("HUGE")["HUGE"]
    assert line.entry.size.endswith("drawn 1:4")
    assert (line.width_mm, line.height_mm) == pytest.approx((30.0, 17.5), abs=0.05)
    assert np.ptp(extent(line), axis=0) == pytest.approx((30.0, 17.5), abs=0.05)


@pytest.mark.parametrize("mirror", [False, True])
def test_a_unit_stands_in_the_legend_with_all_its_members(mirror: bool):
    lines = legend_of("SPRIG", mirror=mirror)
    assert list(lines) == ["BEAD", "SEQUIN", "SPRIG"]
    unit = lines["SPRIG"]
    assert "SEQUIN + BEAD" in unit.entry.name
    edges = [item for item in unit.items if isinstance(item, Circles | Chains)]
    assert len(edges) == 2
    disc, bead = edges
    assert isinstance(disc, Circles)
    assert isinstance(bead, Chains)
    # The bead stands 1 mm to the right of the sequin's middle, to the left where mirrored.
    middle = (extent(Line(unit.entry, (bead,), 0, 0)).sum(axis=0)) / 2.0
    side = -1.0 if mirror else 1.0
    assert middle - disc.xy[0] == pytest.approx((side, 0.5), abs=1e-6)


@pytest.mark.parametrize("code", ["LARGE", "HUGE", "SPRIG"])
def test_no_picture_of_a_legend_covers_words_or_the_lines_beside_it(code: str):
    laid = layout([(0.0, 0.0, 0.0, code), (150.0, 0.0, 0.0, "STONE")], pieces=(*ALL, LARGE, HUGE))
    sheet = sheet_of(laid)
    for page in (tiled_drawings(sheet, "A4")[0], sheet_drawing(sheet)):
        (layer,) = [each for each in page.layers if each.id == "words"]
        rules = sorted(
            float(item.lines[0][0, 1])
            for item in layer.items
            if isinstance(item, Lines) and item.style.stroke == RULE
        )
        starts = {item.text: item.x_mm for item in layer.items if isinstance(item, Words)}
        stamps = [item for item in layer.items if isinstance(item, Stamps)]
        assert len(stamps) == len(sheet.legend) == len(rules) - 1
        for line, stamp, above, below in zip(sheet.legend, stamps, rules, rules[1:], strict=False):
            (x, y), half = stamp.xy[0], np.array([line.width_mm, line.height_mm]) / 2.0
            assert x + half[0] < starts[line.entry.code] - 1.0
            assert x - half[0] >= MARGIN_MM - 1e-9
            assert above < y - half[1]
            assert y + half[1] < below


# The garment


def guide(x: float) -> Shape:
    ends = np.array([[x, -500.0], [x, 500.0]])
    line = np.stack([ends[0] + (ends[1] - ends[0]) * t for t in (0, 1 / 3, 2 / 3, 1)])
    return Shape("centre-front", "guides", (), None, "#0000ff", 0.2, "nonzero",
                 (Path(line[None], closed=False),))  # fmt: skip


def test_marks_of_the_garment_are_shown_by_name_and_widen_the_chart_but_a_little():
    laid = layout([(10.0, 10.0, 0.0, "STONE"), (90.0, 60.0, 0.0, "PEAR")])
    bare, marked = frame_of(laid), frame_of(laid, (), (guide(40.0),))
    assert marked.size_mm[1] == pytest.approx(bare.size_mm[1] + 40.0)
    assert marked.size_mm[0] == pytest.approx(bare.size_mm[0])
    for mirror in (False, True):
        sheet = chart_sheet(laid, TITLE, signs_of(laid), mirror=mirror, frame=marked)
        ((name, line),) = sheet.marks
        assert name == "centre-front"
        near = line[:, 0] - sheet.xy[0, 0]
        assert near == pytest.approx(-30.0 if mirror else 30.0)
        assert sheet.centre_mm == pytest.approx(np.array(marked.size_mm) / 2.0)
        pages = tiled_drawings(sheet, "A4")
        assert "centre-front" in words_of(pages[1])
        assert "marks of the garment" in words_of(pages[0])


def test_all_charts_of_a_layout_lie_on_each_other():
    """The middle of the design is the middle of the sheet, on the plain and every mirrored one."""
    laid = face_down()
    frame = frame_of(laid)
    part = laid.taken(np.array([1]))
    one = chart_sheet(laid, TITLE, signs_of(laid), frame=frame)
    two = chart_sheet(part, TITLE, signs_of(laid), frame=frame, mirror=True)
    assert one.width_mm - one.xy[1, 0] == pytest.approx(two.xy[0, 0])


def test_pages_that_nothing_stands_on_are_left_out_and_that_is_told():
    laid = layout([(0.0, 0.0, 0.0, "STONE"), (600.0, 700.0, 0.0, "STONE")])
    pages = tiled_drawings(sheet_of(laid), "A4")
    assert len(pages) == 3
    assert "2 are here" in words_of(pages[0])
    assert "page A1" in words_of(pages[1])
