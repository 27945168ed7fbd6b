"""A piece's outline as something to paint with: it shrinks, moves and splits into facets."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_outline
from embellish.geometry.outlines import sampled
from embellish.outputs.drawing.drawing import Circles, Lines, Style

Small: TypeAlias = tuple[Circles | Lines, ...]

_FACETS: Final = 16
_FLATNESS: Final = 0.002
"""Of the piece's size: what is lost cannot be seen at any scale a proof is printed at."""


@dataclass(frozen=True, eq=False)
class Form:
    """A piece's outline at nominal size, about its own centre.

    Parameters
    ----------
    ring : array of shape (k, 2)
        Points along the outline, clockwise as seen.
    radius_mm
        The radius where it is a circle, else None.
    size_mm
        Half its smaller side: what shading and highlights are measured in.
    """

    ring: Floats
    radius_mm: float | None
    size_mm: float

    @classmethod
    def of(cls, piece: Piece) -> Form:
        """Return the form of a piece."""
        outline = piece_outline(piece, at="nominal")
        size = min(piece.length_mm.nominal, piece.width_mm.nominal) / 2.0
        ring = sampled(outline, size * _FLATNESS * 2.0)
        return cls(ring, outline.round_radius_mm, size)

    def painted(
        self, style: Style, *, share: float = 1.0, dx: float = 0.0, dy: float = 0.0
    ) -> Circles | Lines:
        """Return the form shrunk to a share about its centre and moved, in one style."""
        if self.radius_mm is not None:
            return Circles(np.array([[dx, dy]]), np.array([self.radius_mm * share]), style)
        return Lines((self.ring * share + np.array([dx, dy]),), style, closed=True)

    @property
    def corners(self) -> Floats:
        """Corners of the crown's facets on the outline, shape (m, 2), clockwise as seen."""
        if self.radius_mm is not None:
            turns = 2.0 * math.pi * (np.arange(_FACETS) + 0.5) / _FACETS
            return self.radius_mm * np.stack([np.cos(turns), np.sin(turns)], axis=1)
        return _spread(self.ring)


def _spread(ring: Floats) -> Floats:
    """Return about sixteen points of the ring, its sharp corners among them."""
    steps = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(*steps.T)
    ring, steps, lengths = ring[lengths > 0], steps[lengths > 0], lengths[lengths > 0]
    headings = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    turns = np.mod(headings - np.roll(headings, 1) + 180.0, 360.0) - 180.0
    sharp = np.flatnonzero(np.abs(turns) > 25.0)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    total = float(along[-1])
    stops = along[sharp] if len(sharp) else np.zeros(1)
    closed = np.vstack([ring, ring[:1]])
    places: list[float] = []
    for i, start in enumerate(stops.tolist()):
        end = float(stops[i + 1]) if i + 1 < len(stops) else float(stops[0]) + total
        count = max(1, round((end - start) / total * _FACETS))
        places += (start + (end - start) * np.arange(count) / count).tolist()
    at = np.mod(np.array(places), total)
    return np.stack(
        [np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])], axis=1
    )


def enlarged(items: Small, factor: float) -> Small:
    """Return a small picture at another size about its origin."""
    bigger: list[Circles | Lines] = []
    for item in items:
        style = replace(item.style, stroke_width_mm=item.style.stroke_width_mm * factor)
        if isinstance(item, Circles):
            bigger.append(Circles(item.xy * factor, item.radius_mm * factor, style))
        else:
            bigger.append(Lines(tuple(line * factor for line in item.lines), style, item.closed))
    return tuple(bigger)
