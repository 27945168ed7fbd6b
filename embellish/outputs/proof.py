"""The proof: the picture the customer approves, to scale on the colour of the cloth.

It shows pieces at nominal size in their catalogue colours, counts them in full, and carries the
words that tie it to one revision of one layout.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, TypeAlias

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Shape
from embellish.catalogue.shapes import turn_symmetry_deg
from embellish.errors import OutputError
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.outputs.backdrop import Backdrop
from embellish.outputs.colours import mix, readable_on
from embellish.outputs.drawing.drawing import (
    Curves,
    Drawing,
    Item,
    Layer,
    Lines,
    Stamps,
    Style,
    Words,
)
from embellish.outputs.drawing.fonts import text_width_mm
from embellish.outputs.drawing.numbers import number
from embellish.outputs.drawing.png import png_bytes, scale_within
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.legend import (
    FAINT_INK,
    INK,
    Entry,
    Room,
    box,
    entries,
    fitted,
    legend,
    scale_bar,
    wrapped,
)
from embellish.outputs.proof_forms import Small, enlarged
from embellish.outputs.proof_pieces import piece_picture
from embellish.outputs.seated import seated
from embellish.plans.title import TitleBlock

PAPER: Final = "#ffffff"
STOP_RED: Final = "#c4161c"
DEFAULT_CLOTH: Final = "#4a5568"

MAX_SIDE_PX: Final = 4000
MAX_PX_PER_MM: Final = 24.0

Threads: TypeAlias = tuple[str, tuple[Floats, ...]]
"""A colour and the lines sewn in it."""

_LIGHTS: Final = 24
"""Directions of light that turned pieces are painted for: within 7.5°, which no eye sees."""

_LEAST_WIDTH_MM: Final = 110.0
_NOTE: Final = (
    "Drawn to scale at nominal sizes. Colours on screen and paper differ from the pieces; real "
    "pieces vary within their size range. Counts are for one garment, without spares."
)


def proof_drawing(
    layout: Layout,
    title: TitleBlock,
    *,
    artwork: Sequence[Shape] = (),
    cloth_colour: str = DEFAULT_CLOTH,
    notes: Sequence[str] = (),
    threads: Sequence[Threads] = (),
    alone: bool = False,
    backdrop: Backdrop | None = None,
) -> Drawing:
    """Return the proof of a layout as one page, one millimetre a millimetre.

    Parameters
    ----------
    layout
        What is set where.
    title
        The words that tie the proof to its layout; a ``stop`` is stamped across the picture.
    artwork
        Shapes in the layout's millimetres, drawn faintly beneath.
    cloth_colour
        '#rrggbb' of the cloth.
    notes
        More sentences for the customer, such as cautions.
    threads
        Embroidery beneath, drawn lightly: colour and lines in the layout's millimetres.
    alone
        The picture with its scale alone, for a page that has words and a list of its own.
    backdrop
        A photo of the garment beneath all of it.
    """
    design = _extent(layout, artwork, threads)
    x0, y0, x1, y1 = design if backdrop is None else backdrop.frame(design)
    wide, high = x1 - x0, y1 - y0
    # Words grow with the picture, so that a gown's proof reads as well as a badge's.
    text = min(8.0, max(2.0, max(wide, high) / 90.0))
    border = text * 2.5
    around = max(5.0, 0.05 * max(wide, high)) if backdrop is None else 0.0
    cloth_width = max(wide + 2.0 * around, _LEAST_WIDTH_MM * text / 2.0)
    cloth_height = high + 2.0 * around
    page_width = cloth_width + 2.0 * border
    head, top = ((), text) if alone else _head(title, border, page_width - 2.0 * border, text)
    move = Affine.move(
        border + (cloth_width - wide) / 2.0 - x0, top + (cloth_height - high) / 2.0 - y0
    )
    frame = box(border, top, cloth_width, cloth_height)
    room = Room(border, top + cloth_height, cloth_width, text)
    if alone:
        foot, bottom = _scale(layout, room, _size(design))
    else:
        foot, bottom = _foot(layout, room, cloth_colour, notes, _size(design))
    shapes = [shape.mapped(move) for shape in artwork]
    photo: tuple[Item, ...] = ()
    faint = [_faint(shape, cloth_colour, text) for shape in shapes]
    if backdrop is not None:
        photo = (backdrop.picture(border, top, cloth_width, cloth_height, move, cloth_colour),)
        # What the drawing fills would hide the garment.
        faint = [replace(each, style=replace(each.style, fill=None)) for each in faint]
    layers = (
        Layer("cloth", (Lines((frame,), Style(fill=cloth_colour), closed=True),)),
        Layer("photo", photo),
        Layer("artwork", tuple(faint)),
        Layer("embroidery", tuple(_thread(each, move, cloth_colour) for each in threads)),
        Layer("pieces", _pieces(layout.mapped(move), cloth_colour)),
        Layer("words", (*head, *foot)),
        Layer("stop", _stop(title, frame, text)),
    )
    return Drawing(
        page_width,
        bottom + border,
        tuple(layer for layer in layers if layer.items),
        title=f"Proof · {title.words}",
        background=PAPER,
    )


def proof_files(proof: Drawing) -> dict[str, bytes]:
    """Return proof.svg and proof.png; the picture has at most 4000 pixels a side."""
    return {"proof.svg": svg_bytes(proof), "proof.png": picture_png(proof, MAX_SIDE_PX)}


def proof_format(name: str) -> Callable[[Drawing], bytes]:
    """Return what writes a proof in the format of a file name.

    Raises
    ------
    OutputError
        For another ending than .svg or .png.
    """
    ending = name.rpartition(".")[2].lower()
    if ending == "svg":
        return svg_bytes
    if ending == "png":
        return lambda proof: picture_png(proof, MAX_SIDE_PX)
    raise OutputError(
        f"a picture is not written as '.{ending}'", file=name, mend="Name it .svg or .png."
    )


def picture_png(proof: Drawing, max_side_px: int) -> bytes:
    """Return a proof as a PNG of at most so many pixels a side."""
    px = scale_within(proof.width_mm, proof.height_mm, MAX_PX_PER_MM, max_side_px)
    return png_bytes(proof, px)


def _extent(
    layout: Layout, artwork: Sequence[Shape], threads: Sequence[Threads]
) -> tuple[float, float, float, float]:
    boxes = []
    sewn = [line for _, lines in threads for line in lines]
    if sewn:
        points = np.concatenate(sewn)
        boxes.append([*points.min(axis=0), *points.max(axis=0)])
    if len(layout):
        reach = layout.reach_mm[:, None]
        boxes.append([*(layout.xy - reach).min(axis=0), *(layout.xy + reach).max(axis=0)])
    chains = [path.segments for shape in artwork for path in shape.paths if len(path.segments)]
    if chains:
        boxes.append([*bezier_bounds(np.concatenate(chains))])
    if not boxes:
        width, height = layout.page_mm
        return 0.0, 0.0, max(width, 20.0), max(height, 20.0)
    table = np.array(boxes)
    low, high = table[:, :2].min(axis=0).tolist(), table[:, 2:].max(axis=0).tolist()
    return low[0], low[1], high[0], high[1]


def _size(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    return bounds[2] - bounds[0], bounds[3] - bounds[1]


def _thread(threads: Threads, move: Affine, cloth: str) -> Lines:
    colour, lines = threads
    style = Style(stroke=mix(colour, cloth, 0.45), stroke_width_mm=0.3)
    return Lines(tuple(move(line) for line in lines), style)


def _faint(shape: Shape, cloth: str, text: float) -> Curves:
    ink = readable_on(cloth)
    closed = shape.fill is not None or all(path.closed for path in shape.paths)
    style = Style(
        fill=mix(cloth, shape.fill, 0.22) if shape.fill is not None else None,
        stroke=mix(cloth, ink, 0.3),
        stroke_width_mm=0.06 * text,
    )
    chains = tuple(path.segments for path in shape.paths if len(path.segments))
    return Curves(chains, style, closed=closed, fill_rule=shape.fill_rule)


def _pieces(layout: Layout, cloth: str) -> tuple[Item, ...]:
    """Return all pieces in the order they are set, so that lapped ones lie right."""
    every = seated(layout)
    if not len(every.piece):
        return ()
    turns = np.array([turn_symmetry_deg(piece) for piece in layout.pieces])
    free = turns[every.piece] == 0.0
    angle = np.where(free, 0.0, every.angle_deg)
    light = np.rint(angle / 360.0 * _LIGHTS).astype(np.int64) % _LIGHTS
    kinds, which = np.unique(every.piece * _LIGHTS + light, return_inverse=True)
    pictures: list[Small] = [
        piece_picture(layout.pieces[kind // _LIGHTS], kind % _LIGHTS * 360.0 / _LIGHTS, cloth)
        for kind in kinds.tolist()
    ]
    return (Stamps("piece", tuple(pictures), which, every.xy, angle),)


def _head(
    title: TitleBlock, left: float, width: float, text: float
) -> tuple[tuple[Item, ...], float]:
    y = left + text * 1.5
    name = fitted(title.title, text * 1.5, width, bold=True)
    items: list[Item] = [Words(left, y, name, text * 1.5, bold=True, colour=INK)]
    y += text * 2.2
    rest = title.words.removeprefix(title.title).removeprefix(" · ")
    for line in wrapped(f"Proof · {rest}", text, width):
        items.append(Words(left, y, line, text, colour=FAINT_INK))
        y += text * 1.8
    if title.stop:
        tall, middle, low = text * 2.6, left + width / 2.0, y + text * 0.8
        items += [
            Lines((box(left, y - text, width, tall),), Style(fill=STOP_RED), closed=True),
            Words(middle, low, title.stop, text, "middle", colour=PAPER, bold=True),
        ]
        y += tall + text * 0.6
    return tuple(items), y


def _scale(layout: Layout, room: Room, size: tuple[float, float]) -> tuple[list[Item], float]:
    """Return the scale, the design's size and how many pieces it has."""
    text, left, right = room.text, room.left, room.left + room.width
    y = room.top + text * 1.8
    items: list[Item] = list(scale_bar(left, y, room.width / 2.5, text))
    measure = f"design {number(round(size[0], 1))} × {number(round(size[1], 1))} mm"
    items.append(Words(right, y + text * 0.9, measure, text, "end", colour=INK))
    total = f"{len(seated(layout).piece)} pieces"
    items.append(Words(right, y + text * 2.7, total, text, "end", colour=INK, bold=True))
    return items, y + text * 4.2


def _foot(
    layout: Layout,
    room: Room,
    cloth: str,
    notes: Sequence[str],
    size: tuple[float, float],
) -> tuple[list[Item], float]:
    text, left = room.text, room.left
    items, y = _scale(layout, room, size)

    def swatch(line: Entry, index: int, place: tuple[float, float], side: float) -> list[Item]:
        return _swatch(line, index, place, side, cloth)

    table, y = legend(entries(layout), Room(left, y, room.width, text), swatch)
    items += table
    y += text * 1.6
    for sentence in (_NOTE, *notes):
        for line in wrapped(sentence, text * 0.8, room.width):
            items.append(Words(left, y, line, text * 0.8, colour=FAINT_INK))
            y += text * 1.45
    y += text * 2.2
    half = room.width / 2.0
    for x, word in ((left, "Approved by"), (left + half, "Date")):
        gap = text_width_mm(word, text) + text
        blank = np.array([[x + gap, y], [x + half - text * 2.0, y]])
        items.append(Words(x, y, word, text, colour=INK))
        items.append(Lines((blank,), Style(stroke=INK, stroke_width_mm=text * 0.06)))
    return items, y


def _swatch(
    line: Entry, index: int, place: tuple[float, float], side: float, cloth: str
) -> list[Item]:
    """Return a patch of cloth with the piece on it, enlarged: the size column has its size."""
    x, y = place
    members = line.members
    patch = box(x - side / 2.0, y - side / 2.0, side, side)
    reach = max(
        max(abs(one.dx_mm), abs(one.dy_mm))
        + max(one.piece.length_mm.nominal, one.piece.width_mm.nominal) / 2.0
        for one in members
    )
    factor = side * 0.36 / reach
    pictures = tuple(
        enlarged(piece_picture(one.piece, one.angle_deg, cloth), factor) for one in members
    )
    xy = np.array([[x + one.dx_mm * factor, y + one.dy_mm * factor] for one in members])
    angle = np.array([one.angle_deg for one in members])
    return [
        Lines((patch,), Style(fill=cloth), closed=True),
        Stamps(f"swatch-{index}", pictures, np.arange(len(members)), xy, angle),
    ]


def _stop(title: TitleBlock, frame: Floats, text: float) -> tuple[Item, ...]:
    if not title.stop:
        return ()
    low, high = frame.min(axis=0), frame.max(axis=0)
    x, y = ((low + high) / 2.0).tolist()
    wide, tall = (high - low).tolist()
    angle = -20.0 if wide >= tall else -60.0
    across = text_width_mm(title.stop, 1.0, bold=True)
    height = min(0.86 * max(wide, tall) / max(across, 1.0), text * 8.0)
    return (
        Words(x, y + height / 2.0, title.stop, height, "middle", angle, colour=STOP_RED, bold=True),
    )
