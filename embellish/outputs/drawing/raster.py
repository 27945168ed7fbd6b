"""Painting outlines on a pixel canvas with smooth edges, in tiles, so that memory stays small.

A mask is drawn several times too large and averaged down. All lengths here are pixels of the
finished picture, y down, with whole numbers at pixel corners.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import numpy as np
from PIL import Image, ImageDraw

from embellish.arrays import Floats
from embellish.outputs.colours import rgb

OVERSAMPLE: Final = 4
_TILE_PX: Final = 256

Rule = Literal["nonzero", "evenodd"]
_Drawer: TypeAlias = Callable[[int, int, int, int], Image.Image | bool]
"""Given left, top, width and height of a tile in pixels, its mask drawn several times too large;
or whether all of it is covered, where it is covered or bare throughout."""


def fill(
    image: Image.Image, rings: Sequence[Floats], colour: str, opacity: float, rule: Rule
) -> None:
    """Fill one shape of several rings, each of shape (n, 2)."""
    rings = [ring for ring in rings if len(ring) > 2]
    if not rings:
        return
    signs = [_direction(ring) for ring in rings]
    edges = [np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings]
    boxes = _Boxes.of(edges, 1.0)

    def draw(left: int, top: int, width: int, height: int) -> Image.Image | bool:
        size = (width * OVERSAMPLE, height * OVERSAMPLE)
        if not boxes.touch(left, top, width, height):
            x, y = left + width / 2.0, top + height / 2.0
            turns = sum(sign * _holds(edge, x, y) for edge, sign in zip(edges, signs, strict=True))
            return bool(turns % 2 if rule == "evenodd" else turns)
        shifted = [_zoomed(ring, left, top) for ring in rings]
        if len(rings) == 1:
            mask = Image.new("L", size)
            ImageDraw.Draw(mask).polygon(shifted[0], fill=255)
            return mask
        winding = np.zeros(size[::-1], dtype=np.int16)
        for points, sign in zip(shifted, signs, strict=True):
            if _misses(points, *size):
                continue
            one = Image.new("L", size)
            ImageDraw.Draw(one).polygon(points, fill=1)
            winding += np.asarray(one, dtype=np.int16) * np.int16(sign)
        inside = winding % 2 != 0 if rule == "evenodd" else winding != 0
        return Image.fromarray(inside.astype(np.uint8) * np.uint8(255))

    _through_tiles(image, _bounds(rings, 1.0), draw, colour, opacity)


def stroke(
    image: Image.Image,
    lines: Sequence[Floats],
    width_px: float,
    colour: str,
    opacity: float,
    *,
    closed: bool,
) -> None:
    """Draw lines with round joins and ends; a line thinner than a quarter pixel is that thin."""
    lines = [np.vstack([line, line[:1]]) if closed else line for line in lines if len(line)]
    if not lines:
        return
    wide = max(1, round(width_px * OVERSAMPLE))
    steps = [np.stack([line[:-1], line[1:]], axis=1) for line in lines if len(line) > 1]
    dots = [np.stack([line, line], axis=1) for line in lines if len(line) == 1]
    boxes = _Boxes.of([*steps, *dots], width_px / 2.0 + 1.0)

    def draw(left: int, top: int, width: int, height: int) -> Image.Image | bool:
        if not boxes.touch(left, top, width, height):
            return False
        mask = Image.new("L", (width * OVERSAMPLE, height * OVERSAMPLE))
        pen = ImageDraw.Draw(mask)
        for line in lines:
            points = _zoomed(line, left, top)
            pen.line(points, fill=255, width=wide, joint="curve")
            if wide > 2:
                for x, y in (points[0], points[-1]):
                    half = (wide - 1) / 2.0
                    pen.ellipse((x - half, y - half, x + half, y + half), fill=255)
        return mask

    _through_tiles(image, _bounds(lines, width_px / 2.0 + 1.0), draw, colour, opacity)


def dashed(line: Floats, dashes: Sequence[float], *, closed: bool) -> list[Floats]:
    """Cut a line into its dashes, each of shape (n, 2); lengths in the line's own unit."""
    if closed:
        line = np.vstack([line, line[:1]])
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    pattern = np.array(dashes if len(dashes) % 2 == 0 else (*dashes, *dashes), dtype=np.float64)
    period = float(pattern.sum())
    if period <= 0.0 or along[-1] <= 0.0:
        return [line]
    repeats = math.ceil(along[-1] / period)
    edges = np.concatenate([[0.0], np.cumsum(np.tile(pattern, repeats))])
    cuts: list[Floats] = []
    for start, end in zip(edges[:-1:2], edges[1::2], strict=True):
        if start >= along[-1]:
            break
        stop = min(end, along[-1])
        inner = along[(along > start) & (along < stop)]
        at = np.concatenate([[start], inner, [stop]])
        cuts.append(
            np.stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])], axis=1)
        )
    return cuts


@dataclass(frozen=True, eq=False)
class _Boxes:
    """Boxes about the steps of lines, grown: what no box touches no line comes near."""

    low: Floats
    high: Floats

    @classmethod
    def of(cls, steps: Sequence[Floats], grow: float) -> _Boxes:
        """Return the boxes of steps, arrays of shape (n, 2, 2)."""
        every = np.concatenate(list(steps))
        return cls(every.min(axis=1) - grow, every.max(axis=1) + grow)

    def touch(self, left: int, top: int, width: int, height: int) -> bool:
        """Tell whether any touches a tile."""
        near = (self.low <= (left + width, top + height)) & (self.high >= (left, top))
        return bool(near.all(axis=1).any())


def _holds(edges: Floats, x: float, y: float) -> bool:
    """Tell whether a ring goes round a point, as often as it does it anew taken away again."""
    (x0, y0), (x1, y1) = edges[:, 0].T, edges[:, 1].T
    at = (y0 > y) != (y1 > y)
    rise = np.where(at, y1 - y0, 1.0)
    return bool(np.count_nonzero(at & (x < x0 + (y - y0) / rise * (x1 - x0))) % 2)


def _direction(ring: Floats) -> int:
    x, y = ring[:, 0], ring[:, 1]
    return 1 if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) >= 0.0 else -1


def _zoomed(points: Floats, left: int, top: int) -> list[tuple[float, float]]:
    return whole((points - np.array([left, top])) * OVERSAMPLE)


def whole(points: Floats) -> list[tuple[float, float]]:
    """Return points as the whole pixels they lie in.

    Pillow cuts fractions off towards zero, which shifts what lies left of it, so this comes
    first. Its polygons hold the pixels of their rim: half an oversampled pixel too much all round.
    """
    return [(x, y) for x, y in np.floor(points).tolist()]


def _misses(points: list[tuple[float, float]], width: int, height: int) -> bool:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) < 0 or max(ys) < 0 or min(xs) >= width or min(ys) >= height


def _bounds(parts: Sequence[Floats], grow: float) -> tuple[float, float, float, float]:
    every = np.concatenate(list(parts))
    low, high = every.min(axis=0) - grow, every.max(axis=0) + grow
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _through_tiles(
    image: Image.Image,
    bounds: tuple[float, float, float, float],
    draw: _Drawer,
    colour: str,
    opacity: float,
) -> None:
    left, top = max(0, math.floor(bounds[0])), max(0, math.floor(bounds[1]))
    right = min(image.width, math.ceil(bounds[2]))
    bottom = min(image.height, math.ceil(bounds[3]))
    for y in range(top, bottom, _TILE_PX):
        for x in range(left, right, _TILE_PX):
            width, height = min(_TILE_PX, right - x), min(_TILE_PX, bottom - y)
            drawn = draw(x, y, width, height)
            if drawn is False:
                continue
            if drawn is True and opacity == 1.0:
                image.paste(rgb(colour), (x, y, x + width, y + height))
                continue
            if drawn is True:
                mask = Image.new("L", (width, height), 255)
            else:
                mask = drawn.reduce(OVERSAMPLE)
            if opacity != 1.0:
                share = opacity
                mask = mask.point([round(level * share) for level in range(256)])
            image.paste(rgb(colour), (x, y), mask)
