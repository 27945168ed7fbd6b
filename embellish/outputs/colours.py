"""Colours as '#rrggbb': mixing for pictures, contrast for words, a palette for codes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, TypeAlias

from embellish.formats.colours import as_hex

Rgb: TypeAlias = tuple[int, int, int]

PALETTE: Final = (
    "#0072b2",
    "#d55e00",
    "#009e73",
    "#cc79a7",
    "#000000",
    "#e69f00",
    "#56b4e9",
    "#f0e442",
)
"""Eight colours told apart by all common kinds of colour vision, those that show best on white
paper first: Okabe & Ito 2002/2008, "Color Universal Design" (jfly.uni-koeln.de/color)."""


def rgb(colour: str) -> Rgb:
    """Return the red, green and blue of '#rrggbb'."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def mix(first: str, second: str, share: float) -> str:
    """Return the colour on the way from the first (share 0) to the second (share 1)."""
    return as_hex(
        *(a + (b - a) * share for a, b in zip(rgb(first), rgb(second), strict=True)),
    )


def lighten(colour: str, share: float) -> str:
    """Return the colour a share of the way to white."""
    return mix(colour, "#ffffff", share)


def darken(colour: str, share: float) -> str:
    """Return the colour a share of the way to black."""
    return mix(colour, "#000000", share)


def luminance(colour: str) -> float:
    """Return the relative luminance, 0 black to 1 white (WCAG 2.2, "relative luminance")."""
    red, green, blue = (
        part / 255 / 12.92 if part / 255 <= 0.04045 else ((part / 255 + 0.055) / 1.055) ** 2.4
        for part in rgb(colour)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, "contrast ratio")."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def readable_on(background: str, choices: Sequence[str] = ("#000000", "#ffffff")) -> str:
    """Return that of the choices which stands out best; the earlier one where equal."""
    return max(choices, key=lambda choice: round(contrast(choice, background), 6))
