"""Pictures of pieces for the page: small SVGs, painted as the proof paints them."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Piece
from embellish.catalogue.shapes import piece_footprint
from embellish.geometry.footprints import Footprint
from embellish.outputs.drawing.drawing import Circles, Drawing, Layer, Lines
from embellish.outputs.drawing.svg import svg_bytes
from embellish.outputs.proof_pieces import piece_picture

MARGIN: float = 1.3
"""Half the picture's side over the piece's reach: room for the shadow."""


def sprite_half_mm(piece: Piece) -> float:
    """Return half the side of a piece's picture, whose middle is the seat."""
    footprint: Footprint = piece_footprint(piece)
    return MARGIN * footprint.reach_mm


@lru_cache(maxsize=512)
def sprite(piece: Piece, angle_deg: float, cloth: str) -> bytes:
    """Return the picture of a piece, set at an angle under the light, as SVG.

    The piece itself lies unturned in it; only its light is that of the angle.
    """
    half = sprite_half_mm(piece)
    middle = np.array([half, half])
    items = tuple(_moved(item, middle) for item in piece_picture(piece, angle_deg, cloth))
    return svg_bytes(Drawing(2.0 * half, 2.0 * half, (Layer("piece", items),)))


def _moved(item: Circles | Lines, by: Floats) -> Circles | Lines:
    if isinstance(item, Circles):
        return replace(item, xy=item.xy + by)
    return replace(item, lines=tuple(line + by for line in item.lines))
