"""The cheapest packs of one code, with prices that fall where many are bought.

A price break makes the price of an offer a step function of its number. For every choice of a step
for each offer (from so many packs on, each at that price) the packs that reach the step are taken
as bought and the rest is the plain problem of `packs`; the best of all choices is the answer, since
the true price of what was found is never above the one it was found with.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product as every_choice
from math import prod
from typing import Final, NamedTuple

from embellish.plans.buying.offers import Offer, Purchase
from embellish.plans.buying.packs import cheapest, enough_to_buy
from embellish.plans.money import total

_CHOICES: Final = 256
"""Beyond this many choices of steps the higher steps are left out, and nothing is proven."""


@dataclass(frozen=True, slots=True)
class Bought:
    """Packs of one code, most pieces first; ``proven`` where no cheaper ones exist for sure."""

    purchases: tuple[Purchase, ...]
    proven: bool = True

    @property
    def cost(self) -> Decimal:
        """Of all packs."""
        return total(each.cost for each in self.purchases)

    @property
    def pieces(self) -> int:
        """What the packs say they hold."""
        return sum(each.pieces for each in self.purchases)

    @property
    def rank(self) -> tuple[Decimal, int, int]:
        """What is compared: cost, pieces, packs."""
        return self.cost, self.pieces, sum(each.number for each in self.purchases)


NOTHING: Final = Bought(())


class _AtStep(NamedTuple):
    """A pack at the price of one of its steps."""

    pieces: int
    price: Decimal


def cheapest_of(offers: Sequence[Offer], wanted: int) -> Bought:
    """Return the cheapest packs that hold ``wanted`` pieces if every pack is short.

    Parameters
    ----------
    offers
        At least one if anything is wanted. Where their tolerances differ, each is taken to be as
        short as the shortest: enough for sure, but then it is not proven the cheapest.
    """
    if wanted <= 0:
        return NOTHING
    best = min(_found(offers, wanted), key=lambda each: each.rank)
    sure = len({offer.tolerance for offer in offers}) == 1
    return best if sure else Bought(best.purchases, proven=False)


def next_cheapest_of(offers: Sequence[Offer], wanted: int) -> Bought | None:
    """Return the cheapest other set of packs, or None where there is none.

    Another sufficient set has, at the same steps of price, more of some pack than the best of these
    steps: so one more of each is tried, with the rest bought anew.
    """
    if wanted <= 0:
        return None
    best = cheapest_of(offers, wanted)
    others: dict[tuple[tuple[int, int], ...], Bought] = {}
    for found in _found(offers, wanted):
        here = {id(each.offer): each.number for each in found.purchases}
        more = (
            _with(offers, wanted, k, here.get(id(offers[k]), 0) + 1) for k in range(len(offers))
        )
        for each in (found, *more):
            key = tuple(sorted((id(part.offer), part.number) for part in each.purchases))
            others.setdefault(key, each)
    others.pop(tuple(sorted((id(part.offer), part.number) for part in best.purchases)), None)
    return min(others.values(), key=lambda each: each.rank, default=None)


def _with(offers: Sequence[Offer], wanted: int, chosen: int, number: int) -> Bought:
    """Return the cheapest set with at least so many packs of one offer."""
    forced = [0] * len(offers)
    forced[chosen] = number
    return min(_found(offers, wanted, forced), key=lambda each: each.rank)


def _found(
    offers: Sequence[Offer], wanted: int, forced: Sequence[int] | None = None
) -> Iterator[Bought]:
    """Yield the best for every choice of steps, with at least ``forced`` packs of each offer."""
    demand = enough_to_buy(wanted, max(offer.tolerance for offer in offers))
    tiers = [offer.pack.tiers for offer in offers]
    proven = prod(map(len, tiers)) <= _CHOICES
    if not proven:
        tiers = [each[:1] for each in tiers]
    for steps in every_choice(*tiers):
        # The first step is from one pack on, and may also stand for none.
        base = [least if least > 1 else 0 for least, _ in steps]
        if forced is not None:
            base = [max(pair) for pair in zip(base, forced, strict=True)]
        rest = demand - sum(
            offer.pack.pieces * number for offer, number in zip(offers, base, strict=True)
        )
        priced = [
            _AtStep(offer.pack.pieces, price)
            for offer, (_, price) in zip(offers, steps, strict=True)
        ]
        choice = cheapest(priced, rest)
        place = {id(pack): index for index, pack in enumerate(priced)}
        for pack, number in choice.packs:
            base[place[id(pack)]] += number
        purchases = [
            Purchase(offer, number) for offer, number in zip(offers, base, strict=True) if number
        ]
        purchases.sort(key=lambda each: (-each.offer.pack.pieces, each.price))
        yield Bought(tuple(purchases), proven and choice.proven)
