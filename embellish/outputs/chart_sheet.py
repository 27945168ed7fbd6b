"""What a chart shows: each piece's outline at true size, with the symbol of its code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.outputs.chart_signs import Line, Sign, legend_lines
from embellish.outputs.drawing.drawing import Chains, Circles, Lines
from embellish.outputs.legend import entries
from embellish.outputs.seated import seated
from embellish.plans.title import TitleBlock

_FLAT_MM: Final = 0.02
"""How far a shape's faint line may stray from its curve: less than a printed line is wide."""
_BEYOND_MM: Final = 20.0
"""How far a garment's own lines are shown beyond the design."""
PLAIN_USE: Final = "as seen, not mirrored"
FACE_DOWN_USE: Final = "MIRRORED: lay pieces face down on the sticky sheet over it"
BACK_USE: Final = "MIRRORED, as seen from the back: for what is worked from the back"


@dataclass(frozen=True, eq=False)
class ChartSheet:
    """A chart on one sheet: what stands where, in the chart's own millimetres from (0, 0).

    Parameters
    ----------
    title
        Words that tie it to its layout.
    width_mm, height_mm
        Of the design.
    mirror
        Whether it shows the work from its wrong side.
    codes
        Of the pieces, index by index.
    edges, glyphs
        Outline and symbol of each code, about its centre: edges are turned with the piece, symbols
        are not.
    xy, angle_deg, which : arrays of shape (n, 2), (n,) and (n,)
        Centres, turns, and index into ``codes`` of every single piece.
    reach_mm
        The greatest distance of a piece's edge from its centre.
    lines
        The artwork, faintly, each of shape (k, 2).
    legend
        A line a code and a unit, each with its picture.
    name, use
        What the sheet is called, and what it is for.
    notes
        Sentences for its first page.
    centre_mm
        Where the lines through the middle of the whole design cross.
    marks
        The garment's own lines by name, each of shape (k, 2).
    light
        Whether all is drawn in lines that stay faint on cloth, and no square lies under it.
    """

    title: TitleBlock
    width_mm: float
    height_mm: float
    mirror: bool
    codes: tuple[str, ...]
    edges: tuple[Circles | Chains, ...]
    glyphs: tuple[tuple[Lines, ...], ...]
    xy: Floats
    angle_deg: Floats
    which: Ints
    reach_mm: float
    lines: tuple[Floats, ...]
    legend: tuple[Line, ...] = ()
    name: str = "Chart"
    use: str = ""
    notes: tuple[str, ...] = ()
    centre_mm: tuple[float, float] | None = None
    marks: tuple[tuple[str, Floats], ...] = ()
    light: bool = False


@dataclass(frozen=True, eq=False)
class Frame:
    """The ground that every chart of one layout shows, so that all of them lie on each other.

    Parameters
    ----------
    bounds_mm
        x0, y0, x1, y1 in layout mm.
    lines
        The artwork, each of shape (k, 2), in layout mm.
    marks
        The garment's own lines by name, cut to the bounds.
    """

    bounds_mm: tuple[float, float, float, float]
    lines: tuple[Floats, ...]
    marks: tuple[tuple[str, Floats], ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        x0, y0, x1, y1 = self.bounds_mm
        return x1 - x0, y1 - y0

    def to_sheet(self, *, mirror: bool) -> Affine:
        """Return the map from layout mm to a sheet whose design begins at (0, 0)."""
        x0, y0, x1, _ = self.bounds_mm
        move = Affine.move(-x0, -y0)
        return Affine.mirror_x((x1 - x0) / 2.0) @ move if mirror else move


def frame_of(layout: Layout, artwork: Sequence[Shape] = (), marks: Sequence[Shape] = ()) -> Frame:
    """Return the frame of a layout; lines of the garment widen it by a little at most."""
    lines = tuple(line.points for shape in artwork for line in lines_of(shape, _FLAT_MM))
    named = [(shape.id, line.points) for shape in marks for line in lines_of(shape, _FLAT_MM)]
    x0, y0, x1, y1 = _bounds(layout, lines)
    if named:
        every = np.concatenate([line for _, line in named])
        (a0, b0), (a1, b1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
        x0, x1 = min(x0, max(a0, x0 - _BEYOND_MM)), max(x1, min(a1, x1 + _BEYOND_MM))
        y0, y1 = min(y0, max(b0, y0 - _BEYOND_MM)), max(y1, min(b1, y1 + _BEYOND_MM))
    box = (x0, y0, x1, y1)
    return Frame(box, lines, tuple((name, part) for name, line in named for part in cut(line, box)))


def cut(line: Floats, box: tuple[float, float, float, float]) -> list[Floats]:
    """Return the parts of a line that lie in a box (x0, y0, x1, y1)."""
    if len(line) < 2:
        return []
    inside = shapely.clip_by_rect(shapely.LineString(line), *box)
    parts = shapely.get_parts(inside)
    return [shapely.get_coordinates(part) for part in parts if part.geom_type == "LineString"]


def chart_sheet(
    layout: Layout,
    title: TitleBlock,
    signs: dict[str, Sign],
    artwork: Sequence[Shape] = (),
    *,
    mirror: bool = False,
    frame: Frame | None = None,
    use: str = "",
) -> ChartSheet:
    """Return the chart of a layout, moved so that the frame begins at (0, 0).

    Parameters
    ----------
    layout
        What is shown.
    title
        Words that tie it to its layout.
    signs
        Of every code that any of the layout's charts shows.
    artwork
        Drawn faintly, where no frame is given.
    mirror
        Show the work from its wrong side.
    frame
        The ground shown, where it is not that of this layout alone.
    use
        What the chart is for; the usual words where it is left out.
    """
    frame = frame or frame_of(layout, artwork)
    to_sheet = frame.to_sheet(mirror=mirror)
    # A member's offset turns the other way in a mirrored seat: map places, not frames.
    pieces = seated(layout)
    codes = tuple(signs)
    index_of = {code: index for index, code in enumerate(codes)}
    which = np.array([index_of.get(piece.code, -1) for piece in layout.pieces], dtype=np.int64)
    by_code = {piece.code: piece for piece in layout.pieces}
    width, height = frame.size_mm
    # Centre lines show where a design sits; where there is none, nothing is to be placed.
    centre = (width / 2.0, height / 2.0) if len(layout) else None
    return ChartSheet(
        title=title,
        width_mm=width,
        height_mm=height,
        mirror=mirror,
        codes=codes,
        edges=tuple(sign.edge(by_code[code], mirror=mirror) for code, sign in signs.items()),
        glyphs=tuple(sign.glyph(by_code[code]) for code, sign in signs.items()),
        xy=to_sheet(pieces.xy),
        angle_deg=np.mod(to_sheet.turned_deg(pieces.angle_deg), 360.0),
        which=which[pieces.piece],
        reach_mm=float(layout.reach_mm.max(initial=0.0)),
        lines=tuple(to_sheet(line) for line in frame.lines),
        legend=legend_lines(entries(layout), signs, mirror=mirror),
        name="MIRRORED chart" if mirror else "Chart",
        use=use or (FACE_DOWN_USE if mirror else PLAIN_USE),
        notes=(centre_note(frame.marks),) if centre else (),
        centre_mm=centre,
        marks=tuple((name, to_sheet(line)) for name, line in frame.marks),
    )


def centre_note(marks: Sequence[tuple[str, Floats]]) -> str:
    """Return what the lines on a sheet mean."""
    words = "Dash-dot lines cross in the middle of the design."
    return f"{words} Long dashes are marks of the garment." if marks else words


def _bounds(layout: Layout, lines: Sequence[Floats]) -> tuple[float, float, float, float]:
    reach = layout.reach_mm[:, None]
    corners = [layout.xy - reach, layout.xy + reach, *lines]
    every = np.concatenate([part for part in corners if len(part)] or [np.zeros((1, 2))])
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return x0, y0, x1, y1
