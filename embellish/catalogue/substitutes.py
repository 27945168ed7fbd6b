"""What could stand in for a piece that is not to be had or too dear: proposals, never decisions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.finding import colour_distances, unit_price
from embellish.catalogue.piece import Piece

NEAR_SIZE: Final = 0.05
"""Of nearly the same size, as a share of it: another size would be another layout."""

_ONE_SIZE: Final = 0.02
"""Nominal sizes as near as this share are one size; or as near as the piece's own may vary."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A piece that could stand in for another.

    Parameters
    ----------
    same_finish
        Whether its finish is of the same family: a word in common, such as 'metal'.
    delta_e
        How different the colours look (CIEDE2000).
    dearer
        What one piece more costs than one of the other, each in its cheapest pack; None where a
        price is not known.
    """

    piece: Piece
    same_finish: bool
    delta_e: float
    dearer: Decimal | None

    @property
    def words(self) -> str:
        """Return what tells it from the other, in words."""
        finish = "same finish" if self.same_finish else f"finish {self.piece.finish or 'not known'}"
        return f"{self.piece.code} ({finish}, colours {self.delta_e:.1f} apart by CIEDE2000)"


def proposals(
    piece: Piece, catalogue: Catalogue, *, in_stock: bool = False, cheaper: bool = False
) -> tuple[Proposal, ...]:
    """Return the pieces most like another, the likest first.

    Of the same kind, shape and fixing and of nearly the same size; the same family of finish comes
    first, the very same finish first in it; of these those of one size with it, whose nominal size
    is one that the piece itself may have; then the nearest colour. What is level in all of that
    goes by the nearer size, then by its code.

    Parameters
    ----------
    in_stock
        Only what is there.
    cheaper
        Only what is known to cost less.
    """
    alike = [
        each
        for each in catalogue.pieces.values()
        if (each.kind, each.shape, each.fixing) == (piece.kind, piece.shape, piece.fixing)
        and each.code != piece.code
        and _size_share(each, piece) <= NEAR_SIZE
        and (not in_stock or each.stock > 0)
    ]
    if not alike:
        return ()
    own = unit_price(piece)
    away = colour_distances([each.hex for each in alike], piece.hex)
    found = _ranked(alike, away, piece)
    made = (
        Proposal(each, same, round(float(apart), 2), _more(unit_price(each), own))
        for each, same, apart in found
    )
    return tuple(
        each for each in made if not cheaper or (each.dearer is not None and each.dearer < 0)
    )


def substitute_for(piece: Piece, catalogue: Catalogue) -> Piece | None:
    """Return the piece most like another, or None where nothing is alike (see `proposals`)."""
    found = proposals(piece, catalogue)
    return found[0].piece if found else None


def _ranked(
    alike: Sequence[Piece], away: Floats, piece: Piece
) -> list[tuple[Piece, bool, np.float64]]:
    own = _finish_words(piece)
    rows = [
        (each, _finish_words(each) == own or bool(_finish_words(each) & own), apart)
        for each, apart in zip(alike, away, strict=True)
    ]

    def rank(
        row: tuple[Piece, bool, np.float64],
    ) -> tuple[bool, bool, bool, float, float, str]:
        each, same, apart = row
        exact = each.finish.casefold() == piece.finish.casefold()
        other_size = not _of_one_size(each, piece)
        return (
            *(not same, not exact, other_size),
            *(round(float(apart), 2), round(_size_share(each, piece), 4), each.code),
        )

    return sorted(rows, key=rank)


def _finish_words(piece: Piece) -> frozenset[str]:
    return frozenset(piece.finish.casefold().split())


def _size_share(one: Piece, other: Piece) -> float:
    pairs = ((one.length_mm, other.length_mm), (one.width_mm, other.width_mm))
    return max(abs(a.nominal - b.nominal) / b.nominal for a, b in pairs)


def _of_one_size(one: Piece, other: Piece) -> bool:
    """Tell whether each measure of a piece is one that the other may have."""
    pairs = ((one.length_mm, other.length_mm), (one.width_mm, other.width_mm))
    return all(
        b.min <= a.nominal <= b.max or abs(a.nominal - b.nominal) <= _ONE_SIZE * b.nominal
        for a, b in pairs
    )


def _more(one: Decimal | None, other: Decimal | None) -> Decimal | None:
    return None if one is None or other is None else one - other
