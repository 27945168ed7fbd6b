"""How long buying for a large order takes: many codes, several suppliers, packs and price breaks.

Run ``python -m tests.benchmarks buying``. An order of 100 jobs with four codes each out of a
catalogue of 10 000, every number invented and fixed by its seed.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from embellish.catalogue.offers import Break, Pack, Supplier
from embellish.plans.buying.buying import Buying, buy
from embellish.plans.buying.offers import Offer
from embellish.plans.buying.one_code import cheapest_of
from embellish.plans.buying.options import Demand
from tests.benchmarks.yardstick import seconds, tell

NAMES = ("Harbour", "Hillside", "Mill", "North")


def _demands() -> list[Demand]:
    rng = np.random.default_rng(11)
    counts: dict[int, int] = {}
    for _ in range(100):
        for code in rng.integers(0, 10_000, 4).tolist():
            counts[code] = counts.get(code, 0) + int(rng.integers(20, 4_000))
    demands = []
    for code, number in counts.items():
        offers = []
        for name in NAMES:
            if rng.random() < 0.25:
                continue
            each = float(rng.uniform(0.006, 0.012))
            for pieces, dearer in ((144, 1.0), (720, 0.92), (1440, 0.85)):
                price = Decimal(f"{each * pieces * dearer:.2f}")
                breaks = (Break(packs=10, off=0.1),) if pieces == 144 else ()
                pack = Pack(pieces=pieces, price=price, breaks=breaks)
                offers.append(Offer(pack, name, "", 0.02))
        if offers:
            demands.append(Demand(f"C{code}", number, tuple(offers)))
    return demands


def large_order() -> None:
    """Buying of all, against the cheapest packs of each code alone."""
    demands = _demands()
    money = Decimal
    suppliers = {
        "Harbour": Supplier(shipping=money("6.90"), free_from=money(900)),
        "Hillside": Supplier(shipping=money("4.50"), least_order=money(250)),
        "Mill": Supplier(shipping=money("9.00"), free_from=money(500), least_order=money(100)),
        "North": Supplier(shipping=money("12.00")),
    }
    alone = seconds(lambda: [cheapest_of(demand.offers, demand.needed) for demand in demands])
    found: list[Buying] = []
    took = seconds(lambda: found.append(buy(demands, suppliers)))
    tell(f"buy {len(demands)} codes of 4 suppliers", took / alone, 60.0, "× each code alone")
    tell("what could be saved at most", found[-1].gap_share * 100.0, 1.0, "%")
    tell("not proven", 0.0 if found[-1].proven else 1.0, 0.5, "orders")


BENCHMARKS = (large_order,)
