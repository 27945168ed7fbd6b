"""Numbers, lengths, transforms and view boxes as SVG 2 and CSS write them."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from embellish.geometry.transforms import Affine
from embellish.units import MM_PER_PX, MM_PER_UNIT

NUMBER: Final = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
SEPARATOR: Final = r"[ \t\r\n\f]*,?[ \t\r\n\f]*"

MAX_NUMBER: Final = 1e12
"""A number beyond this is no coordinate; it is taken as bad data."""

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


@functools.lru_cache(maxsize=4096)
def split_length(text: str) -> tuple[float, str] | None:
    """Return number and unit (lower case, '' or '%' among them), or None where it is no length."""
    match = _LENGTH.match(text)
    if match is None:
        return None
    value = float(match[1])
    return (value, match[2].lower()) if abs(value) <= MAX_NUMBER else None


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
    letter = {
        "em": measure.font_px,
        "rem": DEFAULT_FONT_PX,
        "ex": measure.font_px * _EX_PER_EM,
        "ch": measure.font_px * _EX_PER_EM,
    }
    return value * letter[unit] if unit in letter else None


def numbers(text: str) -> list[float] | None:
    """Return a list of numbers split by spaces or commas, or None where it is none."""
    rest = _NUMBERS.sub("", text)
    if rest.strip(" \t\r\n\f,"):
        return None
    values = [float(item) for item in _NUMBERS.findall(text)]
    return values if all(abs(value) <= MAX_NUMBER for value in values) else None


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
    if not all(abs(value) <= MAX_NUMBER for value, _ in pairs):
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


def _map(name: str, values: list[float]) -> Affine | None:
    """Return the map of a function by its name and how many values it has."""
    make = _FUNCTIONS.get((name, len(values)))
    return None if make is None else make(*values)


def _skew_x(angle_deg: float) -> Affine:
    return Affine(1.0, 0.0, math.tan(math.radians(angle_deg)), 1.0)


def _skew_y(angle_deg: float) -> Affine:
    return Affine(1.0, math.tan(math.radians(angle_deg)), 0.0, 1.0)


_FUNCTIONS: Final[dict[tuple[str, int], Callable[..., Affine]]] = {
    ("matrix", 6): Affine,
    ("translate", 1): lambda x: Affine.move(x, 0.0),
    ("translate", 2): Affine.move,
    ("translatex", 1): lambda x: Affine.move(x, 0.0),
    ("translatey", 1): lambda y: Affine.move(0.0, y),
    ("scale", 1): Affine.scale,
    ("scale", 2): Affine.scale,
    ("scalex", 1): lambda s: Affine.scale(s, 1.0),
    ("scaley", 1): lambda s: Affine.scale(1.0, s),
    ("rotate", 1): Affine.turn,
    ("rotate", 3): Affine.turn,
    ("skewx", 1): _skew_x,
    ("skewy", 1): _skew_y,
}


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
