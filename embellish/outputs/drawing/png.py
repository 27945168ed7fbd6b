"""A drawing as PNG, painted with Pillow."""

from __future__ import annotations

import math
from io import BytesIO
from typing import Final

import numpy as np
from PIL import Image, ImageDraw

from embellish.arrays import Floats
from embellish.geometry.outlines import sampled
from embellish.outputs.colours import rgb
from embellish.outputs.drawing.arcs import circle_ring
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
from embellish.outputs.drawing.fonts import CAP_SHARE, drawable, font
from embellish.outputs.drawing.raster import Rule, dashed, fill, stroke
from embellish.outputs.drawing.sprites import stamp
from embellish.units import MM_PER_INCH

MAX_SIDE_PX: Final = 16_000
MAX_PX: Final = 64_000_000
"""A picture is made smaller rather than larger than this: 64 million pixels are 192 MB."""

_FLATNESS_PX: Final = 0.05
_STAMPED_BELOW_PX: Final = 48.0


def scale_within(
    width_mm: float, height_mm: float, px_per_mm: float, max_side_px: int = MAX_SIDE_PX
) -> float:
    """Return the scale, made smaller where the picture would pass the caps."""
    side = max_side_px / max(width_mm, height_mm)
    area = math.sqrt(MAX_PX / (width_mm * height_mm))
    return min(px_per_mm, side, area)


def png_bytes(drawing: Drawing, px_per_mm: float) -> bytes:
    """Return the drawing as the bytes of a PNG that knows its resolution.

    Parameters
    ----------
    drawing
        What to paint; without a background it stands on white.
    px_per_mm
        Pixels a millimetre; made smaller where the picture would pass ``MAX_PX``.
    """
    px = scale_within(drawing.width_mm, drawing.height_mm, px_per_mm)
    size = max(1, round(drawing.width_mm * px)), max(1, round(drawing.height_mm * px))
    image = Image.new("RGB", size, rgb(drawing.background or "#ffffff"))
    for layer in drawing.layers:
        for item in layer.items:
            _paint(image, item, px)
    file = BytesIO()
    image.save(file, format="PNG", dpi=(px * MM_PER_INCH, px * MM_PER_INCH), compress_level=6)
    return file.getvalue()


def _paint(image: Image.Image, item: Item, px: float) -> None:
    match item:
        case Words():
            _words(image, item, px)
        case Picture():
            _picture(image, item, px)
        case Instances():
            which = np.zeros(len(item.xy), dtype=np.int64)
            _stamp(image, Stamps(item.name, (item.items,), which, item.xy, item.angle_deg), px)
        case Stamps():
            _stamp(image, item, px)
        case _:
            _outlines(image, item, px)


def _outlines(image: Image.Image, item: Circles | Chains | Lines | Curves, px: float) -> None:
    match item:
        case Circles():
            _circles(image, item, px)
        case Chains():
            for outline in item.outlines:
                ring = sampled(outline, _FLATNESS_PX / px)
                _rings(image, [ring], item.style, px, closed=True)
        case Lines():
            for line in item.lines:
                _rings(image, [np.asarray(line)], item.style, px, closed=item.closed)
        case Curves():
            rings = [_curve_points(np.asarray(chain), px) for chain in item.chains]
            _rings(image, rings, item.style, px, closed=item.closed, rule=item.fill_rule)


def _stamp(image: Image.Image, item: Stamps, px: float) -> None:
    stamp(
        image,
        item.pictures,
        item.which,
        xy_px=item.xy * px,
        angle_deg=item.angle_deg,
        px_per_mm=px,
    )


def _circles(image: Image.Image, item: Circles, px: float) -> None:
    radius = np.asarray(item.radius_mm, dtype=np.float64)
    if not len(radius):
        return
    if float(radius.max()) * px < _STAMPED_BELOW_PX and not item.style.dash_mm:
        sizes, which = np.unique(radius, return_inverse=True)
        origin = np.zeros((1, 2))
        pictures = tuple((Circles(origin, size, item.style),) for size in sizes[:, None])
        _stamp(image, Stamps("", pictures, which, item.xy, np.zeros(len(radius))), px)
        return
    for (x, y), r in zip(item.xy.tolist(), radius.tolist(), strict=True):
        _rings(image, [circle_ring(x, y, r, _FLATNESS_PX / px)], item.style, px, closed=True)


def _rings(
    image: Image.Image,
    rings_mm: list[Floats],
    style: Style,
    px: float,
    *,
    closed: bool,
    rule: Rule = "nonzero",
) -> None:
    rings = [ring * px for ring in rings_mm]
    if style.fill is not None and closed:
        fill(image, rings, style.fill, style.opacity, rule)
    if style.stroke is not None:
        if style.dash_mm:
            dashes = [dash * px for dash in style.dash_mm]
            rings = [cut for ring in rings for cut in dashed(ring, dashes, closed=closed)]
            closed = False
        width = style.stroke_width_mm * px
        stroke(image, rings, width, style.stroke, style.opacity, closed=closed)


def _curve_points(chain: Floats, px: float) -> Floats:
    # A cubic strays from n chords by at most |second differences| · 3/4 / n² (Wang's bound).
    bend = np.maximum(
        np.hypot(*(chain[:, 0] - 2 * chain[:, 1] + chain[:, 2]).T),
        np.hypot(*(chain[:, 1] - 2 * chain[:, 2] + chain[:, 3]).T),
    )
    counts = np.maximum(1, np.ceil(np.sqrt(0.75 * bend * px / _FLATNESS_PX))).astype(np.int64)
    which = np.repeat(np.arange(len(chain)), counts)
    step = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    t = ((step + 1) / counts[which])[:, None]
    p0, p1, p2, p3 = (chain[which, i] for i in range(4))
    s = 1.0 - t
    points = s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3
    return np.vstack([chain[:1, 0], points])


def _words(image: Image.Image, item: Words, px: float) -> None:
    text = drawable(item.text)
    size = item.height_mm / CAP_SHARE * px
    if size < 1.0 or not text.strip():
        return
    letters = font(round(size, 3), bold=item.bold)
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[item.anchor]
    x, y = item.x_mm * px, item.y_mm * px
    if not item.angle_deg:
        pen = ImageDraw.Draw(image)
        pen.text((x, y), text, fill=rgb(item.colour), font=letters, anchor=anchor)
        return
    half = math.ceil(letters.getlength(text) + 2.0 * size)
    mask = Image.new("L", (2 * half, 2 * half))
    ImageDraw.Draw(mask).text((half, half), text, fill=255, font=letters, anchor=anchor)
    mask = mask.rotate(-item.angle_deg, Image.Resampling.BICUBIC)
    image.paste(rgb(item.colour), (round(x) - half, round(y) - half), mask)


def _picture(image: Image.Image, item: Picture, px: float) -> None:
    size = max(1, round(item.width_mm * px)), max(1, round(item.height_mm * px))
    picture = Image.open(BytesIO(item.image)).convert("RGBA").resize(size, Image.Resampling.LANCZOS)
    mask = picture.getchannel("A")
    if item.opacity != 1.0:
        mask = mask.point([round(level * item.opacity) for level in range(256)])
    place = round(item.x_mm * px), round(item.y_mm * px)
    image.paste(picture.convert("RGB"), place, mask)
