"""The basic shapes of SVG 2, chapter 10, as Bézier chains in user units."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Final

import numpy as np

from embellish.artwork.artwork import Path, StrokeCap
from embellish.artwork.svg.path import Lines, Point, path_data, point_list, polyline
from embellish.artwork.svg.values import Axis, Measure, user_units
from embellish.geometry.curves import ellipse_arc, line_segments

_CSS_PATH = re.compile(r"""\s*path\(\s*(["'])(.*)\1\s*\)\s*\Z""", re.DOTALL)

Look = Callable[[str], str | None]
"""The value an element declares for a property, by style or attribute."""


class BadValueError(ValueError):
    """A length of a basic shape is no length, or negative where it must not be."""


class _Lengths:
    def __init__(self, look: Look, measure: Measure) -> None:
        self.look, self.measure = look, measure

    def __call__(self, name: str, axis: Axis, *, negative: bool = True) -> float:
        value = self.optional(name, axis)
        if value is not None and value < 0.0 and not negative:
            raise BadValueError(f"{name} is negative")
        return value or 0.0

    def optional(self, name: str, axis: Axis) -> float | None:
        text = self.look(name)
        if text is None or text.strip() == "auto":
            return None
        value = user_units(text, axis, self.measure)
        if value is None:
            raise BadValueError(f"{name}=“{text[:40]}” is no length")
        return value


def basic_paths(tag: str, look: Look, measure: Measure) -> Lines:
    """Return what a shape element draws, in user units.

    Raises
    ------
    BadValueError
        For a length the standard does not allow; the element is then not drawn.
    """
    if tag == "path":
        return path_data(_css_path(look("d") or ""))
    if tag in ("polyline", "polygon"):
        return point_list(look("points") or "", closed=tag == "polygon")
    if tag == "line":
        return _line(_Lengths(look, measure))
    return Lines(_DRAW[tag](_Lengths(look, measure)))


def _css_path(text: str) -> str:
    """Return the data of a ``d`` property, which CSS wraps in path("...")."""
    match = _CSS_PATH.match(text)
    return match[2] if match else text


def _line(length: _Lengths) -> Lines:
    ends = [[length("x1", "x"), length("y1", "y")], [length("x2", "x"), length("y2", "y")]]
    return polyline(np.array(ends), closed=False)


def _circle(length: _Lengths) -> tuple[Path, ...]:
    r = length("r", "both", negative=False)
    return _closed_ellipse(length("cx", "x"), length("cy", "y"), r, r)


def _ellipse(length: _Lengths) -> tuple[Path, ...]:
    rx, ry = length.optional("rx", "x"), length.optional("ry", "y")
    # 'auto': one radius stands for both.
    rx, ry = rx if rx is not None else ry, ry if ry is not None else rx
    if rx is None or ry is None:
        return ()
    if rx < 0.0 or ry < 0.0:
        raise BadValueError("a radius is negative")
    return _closed_ellipse(length("cx", "x"), length("cy", "y"), rx, ry)


def dot(place: Point, width: float, cap: StrokeCap) -> Path | None:
    """Return the dot that a stroke without length paints: round, square, or nothing."""
    half = width / 2.0
    if cap == "butt" or half <= 0.0:
        return None
    if cap == "square":
        return _rounded_rect((place[0] - half, place[1] - half), (width, width), (0.0, 0.0))
    return _closed_ellipse(*place, half, half)[0]


def _closed_ellipse(cx: float, cy: float, rx: float, ry: float) -> tuple[Path, ...]:
    if rx == 0.0 or ry == 0.0:
        return ()
    segments = ellipse_arc((cx, cy), (rx, ry), 0.0, 0.0, math.tau)
    segments[-1, 3] = segments[0, 0]
    return (Path(segments, closed=True),)


def _rect(length: _Lengths) -> tuple[Path, ...]:
    x, y = length("x", "x"), length("y", "y")
    w, h = length("width", "x", negative=False), length("height", "y", negative=False)
    if w == 0.0 or h == 0.0:
        return ()
    rx, ry = length.optional("rx", "x"), length.optional("ry", "y")
    rx = None if rx is not None and rx < 0.0 else rx
    ry = None if ry is not None and ry < 0.0 else ry
    rx, ry = rx if rx is not None else ry, ry if ry is not None else rx
    rx, ry = min(rx or 0.0, w / 2.0), min(ry or 0.0, h / 2.0)
    return (_rounded_rect((x, y), (w, h), (rx, ry)),)


def _rounded_rect(
    at: tuple[float, float], size: tuple[float, float], radii: tuple[float, float]
) -> Path:
    """Return a rectangle, its corners rounded where both radii are positive, clockwise as seen."""
    (x, y), (w, h), (rx, ry) = at, size, radii
    if rx == 0.0 or ry == 0.0:
        corners = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]])
        return Path(line_segments(corners), closed=True)
    parts = []
    centres = (
        (x + w - rx, y + ry),
        (x + w - rx, y + h - ry),
        (x + rx, y + h - ry),
        (x + rx, y + ry),
    )
    last = np.array([x + rx, y])
    for quarter, centre in enumerate(centres):
        arc = ellipse_arc(centre, (rx, ry), 0.0, (quarter - 1) * math.pi / 2.0, math.pi / 2.0)
        if np.abs(arc[0, 0] - last).max() > 1e-12 * (w + h):
            parts.append(line_segments(np.stack([last, arc[0, 0]])))
        else:
            arc[0, 0] = last
        parts.append(arc)
        last = arc[-1, 3]
    segments = np.concatenate(parts)
    segments[-1, 3] = segments[0, 0]
    return Path(segments, closed=True)


_DRAW: Final[dict[str, Callable[[_Lengths], tuple[Path, ...]]]] = {
    "circle": _circle,
    "ellipse": _ellipse,
    "rect": _rect,
}

SHAPE_TAGS: Final = frozenset({"path", "line", "polyline", "polygon", *_DRAW})
