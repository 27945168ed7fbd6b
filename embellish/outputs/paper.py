"""Paper sizes in mm, upright: ISO 216 for A4, ANSI Y14.1 for Letter."""

from __future__ import annotations

from typing import Final

from embellish.plans.paper_settings import PaperSize as Paper

__all__ = ["MARGIN_MM", "SIZES_MM", "Paper"]

SIZES_MM: Final[dict[Paper, tuple[float, float]]] = {
    "A4": (210.0, 297.0),
    "Letter": (215.9, 279.4),
}

MARGIN_MM: Final = 10.0
"""What most printers leave white (common practice, no source)."""
