"""What could stand in for a piece that is no longer sold: a proposal, never a decision."""

from __future__ import annotations

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


def _unlikeness(one: Piece, other: Piece) -> tuple[bool, float, int, str]:
    """Finish first, then size to a fiftieth, then colour as stored, then the code."""
    return (
        one.finish != other.finish,
        round(_size_share(one, other) * 50.0) / 50.0,
        sum((a - b) ** 2 for a, b in zip(_rgb(one), _rgb(other), strict=True)),
        one.code,
    )


def _rgb(piece: Piece) -> tuple[int, int, int]:
    return int(piece.hex[1:3], 16), int(piece.hex[3:5], 16), int(piece.hex[5:7], 16)
