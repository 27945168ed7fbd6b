"""Offers of one code: who sells which pack of which lot, and how short it may be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from embellish.catalogue.offers import Pack
from embellish.catalogue.piece import Piece
from embellish.plans.money import product


@dataclass(frozen=True, slots=True)
class Offer:
    """A pack, with what it takes over from its piece."""

    pack: Pack
    supplier: str
    lot: str
    tolerance: float
    """How short the pack may be, as a share of its count."""


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many packs of one offer."""

    offer: Offer
    number: int

    @property
    def price(self) -> Decimal:
        """Of one pack, where so many are bought."""
        return self.offer.pack.price_of(self.number)

    @property
    def cost(self) -> Decimal:
        """Of all."""
        return product(self.price, self.number)

    @property
    def pieces(self) -> int:
        """What the packs say they hold."""
        return self.offer.pack.pieces * self.number


def offers_of(piece: Piece, suppliers: Iterable[str] = ()) -> tuple[Offer, ...]:
    """Return what is offered of a piece, of some suppliers alone where any are named."""
    only = set(suppliers)
    found = (
        Offer(
            pack,
            pack.supplier or piece.supplier,
            pack.lot or piece.lot,
            piece.count_tolerance if pack.count_tolerance is None else pack.count_tolerance,
        )
        for pack in piece.packs
    )
    return tuple(offer for offer in found if not only or offer.supplier in only)
