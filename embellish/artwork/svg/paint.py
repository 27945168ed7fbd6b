"""Paints: what colour a fill or stroke is, and whether it shows."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from embellish.artwork.svg.document import Document
from embellish.artwork.svg.style import css_colour
from embellish.artwork.svg.values import fraction
from embellish.formats.colours import as_hex
from embellish.formats.xml import Element, local_name

Rgba = tuple[float, float, float, float]
"""Red, green, blue and opacity from 0 to 1."""

BLACK: Rgba = (0.0, 0.0, 0.0, 1.0)
UNKNOWN: Rgba = (0.5, 0.5, 0.5, 1.0)
"""Stands for a pattern: that something is painted is known, its colour is not."""

_URL = re.compile(r"""url\(\s*(["']?)([^"')]*)\1\s*\)\s*(.*)\Z""", re.DOTALL | re.IGNORECASE)
_GRADIENTS = ("linearGradient", "radialGradient")
_MAX_CHAIN = 20


def url_target(text: str) -> tuple[str, str] | None:
    """Return the reference and what follows of a ``url(...)`` value, or None where it is none."""
    match = _URL.match(text.strip())
    return (match[2].strip(), match[3].strip()) if match else None


@functools.lru_cache(maxsize=1024)
def parse_colour(text: str, current: Rgba) -> Rgba | None:
    """Return a CSS colour, ``current`` for currentColor, None where it is no colour."""
    found = css_colour(text)
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
    return as_hex(*(value * 255.0 for value in rgba[:3]))


@dataclass(frozen=True, eq=False)
class Painter:
    """Resolves paints of one document."""

    document: Document

    def paint(self, text: str, current: Rgba, element: Element) -> str | None:
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
        if 0.0 < colour[3] < 1.0:
            note_seen_through(self.document, element)
        return hex_colour(colour) if colour[3] > 0.0 else None

    def _server(self, reference: str, fallback: str, current: Rgba, element: Element) -> str | None:
        server = self.document.target(reference)
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

    def _note(self, element: Element, effect: str) -> None:
        self.document.notes.add("paint-simplified", "note", element, effect)

    def _gradient_mean(self, gradient: Element) -> Rgba | None:
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

    def _stops(self, gradient: Element) -> list[Element]:
        """Return the stops of a gradient or of the one it refers to."""
        for _ in range(_MAX_CHAIN):
            stops = [child for child in gradient if local_name(child.tag) == "stop"]
            target = href(gradient)
            further = None if target is None else self.document.target(target, *_GRADIENTS)
            if stops or further is None:
                return stops
            gradient = further
        return []

    def _stop(self, stop: Element) -> tuple[float, Rgba]:
        declared = self.document.cascade.declared(stop)
        current = parse_colour(declared.get("color", "black"), BLACK) or BLACK
        colour = parse_colour(declared.get("stop-color", "black"), current) or BLACK
        opacity = fraction(declared.get("stop-opacity", "1"), 1.0)
        offset = fraction(stop.get("offset") or "0", 0.0)
        return offset, (*colour[:3], colour[3] * opacity)


def note_seen_through(document: Document, element: Element) -> None:
    """Note that an element is partly transparent, and read as if it were not."""
    document.notes.add(
        "opacity-ignored", "note", element, "it is partly seen through: read as solid"
    )


def href(element: Element) -> str | None:
    """Return the reference of an element, in its SVG 2 or its XLink form."""
    value = element.get("href")
    if value is None:
        value = element.get("{http://www.w3.org/1999/xlink}href")
    return None if value is None else str(value).strip()
