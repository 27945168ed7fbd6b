"""Giving artwork its size in millimetres."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from embellish.artwork.artwork import Artwork
from embellish.errors import ArtworkError
from embellish.geometry.transforms import Affine

MAX_WIDTH_MM: Final = 100_000.0
"""A hundred metres: wider artwork is a slip of units."""


def sized(artwork: Artwork, width_mm: float | None = None, scale: float | None = None) -> Artwork:
    """Return the artwork in millimetres.

    Parameters
    ----------
    artwork
        As read.
    width_mm
        Width of the page, or of all shapes' bounds where there is no page.
    scale
        Factor on a sized artwork; millimetres a unit for one without size.

    Raises
    ------
    ArtworkError
        Where both or, for artwork without size, neither is given; where a number is not finite
        or not above zero; where there is no width to scale.
    """
    if width_mm is not None and scale is not None:
        raise ArtworkError("both width_mm and scale are given", mend="Keep one of them.")
    if width_mm is not None:
        factor = _above_zero(width_mm, "width_mm") / _width(artwork)
    elif scale is not None:
        factor = _above_zero(scale, "scale")
    elif artwork.sized:
        factor = 1.0
    else:
        raise ArtworkError(
            "the drawing has no size in millimetres",
            mend="Give width_mm or scale, or set the page's size in the drawing program.",
        )
    width = _extent(artwork) * factor
    if not width <= MAX_WIDTH_MM:
        raise ArtworkError(
            f"the artwork would be {width / 1000.0:,.0f} m wide", mend="Check width_mm or scale."
        )
    if factor == 1.0:
        return replace(artwork, sized=True)
    grow = Affine.scale(factor)
    page = artwork.page
    return Artwork(
        tuple(shape.mapped(grow) for shape in artwork.shapes),
        None if page is None else (page[0] * factor, page[1] * factor),
        sized=True,
    )


def _above_zero(value: float, name: str) -> float:
    if not math.isfinite(value) or value <= 0.0:
        raise ArtworkError(f"{name} is {value:g}", mend="Give a number above 0.")
    return value


def _width(artwork: Artwork) -> float:
    """Return the width that width_mm stands for, in the artwork's units."""
    if artwork.page is not None:
        return artwork.page[0]
    bounds = artwork.bounds()
    width = 0.0 if bounds is None else bounds[2] - bounds[0]
    if width <= 0.0:
        raise ArtworkError(
            "the shapes have no width and there is no page", mend="Give scale instead of width_mm."
        )
    return width


def _extent(artwork: Artwork) -> float:
    """Return the largest extent of page and shapes."""
    bounds = artwork.bounds() or (0.0, 0.0, 0.0, 0.0)
    page = artwork.page or (0.0, 0.0)
    return max(bounds[2] - bounds[0], bounds[3] - bounds[1], *page)
