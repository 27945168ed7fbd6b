"""A rough price before there is any artwork: about how many pieces, and what follows from that."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.lettering.lettering import set_text
from embellish.artwork.lettering.settings import LetteringSettings
from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Kind, Piece
from embellish.catalogue.shapes import piece_footprint
from embellish.errors import CatalogueError, JobError
from embellish.formats.fonts_single_line import single_line_font
from embellish.formats.nearest import nearest
from embellish.geometry.curves import segment_lengths
from embellish.job.lay_records import default_set_by
from embellish.layout.layout import SetBy
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialsPlan, plan_counted
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote

_FILLED: Final = 0.93
"""Share of the densest hexagonal grid that a filled shape reaches (measured on grids of 1 700)."""

_BOXES_FILLED: Final = 0.96
"""The same of pieces side by side, for what is lost at edges (measured on beads and bugles)."""

_LETTERS: Final = "single-line:futural"
"""Letters of single lines: their strokes are as long as the middle lines of plain capitals."""

_LIFT_MM: Final = 250.0
"""Side of what one press takes, where nothing else is said (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Rough:
    """What it comes to, about."""

    piece: Piece
    count: int
    how: str
    materials: MaterialsPlan
    quote: QuotePlan


def rough_price(
    catalogue: Catalogue,
    code: str,
    gap_mm: float,
    prices: PriceSettings,
    *,
    area_mm: tuple[float, float] | None = None,
    coverage: float = 1.0,
    text: str = "",
    cap_height_mm: float = 0.0,
    quantity: int = 1,
) -> Rough:
    """Return a rough price.

    Parameters
    ----------
    catalogue, code, gap_mm
        What is set, and how near.
    prices
        Rates of the shop.
    area_mm
        Width and height of a shape that is filled.
    coverage
        Which share of that frame the shape takes.
    text, cap_height_mm
        Or words along whose lines pieces are set.
    quantity
        Garments.

    Raises
    ------
    CatalogueError, JobError
        Where there is no such piece, or nothing to price.
    """
    piece = catalogue.pieces.get(code)
    if piece is None:
        raise CatalogueError(
            f"no catalogue has a piece '{code}'", mend=nearest(code, catalogue.pieces)
        )
    every_round = piece_footprint(piece).round_radius_mm is not None
    # In rows pieces lie along the line.
    pitch = piece.length_mm.max + gap_mm
    if text:
        count, how, size = _along(text, cap_height_mm, pitch)
    elif area_mm is not None and every_round:
        count, how = _inside(area_mm, coverage, pitch)
        size = area_mm
    elif area_mm is not None:
        count, how = _in_boxes(area_mm, coverage, gap_mm, piece)
        size = area_mm
    else:
        raise JobError("there is nothing to price", mend="Give a size, or words and their height.")
    set_by = default_set_by({piece.fixing}, every_round=every_round)
    pieces: Mapping[tuple[SetBy, Kind], int] = {(set_by, piece.kind): count}
    presses = _presses(size) if piece.fixing == "heat-set" else 0
    materials = plan_counted({code: count}, quantity, catalogue, MaterialSettings())
    quote = plan_quote(materials, WorkAmounts(pieces, Decimal(0), presses), prices)
    return Rough(piece, count, how, materials, quote)


def _inside(area_mm: tuple[float, float], coverage: float, pitch: float) -> tuple[int, str]:
    """Return how many go inside: of the densest grid, less what edges cost (Groemer's bound)."""
    width, height = area_mm
    area = width * height * coverage
    # The shape's edge is taken as that of a square of its area: slender ones take fewer.
    inner = max(math.sqrt(area) - pitch, 0.0)
    bound = 2.0 * inner**2 / (math.sqrt(3.0) * pitch**2) + 4.0 * inner / (2.0 * pitch) + 1.0
    count = max(1, round(_FILLED * bound))
    return count, f"{area / 100.0:.0f} cm² filled at {pitch:.2f} mm from middle to middle"


def _in_boxes(
    area_mm: tuple[float, float], coverage: float, gap_mm: float, piece: Piece
) -> tuple[int, str]:
    """Return how many go inside of pieces that are not round: side by side, each in its box."""
    width, height = area_mm
    area = width * height * coverage
    long, wide = piece.length_mm.max + gap_mm, piece.width_mm.max + gap_mm
    # Each row and column ends without a gap.
    side = math.sqrt(area) + gap_mm
    # Ovals are circles drawn out, and lie as these do: between two of the next row.
    nested = 2.0 / math.sqrt(3.0) if piece.shape in ("oval", "navette") else 1.0
    count = max(1, round(_BOXES_FILLED * nested * side**2 / (long * wide)))
    return count, f"{area / 100.0:.0f} cm² filled, {long:.2f} × {wide:.2f} mm for each"


def _along(text: str, cap_height_mm: float, pitch: float) -> tuple[int, str, tuple[float, float]]:
    """Return how many go along the lines of plain letters."""
    asked = LetteringSettings(text=text, font=_LETTERS, cap_height_mm=cap_height_mm)
    shapes = set_text(asked, single_line_font(_LETTERS)).shapes
    lines: list[Floats] = [path.segments for shape in shapes for path in shape.paths]
    lengths = [float(segment_lengths(line).sum()) for line in lines]
    count = sum(max(1, round(length / pitch)) for length in lengths)
    every = np.concatenate([line.reshape(-1, 2) for line in lines])
    width, height = np.ptp(every, axis=0).tolist()
    how = f"{sum(lengths) / 10.0:.0f} cm of letters at {pitch:.2f} mm from middle to middle"
    return count, how, (width, height)


def _presses(size: tuple[float, float]) -> int:
    return math.ceil(size[0] / _LIFT_MM) * math.ceil(size[1] / _LIFT_MM)
