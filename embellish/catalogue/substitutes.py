"""What could stand in for a piece that is no longer sold: a proposal, never a decision."""

from __future__ import annotations

from embellish.catalogue.colour_difference import delta_e, lab_of_hex
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.piece import Piece


def substitute_for(piece: Piece, catalogue: Catalogue) -> Piece | None:
    """Return the piece most like another: same kind, shape and fixing, then size, then colour.

    None where nothing of that kind, shape and fixing is of nearly that size (within 5 %): another
    size would be another layout.
    """
    alike = [
        each
        for each in catalogue.pieces.values()
        if (each.kind, each.shape, each.fixing) == (piece.kind, piece.shape, piece.fixing)
        and each.code != piece.code
        and _size_share(each, piece) <= 0.05
    ]
    return min(alike, key=lambda each: _unlikeness(each, piece), default=None)


def _size_share(one: Piece, other: Piece) -> float:
    pairs = ((one.length_mm, other.length_mm), (one.width_mm, other.width_mm))
    return max(abs(a.nominal - b.nominal) / b.nominal for a, b in pairs)


def _unlikeness(one: Piece, other: Piece) -> tuple[bool, float, float, str]:
    """Finish first, then size to a fiftieth, then colour as it looks, then the code."""
    return (
        one.finish != other.finish,
        round(_size_share(one, other) * 50.0) / 50.0,
        round(float(delta_e(*lab_of_hex([one.hex, other.hex]))), 4),
        one.code,
    )
