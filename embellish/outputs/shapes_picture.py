"""The picture of an artwork with the name of each shape, as a job's selectors write it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Floats
from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import region_of
from embellish.artwork.selecting import by_id, by_layer
from embellish.errors import ArtworkError
from embellish.geometry.curves import bezier_bounds, flatten
from embellish.geometry.transforms import Affine
from embellish.outputs.colours import lighten
from embellish.outputs.drawing.drawing import (
    Circles,
    Curves,
    Drawing,
    Item,
    Layer,
    Lines,
    Style,
    Words,
)
from embellish.outputs.drawing.fonts import text_width_mm
from embellish.outputs.drawing.numbers import number
from embellish.outputs.label_places import Spot, Wanted, box_size, label_places, leader_end
from embellish.outputs.legend import FAINT_INK, INK, RULE, box, fitted, wrapped

_SIDE_MM: Final = (230.0, 600.0)
"""The drawing's longer side on the picture, whatever its own size: longer for many shapes."""

_MANY: Final = 300
_EMPTY_SHARE: Final = 1.5
"""A page so much wider and higher than all shapes together is not shown whole."""

_TEXT_MM: Final = (1.3, 2.4)
_CROWDED: Final = 6.5
"""Up to the square of this many shapes, names are as large as they get."""
_INKS: Final = ("#0a5c94", "#a8440a", "#0b6b4f", "#8c2a66", "#4a3aa0", "#6b5208")
"""Lines and names of neighbours differ; each stands out from white by 5 : 1 or more."""

_FLAT_MM: Final = 0.05
_ALONG: Final = (0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875, 0.0)
_LISTED: Final = 24


def shapes_drawing(artwork: Artwork, name: str) -> tuple[Drawing, tuple[str, ...]]:
    """Return a picture of all shapes with their names, and the ids that found no room on it.

    The picture is as large as a sheet of paper, whatever the artwork's size.

    Parameters
    ----------
    artwork
        What a reader read; it may have no size in mm yet.
    name
        What stands over it.
    """
    x0, y0, x1, y1 = _extent(artwork)
    factor = _side(len(artwork.shapes)) / max(x1 - x0, y1 - y0)
    text = _text_height(len(artwork.shapes))
    # Names stand beside the drawing too: room for one on each side.
    side, head = 16.0 * text, 8.0 * text
    wide = (x1 - x0) * factor + 2.0 * side
    high = (y1 - y0) * factor + head + 4.0 * text
    move = Affine.move(side, head) @ Affine.scale(factor) @ Affine.move(-x0, -y0)
    shapes = [shape.mapped(move) for shape in artwork.shapes]
    names = [fitted(by_id(shape.id), text, 0.45 * wide) for shape in shapes]
    lines = [_points(shape) for shape in shapes]
    wanted = [
        Wanted(text_width_mm(word, text), _anchors(line), _middle(shape, word, text))
        for shape, word, line in zip(shapes, names, lines, strict=True)
    ]
    ink = (
        np.concatenate([_dense(line, text / 4.0) for line in lines]) if lines else np.empty((0, 2))
    )
    # Names begin below the heading.
    spots = label_places(wanted, text, (0.0, 5.5 * text, wide, high), ink)
    unnamed = tuple(
        shape.id for shape, spot in zip(artwork.shapes, spots, strict=True) if spot is None
    )
    foot, bottom = _foot(artwork, unnamed, high, wide, text)
    layers = (
        Layer("page", _page(artwork, move) if _page_is_shown(artwork) else ()),
        Layer("shapes", tuple(_painted(shapes, text))),
        Layer("leaders", tuple(_leaders(spots, wanted, text))),
        Layer("names", tuple(_names(spots, names, wanted, text))),
        Layer("words", (*_head(artwork, name, wide, text), *foot)),
    )
    drawing = Drawing(
        wide,
        bottom,
        tuple(layer for layer in layers if layer.items),
        title=f"Shapes · {name}",
        background="#ffffff",
    )
    return drawing, unnamed


def _text_height(count: int) -> float:
    """Return the height of capitals: smaller where many names want room."""
    low, high = _TEXT_MM
    return min(high, max(low, _CROWDED * high / math.sqrt(max(count, 1))))


def _side(count: int) -> float:
    least, most = _SIDE_MM
    return min(most, least * max(1.0, math.sqrt(count / _MANY)))


def _page_is_shown(artwork: Artwork) -> bool:
    """Whether the page is shown whole: a small drawing on a large one would be lost."""
    bounds = artwork.bounds()
    if artwork.page is None or bounds is None:
        return artwork.page is not None
    wide, high = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return max(wide / artwork.page[0], high / artwork.page[1]) * _EMPTY_SHARE >= 1.0


def _extent(artwork: Artwork) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = artwork.bounds() or (0.0, 0.0, 1.0, 1.0)
    if artwork.page is not None and _page_is_shown(artwork):
        x0, y0 = min(x0, 0.0), min(y0, 0.0)
        x1, y1 = max(x1, artwork.page[0]), max(y1, artwork.page[1])
    least = 1e-3 * max(x1 - x0, y1 - y0, 1e-9)
    return x0, y0, max(x1, x0 + least), max(y1, y0 + least)


def _points(shape: Shape) -> tuple[Floats, ...]:
    return tuple(flatten(path.segments, _FLAT_MM).points for path in shape.paths)


def _dense(lines: Sequence[Floats], step_mm: float) -> Floats:
    """Return points along lines, no further than a step from each other."""
    parts = []
    for line in lines:
        along = np.concatenate([[0.0], np.hypot(*np.diff(line, axis=0).T).cumsum()])
        at = np.linspace(0.0, along[-1], 2 + int(along[-1] / step_mm))
        parts.append(np.stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)], axis=1))
    return np.concatenate(parts)


def _anchors(lines: Sequence[Floats]) -> Floats:
    """Return points of the longest line at even shares, and the four outermost points of all."""
    lengths = [float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines]
    longest = lines[int(np.argmax(lengths))]
    along = np.concatenate([[0.0], np.hypot(*np.diff(longest, axis=0).T).cumsum()])
    at = np.array(_ALONG) * along[-1]
    even = np.stack([np.interp(at, along, longest[:, axis]) for axis in (0, 1)], axis=1)
    every = np.concatenate(lines)
    outer = [every[:, 0].argmax(), every[:, 1].argmin(), every[:, 1].argmax(), every[:, 0].argmin()]
    return np.concatenate([every[outer], even])


def _middle(shape: Shape, word: str, text: float) -> tuple[float, float] | None:
    """Return where the name stands wholly within a filled shape, or None."""
    wide, high = box_size(text_width_mm(word, text), text)
    x0, y0, x1, y1 = bezier_bounds(np.concatenate([path.segments for path in shape.paths]))
    if x1 - x0 < wide or y1 - y0 < high or shape.fill is None:
        return None
    try:
        region = region_of(shape, _FLAT_MM)
    except ArtworkError:
        return None
    # Squeezed to the name's proportions: the widest free place of a name is not a circle.
    squeeze = Affine.scale(high / wide, 1.0)
    narrow = shapely.transform(region, squeeze)
    (centre, _) = shapely.get_coordinates(shapely.maximum_inscribed_circle(narrow, tolerance=0.1))
    x, y = squeeze.inverse()(centre).tolist()
    fits = shapely.box(x - wide / 2.0, y - high / 2.0, x + wide / 2.0, y + high / 2.0)
    return (x, y) if shapely.covers(region, fits) else None


def _page(artwork: Artwork, move: Affine) -> tuple[Item, ...]:
    if artwork.page is None:
        return ()
    ring = move(box(0.0, 0.0, *artwork.page))
    dashed = Style(stroke=RULE, stroke_width_mm=0.2, dash_mm=(1.5, 1.0))
    return (Lines((ring,), dashed, closed=True),)


def _painted(shapes: Iterable[Shape], text: float) -> Iterable[Item]:
    for index, shape in enumerate(shapes):
        chains = tuple(path.segments for path in shape.paths)
        if shape.fill is not None:
            style = Style(fill=lighten(shape.fill, 0.62), opacity=0.85)
            yield Curves(chains, style, fill_rule=shape.fill_rule)
        pen = Style(stroke=_ink(index), stroke_width_mm=0.14 * text)
        for closed in (True, False):
            some = tuple(path.segments for path in shape.paths if path.closed is closed)
            if some:
                yield Curves(some, pen, closed=closed)


def _ink(index: int) -> str:
    return _INKS[index % len(_INKS)]


def _leaders(spots: Sequence[Spot | None], wanted: Sequence[Wanted], text: float) -> Iterable[Item]:
    for index, (spot, one) in enumerate(zip(spots, wanted, strict=True)):
        if spot is None or spot.leader is None:
            continue
        start = np.array(spot.leader)
        line = np.stack([start, leader_end(spot, one.width_mm, text)])
        yield Lines((line,), Style(stroke=_ink(index), stroke_width_mm=0.07 * text))
        yield Circles(start[None], np.array([0.22 * text]), Style(fill=_ink(index)))


def _names(
    spots: Sequence[Spot | None],
    names: Sequence[str],
    wanted: Sequence[Wanted],
    text: float,
) -> Iterable[Item]:
    for index, (spot, word, one) in enumerate(zip(spots, names, wanted, strict=True)):
        if spot is None:
            continue
        wide, high = box_size(one.width_mm, text)
        ground = box(spot.x_mm - wide / 2.0, spot.y_mm - high / 2.0, wide, high)
        yield Lines((ground,), Style(fill="#ffffff", opacity=0.8), closed=True)
        yield Words(
            spot.x_mm, spot.y_mm + text / 2.0, word, text, anchor="middle", colour=_ink(index)
        )


def _head(artwork: Artwork, name: str, wide: float, text: float) -> tuple[Item, ...]:
    x0, y0, x1, y1 = artwork.bounds() or (0.0, 0.0, 0.0, 0.0)
    width, height = artwork.page or (x1 - x0, y1 - y0)
    unit = "mm" if artwork.sized else "units, with no size in mm yet"
    size = f"{number(round(width, 1))} × {number(round(height, 1))} {unit}"
    count = "1 shape" if len(artwork.shapes) == 1 else f"{len(artwork.shapes)} shapes"
    room = wide - 4.0 * text
    title = fitted(name, 1.2 * text, room, bold=True)
    return (
        Words(2.0 * text, 2.8 * text, title, 1.2 * text, colour=INK, bold=True),
        Words(2.0 * text, 4.9 * text, f"{size} · {count}", 0.9 * text, colour=FAINT_INK),
    )


def _foot(
    artwork: Artwork, unnamed: Sequence[str], top: float, wide: float, text: float
) -> tuple[list[Item], float]:
    """Return what else a selector may name, and the y below it."""
    shapes = artwork.shapes
    lines = [
        _counted("groups", (by_id(group) for shape in shapes for group in shape.groups)),
        _counted("layers", (by_layer(shape.layer) for shape in shapes if shape.layer)),
        _counted("classes", (f".{name}" for shape in shapes for name in shape.classes)),
        _counted("fills", (f'[fill="{shape.fill}"]' for shape in shapes if shape.fill)),
        _counted("strokes", (f'[stroke="{shape.stroke}"]' for shape in shapes if shape.stroke)),
    ]
    if unnamed:
        lines.append(f"Without room for their names here: {len(unnamed)}; look lists every shape.")
    items: list[Item] = []
    y = top
    for sentence in filter(None, lines):
        for line in wrapped(sentence, 0.85 * text, wide - 4.0 * text):
            items.append(Words(2.0 * text, y, line, 0.85 * text, colour=FAINT_INK))
            y += 1.6 * text
        y += 0.4 * text
    return items, y + text


def _counted(what: str, selectors: Iterable[str]) -> str:
    """Return a line of selectors with how many shapes each finds, '' where there are none."""
    counts = Counter(selectors)
    words = [f"{name} ({count})" for name, count in counts.items()][:_LISTED]
    if not words:
        return ""
    more = f" and {len(counts) - _LISTED} more" if len(counts) > _LISTED else ""
    return f"{what}: {', '.join(words)}{more}"
