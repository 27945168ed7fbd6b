"""The ways in which one code can be bought: from whom, of which lot, beside which stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import Final

from embellish.plans.buying.offers import Offer
from embellish.plans.buying.one_code import Bought, cheapest_of
from embellish.plans.money import total

_MIXED: Final = 5
"""Up to so many suppliers every mixture of them is tried."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What must hold of a purchase.

    Parameters
    ----------
    one_supplier, one_lot
        Whether all of a code comes from one supplier, and of one lot: shades differ.
    """

    one_supplier: bool = True
    one_lot: bool = True


@dataclass(frozen=True, slots=True)
class Demand:
    """What is needed of one code.

    Parameters
    ----------
    needed
        Pieces that must be there at the end.
    offers
        What can be bought.
    stock, stock_lot
        Pieces that are there, and their lot where it is known.
    """

    code: str
    needed: int
    offers: tuple[Offer, ...]
    stock: int = 0
    stock_lot: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to cover a demand, at the least cost of this way.

    Parameters
    ----------
    offers
        Those that belong together here: of one supplier, or one lot, as the rules say.
    wanted
        Pieces to buy, the rest being taken from stock.
    bought
        The cheapest of them.
    """

    offers: tuple[Offer, ...]
    wanted: int
    from_stock: int
    bought: Bought

    @property
    def suppliers(self) -> tuple[str, ...]:
        """Return those that are bought from."""
        return tuple(sorted({each.offer.supplier for each in self.bought.purchases}))

    def value_at(self, supplier: str) -> Decimal:
        """Return what is bought there."""
        parts = self.bought.purchases
        return total(each.cost for each in parts if each.offer.supplier == supplier)


def options_of(demand: Demand, rules: Rules) -> tuple[Option, ...]:
    """Return every way, by supplier and lot; none where a demand cannot be covered.

    Stock of a known lot is kept apart from a bought lot that is known to be another, unless lots
    may mix: such packs are bought for all of the need.
    """
    if demand.stock >= demand.needed:
        return (Option((), 0, demand.needed, Bought(())),)
    found = []
    for offers in _together(demand.offers, rules):
        lots = {offer.lot for offer in offers if offer.lot}
        apart = rules.one_lot and demand.stock_lot and lots - {demand.stock_lot}
        stock = 0 if apart else demand.stock
        wanted = demand.needed - stock
        found.append(Option(offers, wanted, stock, cheapest_of(offers, wanted)))
    return tuple(found)


def _together(offers: Sequence[Offer], rules: Rules) -> Iterator[tuple[Offer, ...]]:
    """Yield the sets of offers out of which one code may be bought."""
    if rules.one_supplier or rules.one_lot:
        sets: dict[tuple[str, str], list[Offer]] = {}
        for offer in offers:
            supplier = offer.supplier
            sets.setdefault((supplier, offer.lot if rules.one_lot else ""), []).append(offer)
        if not rules.one_supplier:
            # The same named lot is the same from whomever it comes.
            for lot in sorted({offer.lot for offer in offers if offer.lot}):
                alike = [offer for offer in offers if offer.lot == lot]
                if len({offer.supplier for offer in alike}) > 1:
                    sets["", lot] = alike
        yield from (tuple(each) for each in sets.values())
        return
    suppliers = sorted({offer.supplier for offer in offers})
    sizes = range(1, len(suppliers) + 1) if len(suppliers) <= _MIXED else (1, len(suppliers))
    for size in sizes:
        for chosen in combinations(suppliers, size):
            yield tuple(offer for offer in offers if offer.supplier in chosen)
