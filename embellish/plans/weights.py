"""What pieces weigh on the garment: as the catalogue says, else by size and kind.

An estimate is footprint × height × density × how full the outline is. Densities are rough values
for the usual materials: glass 2.5, brass 8.4, acrylic 1.2, polyester film 1.4 g/cm³ (handbook
values, from memory); how full a form is, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np
import scipy

from embellish.catalogue.piece import Kind, Piece, ShapeName
from embellish.layout.layout import Layout
from embellish.plans.piece_counts import piece_counts

_G_CM3: Final[dict[Kind, float]] = {
    "stone": 2.5,
    "pearl": 1.2,
    "stud": 8.4,
    "bead": 2.5,
    "bugle": 2.5,
    "sequin": 1.4,
    "chain": 6.0,
    "other": 1.5,
}
_FULL: Final[dict[Kind, float]] = {
    "stone": 0.6,
    "pearl": 0.65,
    "stud": 0.25,
    "bead": 0.6,
    "bugle": 0.7,
    "sequin": 1.0,
    "chain": 0.5,
    "other": 0.7,
}
_AREA: Final[dict[ShapeName, float]] = {
    "round": pi / 4,
    "oval": pi / 4,
    "navette": 0.64,
    "pear": 0.7,
    "square": 1.0,
    "rectangle": 1.0,
    "octagon": 0.9,
    "bugle": 1.0,
    "outline": 0.7,
}
_SEQUIN_MM: Final = 0.12
_HEIGHT_SHARE: Final = 0.4
_CELL_MM: Final = 10.0
_SPAN_MM: Final = 100.0


@dataclass(frozen=True, slots=True)
class Load:
    """What the pieces of one garment weigh.

    Parameters
    ----------
    grams
        All of them.
    estimated
        Whether the weight of any was not in the catalogue.
    most_g_m2
        Over the square decimetre that has most.
    at_mm
        Its middle, in layout mm; None for no pieces.
    """

    grams: float
    estimated: bool
    most_g_m2: float
    at_mm: tuple[float, float] | None


def weight_of(piece: Piece) -> tuple[float, bool]:
    """Return the grams of a piece, and whether that is an estimate."""
    if piece.weight_g is not None:
        return piece.weight_g, False
    length, width = piece.length_mm.nominal, piece.width_mm.nominal
    if piece.kind == "sequin":
        height = _SEQUIN_MM
    elif piece.height_mm is not None:
        height = piece.height_mm
    else:
        height = _HEIGHT_SHARE * min(length, width)
    # Beads and bugles are round across: their box is fuller than they are.
    volume = _AREA[piece.shape] * length * width * height * _FULL[piece.kind]
    return volume * _G_CM3[piece.kind] / 1000.0, True


def load_of(layout: Layout) -> Load:
    """Return what the pieces of a layout weigh, and where most lie."""
    each = {piece.code: weight_of(piece) for piece in layout.pieces}
    counts = piece_counts(layout)
    grams = sum(each[code][0] * number for code, number in counts.items())
    estimated = any(each[code][1] for code in counts)
    if not len(layout):
        return Load(0.0, estimated=False, most_g_m2=0.0, at_mm=None)
    weights = [each[piece.code][0] for piece in layout.pieces]
    weights += [sum(each[member.piece][0] for member in unit.members) for unit in layout.units]
    seats = np.array(weights)[layout.footprint]
    low = layout.xy.min(axis=0) - _CELL_MM
    cells = np.floor((layout.xy - low) / _CELL_MM).astype(int)
    grid = np.zeros(cells.max(axis=0) + 2)
    np.add.at(grid, (cells[:, 0], cells[:, 1]), seats)
    span = int(_SPAN_MM / _CELL_MM)
    sums = scipy.ndimage.uniform_filter(grid, size=span, mode="constant") * span * span
    at = np.unravel_index(int(np.argmax(sums)), sums.shape)
    x, y = np.round(low + (np.array(at) + 0.5) * _CELL_MM, 1).tolist()
    return Load(grams, estimated, float(sums[at]) / (_SPAN_MM / 1000.0) ** 2, (x, y))
