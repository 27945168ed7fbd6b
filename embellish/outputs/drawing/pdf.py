"""Drawings as the pages of one PDF: true size, y turned up at the edge, equal bytes.

Page lengths are points of 1/72 inch; coordinates keep six decimals. Arcs are cubic Béziers
within a ten-thousandth of a millimetre. A small picture is stored once and set by its matrix.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final

import numpy as np

from embellish.arrays import Floats
from embellish.outputs.colours import rgb
from embellish.outputs.drawing.arcs import arc_beziers, beziers
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Lines,
    Picture,
    Stamps,
    Style,
    Words,
)
from embellish.outputs.drawing.fonts import CAP_SHARE, drawable, pdf_library
from embellish.outputs.drawing.numbers import rows
from embellish.units import MM_PER_PT

ARC_TOLERANCE_MM: Final = 5e-5


def pdf_bytes(drawings: Sequence[Drawing]) -> bytes:
    """Return one PDF with a page a drawing, to be printed at its own size.

    Raises
    ------
    ValueError
        Where there is no page: an empty PDF is not a file a reader opens.
    """
    # reportlab takes a while to load, and most runs write no PDF.
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - see above

    if not drawings:
        raise ValueError("a PDF needs at least one page")
    pdf_library()
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1, pdfVersion=(1, 4))
    canvas.setTitle(drawings[0].title)
    canvas.setCreator("embellish")
    canvas.setViewerPreference("PrintScaling", "None")
    stored: set[str] = set()
    for number, drawing in enumerate(drawings):
        canvas.setPageSize((drawing.width_mm / MM_PER_PT, drawing.height_mm / MM_PER_PT))
        page = _Page(canvas, drawing.height_mm, f"page{number}", stored)
        if drawing.background is not None:
            page.background(drawing)
        for layer in drawing.layers:
            for item in layer.items:
                page.item(item)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


class _Page:
    """One page being written. Points of shape (..., 2) in mm, y down, become PDF's."""

    def __init__(self, canvas: Any, height_mm: float, name: str, stored: set[str]) -> None:
        self.canvas = canvas
        self.height_mm = height_mm
        self.name = name
        self.stored = stored
        # reportlab leaves see-through states out of a stored picture's resources, so that there
        # they are named and handed over by us; None on a page.
        self.opacities: dict[str, float] | None = None

    def points(self, xy_mm: Floats) -> Floats:
        turned = np.array(xy_mm, dtype=np.float64)
        turned[..., 1] = self.height_mm - turned[..., 1]
        return turned / MM_PER_PT

    def background(self, drawing: Drawing) -> None:
        w, h = drawing.width_mm, drawing.height_mm
        corners = np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])
        self.item(Lines((corners,), Style(fill=drawing.background), closed=True))

    def item(self, item: Item) -> None:
        match item:
            case Words():
                self._words(item)
            case Picture():
                self._picture(item)
            case Instances():
                which = np.zeros(len(item.xy), dtype=np.int64)
                self._stamps(Stamps(item.name, (item.items,), which, item.xy, item.angle_deg))
            case Stamps():
                self._stamps(item)
            case _:
                self._outlines(item)

    def _outlines(self, item: Circles | Chains | Lines | Curves) -> None:
        style = item.style
        if style.fill is None and style.stroke is None:
            return
        paint, closed = _paint_operator(item)
        self.canvas.saveState()
        self._set(style)
        match item:
            case Circles():
                self._circles(item, paint)
            case Chains():
                for outline in item.outlines:
                    self._path([beziers(outline, ARC_TOLERANCE_MM)], paint, closed=closed)
            case Lines():
                for line in item.lines:
                    self._polyline(np.asarray(line), paint, closed=closed)
            case Curves():
                if item.chains:
                    self._path([np.asarray(chain) for chain in item.chains], paint, closed=closed)
        self.canvas.restoreState()

    def _set(self, style: Style) -> None:
        canvas = self.canvas
        if style.fill is not None:
            canvas.setFillColorRGB(*(part / 255 for part in rgb(style.fill)))
        if style.stroke is not None:
            canvas.setStrokeColorRGB(*(part / 255 for part in rgb(style.stroke)))
            canvas.setLineWidth(style.stroke_width_mm / MM_PER_PT)
            canvas.setLineCap(1)
            canvas.setLineJoin(1)
            if style.dash_mm:
                canvas.setDash([dash / MM_PER_PT for dash in style.dash_mm])
        if style.opacity != 1.0:
            self._see_through(style.opacity)

    def _see_through(self, opacity: float) -> None:
        if self.opacities is None:
            self.canvas.setFillAlpha(opacity)
            self.canvas.setStrokeAlpha(opacity)
        else:
            name = f"a{round(opacity * 1000)}"
            self.opacities[name] = opacity
            self.canvas.addLiteral(f"/{name} gs")

    def _path(self, chains: list[Floats], paint: str, *, closed: bool) -> None:
        for chain in chains:
            page = self.points(chain)
            self._write(rows("%s %s m ", page[:1, 0]))
            self._write(rows("%s %s %s %s %s %s c ", page[:, 1:].reshape(-1, 6)))
            if closed:
                self.canvas.addLiteral("h")
        self.canvas.addLiteral(paint)

    def _polyline(self, line: Floats, paint: str, *, closed: bool) -> None:
        page = self.points(line)
        self._write(rows("%s %s m ", page[:1]))
        self._write(rows("%s %s l ", page[1:]))
        self.canvas.addLiteral(f"h {paint}" if closed else paint)

    def _circles(self, item: Circles, paint: str) -> None:
        # All circles of one radius at once: the same Béziers, moved.
        radius = np.asarray(item.radius_mm, dtype=np.float64)
        for size in dict.fromkeys(radius.tolist()):
            arcs = arc_beziers(np.array([size, 0.0]), 2.0 * math.pi, ARC_TOLERANCE_MM)
            arcs[-1, 3] = arcs[0, 0]
            moved = item.xy[radius == size][:, None, None, :] + arcs[None]
            page = self.points(moved)
            table = np.concatenate([page[:, 0, 0], page[:, :, 1:].reshape(len(page), -1)], axis=1)
            template = "%s %s m " + "%s %s %s %s %s %s c " * len(arcs) + f"h {paint}\n"
            self._write(rows(template, table))

    def _write(self, texts: Any) -> None:
        for text in texts:
            self.canvas.addLiteral(text)

    def _words(self, item: Words) -> None:
        canvas = self.canvas
        text = drawable(item.text)
        canvas.saveState()
        canvas.setFillColorRGB(*(part / 255 for part in rgb(item.colour)))
        canvas.setFont(
            "words-bold" if item.bold else "words", item.height_mm / CAP_SHARE / MM_PER_PT
        )
        x, y = self.points(np.array([item.x_mm, item.y_mm])).tolist()
        canvas.translate(x, y)
        if item.angle_deg:
            canvas.rotate(-item.angle_deg)
        draw = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[item.anchor]
        draw(0.0, 0.0, text)
        canvas.restoreState()

    def _picture(self, item: Picture) -> None:
        from reportlab.lib.utils import ImageReader  # noqa: PLC0415 - as above

        corner = self.points(np.array([item.x_mm, item.y_mm + item.height_mm])).tolist()
        self.canvas.saveState()
        self.canvas.setFillAlpha(item.opacity)
        self.canvas.drawImage(
            ImageReader(BytesIO(item.image)),
            *corner,
            width=item.width_mm / MM_PER_PT,
            height=item.height_mm / MM_PER_PT,
            mask="auto",
        )
        self.canvas.restoreState()

    def _stamps(self, item: Stamps) -> None:
        names = [f"{self.name}-{item.name}-{index}" for index in range(len(item.pictures))]
        used = set(np.unique(np.asarray(item.which)).tolist())
        for index, name in enumerate(names):
            if index in used and name not in self.stored:
                self.stored.add(name)
                reach = _reach_pt(item.pictures[index])
                self.canvas.beginForm(name, -reach, -reach, reach, reach)
                small = _Page(self.canvas, 0.0, name, self.stored)
                small.opacities = {}
                for part in item.pictures[index]:
                    small.item(part)
                self.canvas.endForm(Resources=_resources(small.opacities))
        self._stamp_each(item, names)

    def _stamp_each(self, item: Stamps, names: list[str]) -> None:
        """Write the stamps one after the other, as they lie over each other."""
        from reportlab.pdfbase.pdfdoc import (  # noqa: PLC0415 - loaded by now, see pdf_bytes
            xObjectName,
        )

        which = np.asarray(item.which)
        if not len(which):
            return
        turn = np.radians(-np.asarray(item.angle_deg, dtype=np.float64))
        cos, sin = np.cos(turn), np.sin(turn)
        table = np.column_stack([cos, sin, -sin, cos, self.points(item.xy)])
        lines = "".join(rows("q %s %s %s %s %s %s cm\n", table)).splitlines()
        calls = [f"/{xObjectName(name)} Do Q" for name in names]
        # The library is told of each form where it stands first, and writes that one itself.
        first = dict(zip(*np.unique(which, return_index=True), strict=True))
        starts = sorted((int(row), int(index)) for index, row in first.items())
        ends = [row for row, _ in starts[1:]] + [len(which)]
        order = which.tolist()
        for (row, index), end in zip(starts, ends, strict=True):
            self.canvas.addLiteral(lines[row])
            self.canvas.doForm(names[index])
            self.canvas.addLiteral("Q")
            if end > row + 1:
                more = range(row + 1, end)
                self.canvas.addLiteral("\n".join(f"{lines[k]} {calls[order[k]]}" for k in more))


def _resources(opacities: dict[str, float]) -> Any:
    from reportlab.pdfbase.pdfdoc import (  # noqa: PLC0415 - loaded by now, see pdf_bytes
        PDFDictionary,
        PDFResourceDictionary,
    )

    resources = PDFResourceDictionary()
    resources.basicFonts()
    resources.basicProcs()
    if opacities:
        resources.ExtGState = PDFDictionary(
            {
                name: PDFDictionary({"ca": opacity, "CA": opacity})
                for name, opacity in opacities.items()
            }
        )
    return resources


def _paint_operator(item: Circles | Chains | Lines | Curves) -> tuple[str, bool]:
    closed = item.closed if isinstance(item, Lines | Curves) else True
    style = item.style
    star = "*" if isinstance(item, Curves) and item.fill_rule == "evenodd" else ""
    if style.fill is None or not closed:
        return ("S" if style.stroke is not None else "n"), closed
    return (f"B{star}" if style.stroke is not None else f"f{star}"), closed


def _reach_pt(items: Sequence[Circles | Chains | Lines]) -> float:
    reach = 0.0
    for item in items:
        pen = item.style.stroke_width_mm if item.style.stroke else 0.0
        match item:
            case Circles():
                far = np.hypot(*item.xy.T) + item.radius_mm
            case Chains():
                chains = [beziers(outline, 1e-2).reshape(-1, 2) for outline in item.outlines]
                far = np.hypot(*np.concatenate([*chains, np.zeros((1, 2))]).T)
            case Lines():
                far = np.hypot(*np.concatenate([*item.lines, np.zeros((1, 2))]).T)
        reach = max(reach, float(far.max(initial=0.0)) + pen)
    return reach / MM_PER_PT
