"""Pieces found among many: by words, kind, size, fixing, stock, and nearness of colour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.catalogue import Catalogue, find
from embellish.catalogue.colour_difference import delta_e, lab_of_hex
from embellish.catalogue.piece import Fixing, Kind, Piece
from embellish.errors import CatalogueError
from embellish.formats.colours import colour_mend, hex_of
from embellish.formats.nearest import nearest


@dataclass(frozen=True)
class Wanted:
    """What is looked for; whatever is left empty does not matter."""

    words: str = ""
    kind: Kind | None = None
    fixing: Fixing | None = None
    least_mm: float = 0.0
    most_mm: float = float("inf")
    in_stock: bool = False
    near: str | None = None
    """A screen colour; the nearest come first."""
    most_each: Decimal | None = None
    """The highest price of one piece, from its cheapest pack; what has no price is left out."""


def wanted_of(
    words: str,
    kind: str,
    fixing: str,
    between_mm: tuple[float, float],
    near: str,
    *,
    in_stock: bool = False,
    most_each: Decimal | None = None,
) -> Wanted:
    """Return what is looked for, from words as a person gives them; empty ones do not matter.

    Raises
    ------
    CatalogueError
        For a kind, fixing or colour that there is not.
    """
    kinds, fixings = get_args(Kind), get_args(Fixing)
    for name, word, known in (("--kind", kind, kinds), ("--fixing", fixing, fixings)):
        if word and word not in known:
            raise CatalogueError(f"there is no '{word}'", item=name, mend=nearest(word, known))
    return Wanted(
        words,
        next((each for each in kinds if each == kind), None),
        next((each for each in fixings if each == fixing), None),
        *between_mm,
        in_stock,
        _hex(near) if near else None,
        most_each,
    )


def _hex(near: str) -> str:
    found = hex_of(near)
    if found is None:
        raise CatalogueError(f"'{near}' is no colour", item="--near", mend=colour_mend(near))
    return found


@dataclass(frozen=True)
class Found:
    """A piece that fits, and how different its colour is (CIEDE2000) where one was given."""

    piece: Piece
    delta_e: float | None


def found_pieces(catalogue: Catalogue, wanted: Wanted) -> tuple[Found, ...]:
    """Return the pieces that fit, in the catalogue's order, or the nearest in colour first."""
    pieces = [piece for piece in find(catalogue, wanted.words) if _fits(piece, wanted)]
    if wanted.near is None or not pieces:
        return tuple(Found(piece, None) for piece in pieces)
    away = colour_distances((piece.hex for piece in pieces), wanted.near)
    order = np.argsort(away, kind="stable").tolist()
    return tuple(Found(pieces[k], round(float(away[k]), 2)) for k in order)


def colour_distances(colours: Iterable[str], near: str) -> Floats:
    """Return how different each screen colour is from another (CIEDE2000), shape (n,)."""
    return delta_e(lab_of_hex(list(colours)), lab_of_hex([near]))


def _fits(piece: Piece, wanted: Wanted) -> bool:
    return (
        wanted.kind in (None, piece.kind)
        and wanted.fixing in (None, piece.fixing)
        and wanted.least_mm <= piece.length_mm.nominal <= wanted.most_mm
        and (not wanted.in_stock or piece.stock > 0)
        and (wanted.most_each is None or _costs_at_most(piece, wanted.most_each))
    )


def unit_price(piece: Piece) -> Decimal | None:
    """Return what one piece costs out of its cheapest pack, None where it has no price."""
    return min((pack.price / pack.pieces for pack in piece.packs), default=None)


def _costs_at_most(piece: Piece, most: Decimal) -> bool:
    each = unit_price(piece)
    return each is not None and each <= most
