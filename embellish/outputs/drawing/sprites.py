"""Small pictures stamped many times on a pixel canvas.

Each is drawn once a turn and a part of a pixel, many times too large, averaged down with
premultiplied colours, then pasted: a few microseconds a seat. Turns are as many as keep its rim
within a third of a pixel; places are kept to a quarter of one, so that rows stay even, those of
turned pictures to a half.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Final, TypeAlias

import numpy as np
from PIL import Image, ImageDraw

from embellish.arrays import Floats, Ints
from embellish.geometry.outlines import sampled
from embellish.outputs.colours import rgb
from embellish.outputs.drawing.arcs import circle_ring
from embellish.outputs.drawing.drawing import Chains, Circles, Lines, Style
from embellish.outputs.drawing.raster import whole

Small: TypeAlias = tuple[Circles | Chains | Lines, ...]

_PHASES: Final = 4
_RIM_ERROR_PX: Final = 0.35
_FLATNESS_PX: Final = 0.05


class Sprite:
    """One small picture at one scale, drawn lazily at the turns and phases asked for."""

    def __init__(self, items: Small, px_per_mm: float) -> None:
        self._parts = [part for item in items for part in _parts(item, px_per_mm)]
        self._scale = px_per_mm
        self._large: dict[int, tuple[Image.Image, int]] = {}

    @cached_property
    def reach_px(self) -> float:
        """Radius about the origin that holds the picture."""
        reaches = [
            float(np.hypot(*points.T).max()) + style_reach
            for points, _, _, style_reach in self._parts
            if len(points)
        ]
        return max(reaches, default=0.0)

    @cached_property
    def turns(self) -> int:
        """How many turns tell apart at this size, a multiple of eight."""
        return 8 * max(1, math.ceil(math.pi * self.reach_px / _RIM_ERROR_PX / 8.0))

    @cached_property
    def _oversample(self) -> int:
        return 8 if self.reach_px < 64.0 else 4

    def picture(
        self, turn: int, phase_x: int, phase_y: int
    ) -> tuple[Image.Image, Image.Image, int]:
        """Return colour, mask and the origin's offset in pixels."""
        large, half = self._turned(turn)
        over = self._oversample
        side = (2 * half + 1) * over
        moved = Image.new("RGBa", (side, side))
        moved.paste(large, (phase_x * over // _PHASES, phase_y * over // _PHASES))
        small = moved.reduce(over).convert("RGBA")
        return small.convert("RGB"), small.getchannel("A"), half

    def _turned(self, turn: int) -> tuple[Image.Image, int]:
        found = self._large.get(turn)
        if found is None:
            half = math.ceil(self.reach_px) + 1
            over = self._oversample
            side = 2 * half * over
            angle = 2.0 * math.pi * turn / self.turns
            cos, sin = math.cos(angle), math.sin(angle)
            turned = np.array([[cos, sin], [-sin, cos]])
            image = Image.new("RGBA", (side, side))
            for points, style, closed, _ in self._parts:
                places = ((points @ turned) + half) * over
                _draw(image, places, style, closed=closed, px=self._scale * over)
            # Averages of colours must weigh them by their cover, so premultiplied from here on.
            found = (image.convert("RGBa"), half)
            self._large[turn] = found
        return found


def _parts(item: Circles | Chains | Lines, px: float) -> list[tuple[Floats, Style, bool, float]]:
    tolerance = _FLATNESS_PX / px
    match item:
        case Circles():
            rings: Sequence[Floats] = [
                circle_ring(x, y, radius, tolerance)
                for (x, y), radius in zip(item.xy.tolist(), item.radius_mm.tolist(), strict=True)
            ]
            closed = True
        case Chains():
            rings, closed = [sampled(outline, tolerance) for outline in item.outlines], True
        case Lines():
            rings, closed = item.lines, item.closed
    style = item.style
    reach = style.stroke_width_mm / 2.0 * px if style.stroke else 0.0
    return [(np.asarray(ring) * px, style, closed, reach) for ring in rings]


def _draw(image: Image.Image, points: Floats, style: Style, *, closed: bool, px: float) -> None:
    # Painting with see-through colour needs its own sheet: drawing would replace, not mix.
    through = style.opacity != 1.0
    sheet = Image.new("RGBA", image.size) if through else image
    pen = ImageDraw.Draw(sheet)
    alpha = round(255 * style.opacity)
    places = whole(points)
    if style.fill is not None and closed and len(places) > 2:
        pen.polygon(places, fill=(*rgb(style.fill), alpha))
    if style.stroke is not None and len(places) > 1:
        width = max(1, round(style.stroke_width_mm * px))
        ring = [*places, places[0], places[1]] if closed else places
        pen.line(ring, fill=(*rgb(style.stroke), alpha), width=width, joint="curve")
    if through:
        image.alpha_composite(sheet)


def stamp(
    image: Image.Image,
    pictures: Sequence[Small],
    which: Ints,
    *,
    xy_px: Floats,
    angle_deg: Floats,
    px_per_mm: float,
) -> None:
    """Stamp each picture at its place and turn, in order."""
    if not len(xy_px):
        return
    sprites = [Sprite(items, px_per_mm) for items in pictures]
    turns = np.array([sprite.turns for sprite in sprites], dtype=np.int64)[which]
    turn = np.rint(np.mod(angle_deg, 360.0) / 360.0 * turns).astype(np.int64) % turns
    # Many turns times many phases are many sprites, each used once: those that are turned are
    # kept to half a pixel, where among other turns none shows.
    turned_ones = np.bincount(which, weights=turn != 0, minlength=len(sprites)) > 0.0
    step = np.where(turned_ones, 2, 1)[which][:, None]
    fine = np.rint(xy_px * _PHASES / step).astype(np.int64) * step
    pixel, phase = np.floor_divide(fine, _PHASES), np.mod(fine, _PHASES)
    reach = np.array([sprite.reach_px + 2.0 for sprite in sprites])[which][:, None]
    seen = ((xy_px + reach > 0.0) & (xy_px - reach < np.array(image.size))).all(axis=1)
    shape = (len(sprites), int(turns.max()), _PHASES, _PHASES)
    keys = np.ravel_multi_index((which[seen], turn[seen], *phase[seen].T), shape)
    kinds, kind = np.unique(keys, return_inverse=True)
    kinds = np.stack(np.unravel_index(kinds, shape), axis=1)
    ready = [sprites[index].picture(*rest) for index, *rest in kinds.tolist()]
    half = np.array([half for _, _, half in ready], dtype=np.int64)[kind][:, None]
    side = np.array([colour.width for colour, _, _ in ready], dtype=np.int64)[kind][:, None]
    corner = pixel[seen] - half
    boxes = np.hstack([corner, corner + side]).tolist()
    colours = [colour.im for colour, _, _ in ready]
    masks = [mask.im for _, mask, _ in ready]
    image.load()
    # What Image.paste itself ends in; what that looks up first takes ten times as long.
    paste = image.im.paste
    for each, box in zip(kind.tolist(), boxes, strict=True):
        paste(colours[each], tuple(box), masks[each])
