"""The chart: the layout at true size on paper, each piece's outline with the symbol of its code.

Plain, it shows the work as seen, to set pieces by hand. Mirrored, pieces are laid face down on a
sticky sheet over it, and the sheet turned over shows the work as seen.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from embellish.artwork.artwork import Shape
from embellish.layout.layout import Layout
from embellish.outputs.chart_pages import sheet_drawing, tiled_drawings
from embellish.outputs.chart_sheet import chart_sheet, signs_of
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.paper import Paper
from embellish.plans.title import TitleBlock


def chart_files(
    layout: Layout,
    title: TitleBlock,
    *,
    artwork: Sequence[Shape] = (),
    paper: Paper = "A4",
) -> dict[str, bytes]:
    """Return chart.svg (one sheet) and chart.pdf (tiled), plain, of the whole layout.

    Where lays are set face down, chart-face-down.svg and .pdf show those alone, mirrored, with
    the same symbols.
    """
    face_down = [index for index, lay in enumerate(layout.lays) if lay.set_by == "face-down"]
    below = layout.taken(np.flatnonzero(np.isin(layout.lay, face_down)))
    charts = [("chart", layout, False)]
    if len(below):
        charts.append(("chart-face-down", below, True))
    signs = signs_of(layout)
    files: dict[str, bytes] = {}
    for name, part, mirror in charts:
        sheet = chart_sheet(part, title, signs, artwork, mirror=mirror)
        files[f"{name}.svg"] = svg_bytes(sheet_drawing(sheet))
        files[f"{name}.pdf"] = pdf_bytes(tiled_drawings(sheet, paper))
    return files
