"""Lengths: millimetres inside, conversions at the edge.

Sources: the international inch (1959) is 25.4 mm exactly; CSS Values and Units 3, section 6.2
fixes 1in = 96px = 72pt = 6pc; the plotter unit 0.025 mm is HP-GL/2's; 0.1 mm is the grid of the
machine stitch formats.
"""

from __future__ import annotations

from typing import Final

EPS_MM: Final = 1e-6
"""Two lengths closer than this are equal. The one tolerance of every comparison of lengths."""

LAY_SLACK_MM: Final = 2e-6
"""Ways lay to gap + this and edge + this, so that rounding to EPS_MM never breaks the gap asked."""

ALIKE_MM: Final = 0.2
"""Drawings that differ by less are mirror images: they are exported to a hundredth or two."""

ROUND_DECIMALS: Final = 6
"""Coordinates of a layout are rounded to this many decimals of a millimetre."""

MM_PER_INCH: Final = 25.4
MM_PER_PX: Final = MM_PER_INCH / 96
MM_PER_PT: Final = MM_PER_INCH / 72
MM_PER_PLOTTER_UNIT: Final = 0.025
MM_PER_STITCH_UNIT: Final = 0.1

MM_PER_UNIT: Final[dict[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_INCH,
    "pt": MM_PER_PT,
    "pc": MM_PER_INCH / 6,
}
"""Physical units of the CSS standard. `px` is left out: a pixel is not a promise of size."""
