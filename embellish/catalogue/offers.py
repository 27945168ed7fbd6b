"""Offers: packs as sold, what more of them cost, and the suppliers who send them."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from embellish.catalogue.fields import Money, Strict, Word
from embellish.errors import UnfitError

Tolerance = Annotated[float, Field(ge=0, lt=1)]


class Break(Strict):
    """From how many packs on each of them costs less: a price of its own, or a share off."""

    packs: Annotated[int, Field(ge=2, le=1_000_000)]
    price: Money | None = None
    off: Annotated[float, Field(gt=0, lt=1)] | None = None

    @model_validator(mode="after")
    def _one(self) -> Break:
        if (self.price is None) == (self.off is None):
            raise UnfitError(
                "a price break has a price of its own, or a share off",
                'Write { packs = 5, price = "0.95" }, or { packs = 5, off = 0.1 } for 10 % off.',
            )
        return self


class Sold(Strict):
    """How something is sold, whatever its price."""

    pieces: Annotated[int, Field(gt=0, le=100_000_000)]
    length_m: Annotated[float, Field(gt=0, le=100_000)] | None = None
    """Of what is sold by the length: how much is on the reel; its links then follow."""
    grams: Annotated[float, Field(gt=0, le=100_000)] | None = None
    """Of what is sold by weight; how many that is follows from the piece's ``per_gram``."""
    strands: Annotated[int, Field(ge=1, le=100_000)] | None = None
    """Of what is sold by the strand; how many that is follows from ``per_strand``."""
    breaks: tuple[Break, ...] = ()
    """What each pack costs where many are bought at once."""
    supplier: Word = ""
    """Who sells it; left out, the piece's supplier."""
    lot: Word = ""
    """The dye or making lot that is sent; left out, the piece's. Shades differ from lot to lot."""
    count_tolerance: Tolerance | None = None
    """How short this pack may be, as a share of its count; left out, as the piece says."""
    invented: bool = False
    """True for the example prices of a shipped catalogue: nobody sells at them."""


class Pack(Sold):
    """A pack as sold: how many pieces, and its price in the catalogue's currency."""

    price: Money

    @model_validator(mode="after")
    def _breaks_in_order(self) -> Pack:
        numbers = [each.packs for each in self.breaks]
        prices = [self.price, *(self._price_at(each) for each in self.breaks)]
        if numbers != sorted(set(numbers)):
            raise UnfitError(
                "the price breaks do not go up", "Write the one from the fewest packs first."
            )
        if any(more > less for less, more in pairwise(prices)):
            raise UnfitError(
                "a price break makes the pack dearer", "Write the one from the fewest packs first."
            )
        return self

    def _price_at(self, step: Break) -> Decimal:
        if step.off is None:
            return step.price or Decimal(0)
        return self.price * (1 - Decimal(str(step.off)))

    @property
    def amount(self) -> str:
        """What it is sold by: '10 m', '5 g', '2 strands'; '' for a number of pieces."""
        if self.length_m is not None:
            return f"{self.length_m:g} m"
        if self.grams is not None:
            return f"{self.grams:g} g"
        if self.strands is not None:
            return f"{self.strands} strand" + ("s" if self.strands > 1 else "")
        return ""

    @property
    def tiers(self) -> tuple[tuple[int, Decimal], ...]:
        """From how many packs on, and what each costs then; the first from one pack on."""
        return ((1, self.price), *((each.packs, self._price_at(each)) for each in self.breaks))

    def price_of(self, number: int) -> Decimal:
        """Return what each of so many packs costs."""
        return next(price for least, price in reversed(self.tiers) if number >= least or least == 1)


class Supplier(Strict):
    """``[suppliers.NAME]``: what an order there takes beside its packs."""

    shipping: Money = Decimal(0)
    """Of one order."""
    free_from: Money | None = None
    """Packs of this value are sent for nothing."""
    least_order: Money = Decimal(0)
    """Packs of at least this value."""
