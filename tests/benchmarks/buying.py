"""How long buying for a large order takes: many codes, several suppliers, packs and price breaks.

Run ``python -m tests.benchmarks buying``. Each order is of 100 jobs with four codes each out of a
catalogue of 10 000, every number invented and fixed by its seed. Told of each: the seconds until it
is bought for sure within one hundredth of the cheapest, and until it is proven the cheapest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import product

import numpy as np

from embellish.catalogue.offers import Break, Pack, Supplier
from embellish.plans.buying.buying import buy
from embellish.plans.buying.offers import Offer
from embellish.plans.buying.one_code import cheapest_of
from embellish.plans.buying.options import Demand, Rules, options_of
from embellish.plans.buying.programme import Chosen, chosen_options
from tests.benchmarks.yardstick import seconds, tell

NAMES = ("Harbour", "Hillside", "Mill", "North")
WITHIN = 0.01


def _money(amount: str) -> Decimal:
    return Decimal(amount)


SUPPLIERS = {
    "Harbour": Supplier(shipping=_money("6.90"), free_from=_money("900")),
    "Hillside": Supplier(shipping=_money("4.50"), least_order=_money("250")),
    "Mill": Supplier(shipping=_money("9.00"), free_from=_money("500"), least_order=_money("100")),
    "North": Supplier(shipping=_money("12.00")),
}
CLOSE = {
    "Harbour": Supplier(shipping=_money("30"), free_from=_money("1500")),
    "Hillside": Supplier(
        shipping=_money("30"), free_from=_money("1500"), least_order=_money("700")
    ),
    "Mill": Supplier(shipping=_money("30"), free_from=_money("1500"), least_order=_money("700")),
    "North": Supplier(shipping=_money("30"), free_from=_money("1500"), least_order=_money("700")),
}
"""Each nearly as good as the other, and what each wants is hard to reach: little to go by."""


def _demands(*, apart: float = 1.0, lots: Sequence[str] = ("",)) -> list[Demand]:
    """Return an order's demands; ``apart`` is how far the suppliers' prices lie apart."""
    rng = np.random.default_rng(11)
    counts: dict[int, int] = {}
    for _ in range(100):
        for code in rng.integers(0, 10_000, 4).tolist():
            counts[code] = counts.get(code, 0) + int(rng.integers(20, 4_000))
    demands = []
    for code, number in counts.items():
        offers = []
        usual = float(rng.uniform(0.006, 0.012))
        for name, lot in product(NAMES, lots):
            if rng.random() < 0.25:
                continue
            each = usual + apart * (float(rng.uniform(0.006, 0.012)) - usual)
            for pieces, dearer in ((144, 1.0), (720, 0.92), (1440, 0.85)):
                price = Decimal(f"{each * pieces * dearer:.2f}")
                breaks = (Break(packs=10, off=0.1),) if pieces == 144 else ()
                pack = Pack(pieces=pieces, price=price, breaks=breaks)
                offers.append(Offer(pack, name, lot, 0.02))
        if offers:
            demands.append(Demand(f"C{code}", number, tuple(offers)))
    return demands


def _told(
    name: str, demands: Sequence[Demand], suppliers: Mapping[str, Supplier], rules: Rules
) -> None:
    """Tell how soon an order is bought within a hundredth, and how soon it is proven."""
    found: list[Chosen | None] = []

    def solve(share: float) -> None:
        options = [options_of(each, rules) for each in demands]
        found.append(chosen_options(options, suppliers, within_share=share))

    near = seconds(lambda: solve(WITHIN), 1)
    tell(f"buy {name}, within 1 %", near, 5.0, "s")
    proven = seconds(lambda: solve(0.0), 1)
    tell(f"buy {name}, proven", proven, 60.0, "s")
    rough, best = found
    assert rough is not None
    assert best is not None
    tell(
        f"buy {name}, within 1 %: over the cheapest",
        float(rough.cost / best.cost - 1) * 100,
        1.0,
        "%",
    )
    tell(f"buy {name}, left unproven", best.gap_share * 100 if not best.proven else 0.0, 0.0, "%")


def large_order() -> None:
    """One supplier a code, as is usual."""
    demands = _demands()
    _told(f"{len(demands)} codes of 4 suppliers", demands, SUPPLIERS, Rules())


def close_order() -> None:
    """Suppliers of nearly the same prices, each with much to reach before it sends for nothing."""
    demands = _demands(apart=0.05)
    _told("the same, prices within 5 %", demands, CLOSE, Rules())


def order_of_lots() -> None:
    """Each code in three lots, of which one must be chosen."""
    demands = _demands(lots=("1", "2", "3"))
    _told("the same in three lots", demands, SUPPLIERS, Rules())


def mixed_order() -> None:
    """Each code from any suppliers and lots together."""
    demands = _demands()
    _told("the same, suppliers mixed", demands, SUPPLIERS, Rules(one_supplier=False, one_lot=False))


def beside_each_alone() -> None:
    """All of it, the next-cheapest with it, against the cheapest packs of each code alone."""
    demands = _demands()
    alone = seconds(lambda: [cheapest_of(demand.offers, demand.needed) for demand in demands])
    took = seconds(lambda: buy(demands, SUPPLIERS))
    tell("buy, with the next-cheapest", took / alone, 60.0, "× each code alone")


BENCHMARKS = (large_order, close_order, order_of_lots, mixed_order, beside_each_alone)
