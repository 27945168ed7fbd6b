"""Paints: what colour a fill or stroke is, and whether it shows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree
from tinycss2 import color4

from embellish.artwork.svg_notes import Notes
from embellish.artwork.svg_style import Cascade
from embellish.artwork.svg_values import fraction
from embellish.formats.xml import local_name

Rgba = tuple[float, float, float, float]
"""Red, green, blue and opacity from 0 to 1."""

BLACK: Rgba = (0.0, 0.0, 0.0, 1.0)
UNKNOWN: Rgba = (0.5, 0.5, 0.5, 1.0)
"""Stands for a pattern: that something is painted is known, its colour is not."""

_URL = re.compile(r"""url\(\s*(["']?)([^"')]*)\1\s*\)\s*(.*)\Z""", re.DOTALL | re.IGNORECASE)
_ICC = re.compile(r"\s+(icc-color|device-[a-z]+)\(.*\Z", re.IGNORECASE)
_GRADIENTS = ("linearGradient", "radialGradient")
_MAX_CHAIN = 20


def url_target(text: str) -> tuple[str, str] | None:
    """Return the reference and what follows of a ``url(...)`` value, or None where it is none."""
    match = _URL.match(text.strip())
    return (match[2].strip(), match[3].strip()) if match else None


def parse_colour(text: str, current: Rgba) -> Rgba | None:
    """Return a CSS colour, ``current`` for currentColor, None where it is no colour."""
    found = color4.parse_color(_ICC.sub("", text.strip()))
    if found is None:
        return None
    if isinstance(found, str):
        return current
    r, g, b, alpha = found.to("srgb")
    return (_unit(r), _unit(g), _unit(b), _unit(alpha))


def _unit(value: float | None) -> float:
    return min(1.0, max(0.0, value or 0.0))


def hex_colour(rgba: Rgba) -> str:
    """Return '#rrggbb'."""
    return "#" + "".join(f"{round(value * 255.0):02x}" for value in rgba[:3])


@dataclass(frozen=True, eq=False)
class Painter:
    """Resolves paints of one document."""

    by_id: Mapping[str, etree._Element]
    cascade: Cascade
    notes: Notes

    def paint(self, text: str, current: Rgba, element: etree._Element) -> str | None:
        """Return '#rrggbb', or None where the paint shows nothing."""
        word = text.strip().lower()
        if word in ("none", ""):
            return None
        target = url_target(text)
        if target is not None:
            return self._server(*target, current, element)
        if word in ("context-fill", "context-stroke"):
            self._note(element, f"the paint {word} is not followed, so it is taken as unpainted")
            return None
        colour = parse_colour(text, current)
        if colour is None:
            self._note(element, f"“{text[:40]}” is no colour, so it is taken as black")
            colour = BLACK
        return hex_colour(colour) if colour[3] > 0.0 else None

    def _server(
        self, reference: str, fallback: str, current: Rgba, element: etree._Element
    ) -> str | None:
        server = self.by_id.get(reference[1:]) if reference.startswith("#") else None
        kind = "" if server is None else local_name(server.tag)
        if server is not None and kind in _GRADIENTS:
            colour = self._gradient_mean(server)
            if colour is None:
                return None
            self._note(element, f"its gradient is taken as its mean colour {hex_colour(colour)}")
            return hex_colour(colour) if colour[3] > 0.0 else None
        if server is not None and kind == "pattern":
            self._note(
                element, f"its pattern is not read: taken as one colour, {hex_colour(UNKNOWN)}"
            )
            return hex_colour(UNKNOWN)
        if fallback:
            return self.paint(fallback, current, element)
        self._note(element, f"its paint {reference[:40]} is not in the file: taken as unpainted")
        return None

    def _note(self, element: etree._Element, effect: str) -> None:
        self.notes.add("paint-simplified", "note", element, effect)

    def _gradient_mean(self, gradient: etree._Element) -> Rgba | None:
        """Return the mean over the gradient's length, or None where it has no stops."""
        stops = [self._stop(stop) for stop in self._stops(gradient)]
        if not stops:
            return None
        total = [0.0, 0.0, 0.0, 0.0]
        last_at, last = 0.0, stops[0][1]
        for offset, colour in [*stops, (1.0, stops[-1][1])]:
            at = max(last_at, offset)
            for i in range(4):
                total[i] += (at - last_at) * (last[i] + colour[i]) / 2.0
            last_at, last = at, colour
        return (total[0], total[1], total[2], total[3])

    def _stops(self, gradient: etree._Element) -> list[etree._Element]:
        """Return the stops of a gradient or of the one it refers to."""
        for _ in range(_MAX_CHAIN):
            stops = [child for child in gradient if local_name(child.tag) == "stop"]
            target = href(gradient)
            if stops or target is None or target[:1] != "#":
                return stops
            further = self.by_id.get(target[1:])
            if further is None or local_name(further.tag) not in _GRADIENTS:
                return []
            gradient = further
        return []

    def _stop(self, stop: etree._Element) -> tuple[float, Rgba]:
        declared = self.cascade.declared(stop)
        current = parse_colour(declared.get("color", "black"), BLACK) or BLACK
        colour = parse_colour(declared.get("stop-color", "black"), current) or BLACK
        opacity = fraction(declared.get("stop-opacity", "1"), 1.0)
        offset = fraction(stop.get("offset") or "0", 0.0)
        return offset, (*colour[:3], colour[3] * opacity)


def href(element: etree._Element) -> str | None:
    """Return the reference of an element, in its SVG 2 or its XLink form."""
    value = element.get("href")
    if value is None:
        value = element.get("{http://www.w3.org/1999/xlink}href")
    return None if value is None else str(value).strip()
