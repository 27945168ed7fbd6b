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
    stock
        Pieces that are there, by lot; '' is a lot that nobody knows.
    """

    code: str
    needed: int
    offers: tuple[Offer, ...]
    stock: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """One way to cover a demand, at the least cost of this way.

    Parameters
    ----------
    offers
        Those that belong together here: of one supplier, or one lot, as the rules say.
    wanted
        Pieces to buy, the rest being taken from stock.
    taken
        What is taken from stock, by lot.
    bought
        The cheapest of what is wanted.
    """

    offers: tuple[Offer, ...]
    wanted: int
    taken: tuple[tuple[str, int], ...]
    bought: Bought

    @property
    def from_stock(self) -> int:
        """Pieces taken from stock."""
        return sum(pieces for _, pieces in self.taken)

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

    Unless lots may mix, what is taken is of one lot: a stock that suffices alone, the smallest of
    those; else the one that goes with the lot bought, or the largest where that is not known.
    """
    alone = _alone(demand, rules)
    if alone is not None:
        return (Option((), 0, alone, Bought(())),)
    found = []
    for offers in _together(demand.offers, rules):
        taken = _beside(demand, {offer.lot for offer in offers if offer.lot}, rules)
        wanted = demand.needed - sum(pieces for _, pieces in taken)
        found.append(Option(offers, wanted, taken, cheapest_of(offers, wanted)))
    return tuple(found)


Taken = tuple[tuple[str, int], ...]


def _alone(demand: Demand, rules: Rules) -> Taken | None:
    """Return what is taken where stock suffices, else None."""
    enough = [each for each in demand.stock if each[1] >= demand.needed]
    if enough:
        lot, _ = min(enough, key=lambda each: (each[1], each[0]))
        return ((lot, demand.needed),)
    if rules.one_lot or sum(pieces for _, pieces in demand.stock) < demand.needed:
        return None
    return _largest_first(demand.stock, demand.needed)


def _beside(demand: Demand, bought: set[str], rules: Rules) -> Taken:
    """Return what is taken beside packs of these lots."""
    if not rules.one_lot:
        return _largest_first(demand.stock, demand.needed)
    fits = [each for each in demand.stock if not bought or not each[0] or each[0] in bought]
    if not fits:
        return ()
    # Of the lot that is bought if there is any, else the most that is of one lot.
    return (max(fits, key=lambda each: (each[0] in bought, each[1], each[0])),)


def _largest_first(stock: Sequence[tuple[str, int]], needed: int) -> Taken:
    taken: list[tuple[str, int]] = []
    for lot, pieces in sorted(stock, key=lambda each: (-each[1], each[0])):
        part = min(pieces, needed - sum(each for _, each in taken))
        if part > 0:
            taken.append((lot, part))
    return tuple(taken)


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
