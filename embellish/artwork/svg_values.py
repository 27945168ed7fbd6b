"""Numbers, lengths, transforms and view boxes as SVG 2 and CSS write them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from embellish.geometry.transforms import Affine
from embellish.units import MM_PER_PX, MM_PER_UNIT

NUMBER: Final = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
SEPARATOR: Final = r"[ \t\r\n\f]*,?[ \t\r\n\f]*"

_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z]*|%)\s*\Z")
_NUMBERS = re.compile(NUMBER)
_FUNCTION = re.compile(rf"{SEPARATOR}([A-Za-z]+)\s*\(([^()]*)\)")
_ARGUMENT = re.compile(rf"({NUMBER})([a-zA-Z]*|%)")

DEFAULT_FONT_PX: Final = 16.0
_EX_PER_EM: Final = 0.5
_DEGREES = {"": 1.0, "deg": 1.0, "rad": 180.0 / math.pi, "grad": 0.9, "turn": 360.0}

Axis = Literal["x", "y", "both"]


@dataclass(frozen=True, slots=True)
class Measure:
    """What lengths of an element are measured by: its viewport in user units, its letter size."""

    width: float
    height: float
    font_px: float = DEFAULT_FONT_PX

    def of(self, axis: Axis) -> float:
        """Return what 100 % means along an axis (for ``both`` the normalised diagonal)."""
        if axis == "x":
            return self.width
        if axis == "y":
            return self.height
        return math.hypot(self.width, self.height) / math.sqrt(2.0)


def split_length(text: str) -> tuple[float, str] | None:
    """Return number and unit (lower case, '' or '%' among them), or None where it is no length."""
    match = _LENGTH.match(text)
    if match is None:
        return None
    value = float(match[1])
    return (value, match[2].lower()) if math.isfinite(value) else None


def user_units(text: str, axis: Axis, measure: Measure) -> float | None:
    """Return a length in user units (CSS px), or None where it is no length."""
    split = split_length(text)
    if split is None:
        return None
    value, unit = split
    if unit in ("", "px"):
        return value
    if unit == "%":
        return value / 100.0 * measure.of(axis)
    if unit in MM_PER_UNIT:
        return value * MM_PER_UNIT[unit] / MM_PER_PX
    if unit in ("em", "rem"):
        return value * (measure.font_px if unit == "em" else DEFAULT_FONT_PX)
    if unit in ("ex", "ch"):
        return value * measure.font_px * _EX_PER_EM
    return None


def numbers(text: str) -> list[float] | None:
    """Return a list of numbers split by spaces or commas, or None where it is none."""
    rest = _NUMBERS.sub("", text)
    if rest.strip(" \t\r\n\f,"):
        return None
    values = [float(item) for item in _NUMBERS.findall(text)]
    return values if all(map(math.isfinite, values)) else None


def fraction(text: str, default: float) -> float:
    """Return a number or percentage as a fraction from 0 to 1; the default where it is neither."""
    split = split_length(text)
    if split is None or split[1] not in ("", "%"):
        return default
    value = split[0] / 100.0 if split[1] == "%" else split[0]
    return min(1.0, max(0.0, value))


def parse_transform(text: str) -> Affine | None:
    """Return the map of a ``transform`` list (attribute or CSS form), or None where it is bad."""
    text = text.strip()
    if text in ("", "none"):
        return Affine()
    whole, place = Affine(), 0
    while place < len(text):
        match = _FUNCTION.match(text, place)
        if match is None:
            return None
        one = _function(match[1].lower(), match[2])
        if one is None:
            return None
        whole = whole @ one
        place = match.end()
    return whole


def _function(name: str, arguments: str) -> Affine | None:
    """Return one function's map."""
    if _ARGUMENT.sub("", arguments).strip(" \t\r\n\f,"):
        return None
    pairs = [(float(m[1]), m[2].lower()) for m in _ARGUMENT.finditer(arguments)]
    if not all(math.isfinite(value) for value, _ in pairs):
        return None
    if name.startswith(("rotate", "skew")):
        if not pairs or pairs[0][1] not in _DEGREES:
            return None
        values = [pairs[0][0] * _DEGREES[pairs[0][1]]]
        rest = [_px(pair) for pair in pairs[1:]]
    else:
        values, rest = [], [_px(pair) for pair in pairs]
    for item in rest:
        if item is None:
            return None
        values.append(item)
    return _map(name, values)


def _px(pair: tuple[float, str]) -> float | None:
    value, unit = pair
    if unit in ("", "px"):
        return value
    return value * MM_PER_UNIT[unit] / MM_PER_PX if unit in MM_PER_UNIT else None


def _map(name: str, v: list[float]) -> Affine | None:  # noqa: PLR0911 - one line a function of the standard
    match name, len(v):
        case "matrix", 6:
            return Affine(*v)
        case ("translate", 1 | 2):
            return Affine.move(v[0], v[1] if len(v) == 2 else 0.0)
        case ("translatex", 1):
            return Affine.move(v[0], 0.0)
        case ("translatey", 1):
            return Affine.move(0.0, v[0])
        case ("scale", 1 | 2):
            return Affine.scale(*v)
        case ("scalex", 1):
            return Affine.scale(v[0], 1.0)
        case ("scaley", 1):
            return Affine.scale(1.0, v[0])
        case ("rotate", 1 | 3):
            return Affine.turn(*v)
        case ("skewx", 1) | ("skew", 1):
            return Affine(1.0, 0.0, math.tan(math.radians(v[0])), 1.0)
        case ("skewy", 1):
            return Affine(1.0, math.tan(math.radians(v[0])), 0.0, 1.0)
    return None


@dataclass(frozen=True, slots=True)
class ViewBox:
    """``viewBox``: the rectangle of user units that fills the viewport."""

    x: float
    y: float
    width: float
    height: float


def parse_view_box(text: str) -> ViewBox | None:
    """Return the view box, or None where it is not four numbers or a size is negative."""
    values = numbers(text)
    if values is None or len(values) != 4 or values[2] < 0.0 or values[3] < 0.0:
        return None
    return ViewBox(*values)


def view_map(box: ViewBox, width: float, height: float, aspect: str) -> Affine:
    """Return the map from a view box onto a viewport at the origin (SVG 2, section 8.2)."""
    sx, sy = width / box.width, height / box.height
    words = aspect.split()
    if words and words[0] == "defer":
        words = words[1:]
    align = words[0] if words else "xMidYMid"
    if align != "none":
        sx = sy = max(sx, sy) if "slice" in words[1:] else min(sx, sy)
    shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    across, down = shares.get(align[1:4], 0.5), shares.get(align[5:8], 0.5)
    if align == "none":
        across = down = 0.0
    dx = (width - box.width * sx) * across
    dy = (height - box.height * sy) * down
    return Affine(sx, 0.0, 0.0, sy, dx - box.x * sx, dy - box.y * sy)
