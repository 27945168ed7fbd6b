"""The chart: the layout at true size on paper, each piece's outline with the symbol of its code.

Plain, it shows the work as seen, to set pieces by hand. Mirrored, pieces are laid face down on a
sticky sheet over it, and the sheet turned over shows the work as seen; what is worked from the
back of the cloth is shown mirrored too.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from embellish.artwork.artwork import Shape
from embellish.layout.layout import Layout
from embellish.outputs.chart_pages import sheet_drawing, tiled_drawings
from embellish.outputs.chart_sheet import (
    BACK_USE,
    FACE_DOWN_USE,
    PLAIN_USE,
    ChartSheet,
    chart_sheet,
    frame_of,
)
from embellish.outputs.chart_signs import signs_of
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.paper import Paper
from embellish.plans.title import TitleBlock


def chart_files(
    layout: Layout,
    title: TitleBlock,
    *,
    artwork: Sequence[Shape] = (),
    marks: Sequence[Shape] = (),
    paper: Paper = "A4",
) -> dict[str, bytes]:
    """Return chart.svg (one sheet) and chart.pdf (tiled) of every chart of a layout, by name."""
    files: dict[str, bytes] = {}
    for name, sheet in charts(layout, title, artwork=artwork, marks=marks).items():
        files[f"{name}.svg"] = svg_bytes(sheet_drawing(sheet))
        files[f"{name}.pdf"] = pdf_bytes(tiled_drawings(sheet, paper))
    return files


def charts(
    layout: Layout,
    title: TitleBlock,
    *,
    artwork: Sequence[Shape] = (),
    marks: Sequence[Shape] = (),
) -> dict[str, ChartSheet]:
    """Return the charts of a layout by name: ``chart``, plain, of the whole of it.

    Where lays are set face down, ``chart-face-down`` shows those alone, mirrored, with the same
    symbols; ``chart-back`` likewise shows what is worked from the back. All charts of a layout
    show the same ground, so that they lie on each other.
    """
    face_down = [lay.set_by == "face-down" for lay in layout.lays]
    back = [lay.worked_from == "back" for lay in layout.lays]
    wanted = [("chart", layout, False, PLAIN_USE)]
    for name, which, use in (
        ("chart-face-down", face_down, FACE_DOWN_USE),
        ("chart-back", back, BACK_USE),
    ):
        part = layout.taken(np.flatnonzero(np.isin(layout.lay, np.flatnonzero(which))))
        if len(part):
            wanted.append((name, part, True, use))
    signs, frame = signs_of(layout), frame_of(layout, artwork, marks)
    return {
        name: chart_sheet(part, title, signs, mirror=mirror, frame=frame, use=use)
        for name, part, mirror, use in wanted
    }
