"""A drawing as SVG 1.1: true size in millimetres, flat layers, exact circles and arcs.

A cutter or another program finds each layer as one ``<g id>`` without transform or nesting, and
in it one element an outline, in order. Numbers are the shortest fixed decimals of at most six
places, so the same drawing is the same bytes.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator
from typing import Final
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import svgwrite

from embellish.arrays import Floats
from embellish.geometry.outlines import Outline
from embellish.geometry.segments import arc_frames
from embellish.outputs.drawing.arcs import short_arcs
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Picture,
    Stamps,
    Style,
    Words,
)
from embellish.outputs.drawing.numbers import number, rows

_CAP_SHARE: Final = 0.72
"""Height of capitals over font size: between 0.716 and 0.729 in the usual sans-serif fonts."""

_JPEG: Final = b"\xff\xd8"


def svg_bytes(drawing: Drawing) -> bytes:
    """Return the drawing as the bytes of one SVG file.

    Raises
    ------
    ValueError
        Where two layers or instances share an id: a program could not tell them apart.
    """
    _check_ids(drawing)
    return "".join(_pieces(drawing)).encode()


def _check_ids(drawing: Drawing) -> None:
    ids = [layer.id for layer in drawing.layers]
    ids += [name for name, _ in _pictures(drawing)]
    twice = sorted({name for name in ids if ids.count(name) > 1})
    if twice:
        raise ValueError(f"ids stand twice in one drawing: {', '.join(twice)}")


def _pictures(drawing: Drawing) -> Iterator[tuple[str, tuple[Circles | Chains | Lines, ...]]]:
    for layer in drawing.layers:
        for item in layer.items:
            if isinstance(item, Instances):
                yield item.name, item.items
            elif isinstance(item, Stamps):
                for index, picture in enumerate(item.pictures):
                    yield f"{item.name}-{index}", picture


def _pieces(drawing: Drawing) -> Iterator[str]:
    width, height = number(drawing.width_mm), number(drawing.height_mm)
    frame = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    if drawing.title or drawing.description:
        frame.set_desc(drawing.title or None, drawing.description or None)
    head, _, tail = frame.tostring().rpartition("<defs />")
    yield '<?xml version="1.0" encoding="UTF-8"?>\n' + head + "\n"
    pictures = list(_pictures(drawing))
    if pictures:
        yield "<defs>\n"
        for name, items in pictures:
            yield f"<g id={quoteattr(name)}>\n"
            for small in items:
                yield from _item(small, _painted(small.style))
            yield "</g>\n"
        yield "</defs>\n"
    if drawing.background is not None:
        yield f'<rect width="{width}" height="{height}" fill="{drawing.background}"/>\n'
    for layer in drawing.layers:
        yield from _layer(layer)
    yield tail + "\n"


def _layer(layer: Layer) -> Iterator[str]:
    # One style for all: say it once, on the group. Words and pictures set their own.
    styles = {
        item.style for item in layer.items if isinstance(item, Circles | Chains | Lines | Curves)
    }
    common = styles.pop() if len(styles) == 1 else None
    yield f"<g id={quoteattr(layer.id)}{_painted(common) if common else ''}>\n"
    for item in layer.items:
        if isinstance(item, Circles | Chains | Lines | Curves):
            yield from _item(item, "" if common else _painted(item.style))
        else:
            yield from _item(item, "")
    yield "</g>\n"


def _painted(style: Style) -> str:
    parts = [f' fill="{style.fill or "none"}"']
    if style.stroke is not None:
        parts.append(f' stroke="{style.stroke}" stroke-width="{number(style.stroke_width_mm)}"')
        parts.append(' stroke-linecap="round" stroke-linejoin="round"')
        if style.dash_mm:
            parts.append(f' stroke-dasharray="{" ".join(number(dash) for dash in style.dash_mm)}"')
    if style.opacity != 1.0:
        if style.fill is not None:
            parts.append(f' fill-opacity="{number(style.opacity)}"')
        if style.stroke is not None:
            parts.append(f' stroke-opacity="{number(style.opacity)}"')
    return "".join(parts)


def _item(item: Item, painted: str) -> Iterator[str]:
    match item:
        case Words():
            yield _words(item)
        case Picture():
            yield _picture(item)
        case Instances():
            yield from _uses(item)
        case Stamps():
            yield from _stamps(item)
        case _:
            yield from _outlines(item, painted)


def _outlines(item: Circles | Chains | Lines | Curves, painted: str) -> Iterator[str]:
    match item:
        case Circles():
            yield from _circles(item, painted)
        case Chains():
            for outline in item.outlines:
                yield f'<path d="{chain_data(outline)}"{painted}/>\n'
        case Lines():
            end = " Z" if item.closed else ""
            for line in item.lines:
                yield f'<path d="{_polyline_data(line)}{end}"{painted}/>\n'
        case Curves() if item.chains:
            rule = ' fill-rule="evenodd"' if item.fill_rule == "evenodd" else ""
            data = " ".join(_curve_data(chain, closed=item.closed) for chain in item.chains)
            yield f'<path d="{data}"{rule}{painted}/>\n'


def _circles(item: Circles, painted: str) -> Iterator[str]:
    if not len(item.xy):
        return
    radius = np.asarray(item.radius_mm, dtype=np.float64)
    if (radius == radius[0]).all():
        template = f'<circle cx="%s" cy="%s" r="{number(float(radius[0]))}"{painted}/>\n'
        yield from rows(template, item.xy)
    else:
        template = f'<circle cx="%s" cy="%s" r="%s"{painted}/>\n'
        yield from rows(template, np.column_stack([item.xy, radius]))


def chain_data(outline: Outline) -> str:
    """Return the path data of a closed outline: absolute M, L, A and Z, no arc over 106°."""
    points, bulges = short_arcs(outline)
    ends = np.roll(points, -1, axis=0)
    _, rads, _ = arc_frames(points, bulges)
    parts = [f"M {number(points[0, 0])} {number(points[0, 1])}"]
    last = len(points) - 1
    for i, ((x, y), bulge, rad) in enumerate(
        zip(ends.tolist(), bulges.tolist(), rads.tolist(), strict=True)
    ):
        place = f"{number(x)} {number(y)}"
        if not math.isfinite(rad):
            # Z draws the last straight side.
            if i != last:
                parts.append(f"L {place}")
        else:
            sweep = 1 if bulge > 0.0 else 0
            parts.append(f"A {number(rad)} {number(rad)} 0 0 {sweep} {place}")
    return " ".join([*parts, "Z"])


def _polyline_data(line: Floats) -> str:
    return "M " + "".join(rows("%s %s L ", np.asarray(line)))[: -len(" L ")]


def _curve_data(chain: Floats, *, closed: bool) -> str:
    start = f"M {number(chain[0, 0, 0])} {number(chain[0, 0, 1])}"
    body = "".join(rows(" C %s %s %s %s %s %s", np.asarray(chain)[:, 1:, :].reshape(-1, 6)))
    return start + body + (" Z" if closed else "")


def _words(item: Words) -> str:
    x, y = number(item.x_mm), number(item.y_mm)
    parts = [f'<text x="{x}" y="{y}" font-family="Helvetica, Arial, sans-serif"']
    parts.append(f' font-size="{number(item.height_mm / _CAP_SHARE)}" fill="{item.colour}"')
    parts.append(' stroke="none"')
    if item.bold:
        parts.append(' font-weight="bold"')
    if item.anchor != "start":
        parts.append(f' text-anchor="{item.anchor}"')
    if item.angle_deg:
        parts.append(f' transform="rotate({number(item.angle_deg)} {x} {y})"')
    return "".join(parts) + f">{escape(_printable(item.text))}</text>\n"


def _printable(text: str) -> str:
    # XML has no place for control characters, not even escaped.
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _picture(item: Picture) -> str:
    data = base64.b64encode(item.image).decode()
    kind = "jpeg" if item.image.startswith(_JPEG) else "png"
    opacity = "" if item.opacity == 1.0 else f' opacity="{number(item.opacity)}"'
    return (
        f'<image x="{number(item.x_mm)}" y="{number(item.y_mm)}"'
        f' width="{number(item.width_mm)}" height="{number(item.height_mm)}"'
        f' preserveAspectRatio="none"{opacity} xlink:href="data:image/{kind};base64,{data}"/>\n'
    )


def _uses(item: Instances) -> Iterator[str]:
    # The older xlink:href is what every program reads.
    head = f"<use xlink:href={quoteattr('#' + item.name)}"
    angle = np.asarray(item.angle_deg, dtype=np.float64)
    if not angle.any():
        yield from rows(f'{head} x="%s" y="%s"/>\n', item.xy)
    else:
        template = f'{head} transform="translate(%s %s) rotate(%s)"/>\n'
        yield from rows(template, np.column_stack([item.xy, angle]))


def _stamps(item: Stamps) -> Iterator[str]:
    angle = np.asarray(item.angle_deg, dtype=np.float64)
    heads = [
        f"<use xlink:href={quoteattr(f'#{item.name}-{index}')}"
        for index in range(len(item.pictures))
    ]
    if angle.any():
        table = np.column_stack([item.xy, angle])
        template = ' transform="translate(%s %s) rotate(%s)"/>\n'
    else:
        table, template = np.asarray(item.xy), ' x="%s" y="%s"/>\n'
    # Places first, in one go, then each behind the name of its picture.
    places = "".join(rows(template, table)).splitlines(keepends=True)
    which = np.asarray(item.which).tolist()
    yield "".join([heads[index] + place for index, place in zip(which, places, strict=True)])
