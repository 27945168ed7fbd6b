"""Sets of suppliers: what each takes at least is never more than what it takes."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from embellish.catalogue.offers import Supplier
from embellish.plans.buying.options import Demand, Option, Rules, options_of
from embellish.plans.buying.programme import _Programme, chosen_options
from embellish.plans.buying.supplier_sets import supplier_sets
from tests.plans.buying.test_buying import offer

NAMES = ("East", "North", "South")


def order(seed: int) -> tuple[list[tuple[Option, ...]], dict[str, Supplier]]:
    """Return an invented order of eight codes and three suppliers who want something each."""
    rng = np.random.default_rng(seed)

    def money(least: float, most: float) -> Decimal:
        return Decimal(f"{rng.uniform(least, most):.2f}")

    suppliers = {
        name: Supplier(shipping=money(2, 9), free_from=money(10, 90), least_order=money(0, 40))
        for name in NAMES
    }
    options = []
    for code in range(8):
        offers = tuple(
            offer(pieces, f"{pieces * rng.uniform(0.02, 0.03):.2f}", name)
            for name in NAMES
            if name == "North" or rng.random() < 0.6
            for pieces in (50, 300)
        )
        demand = Demand(f"C{code}", int(rng.integers(20, 900)), offers)
        options.append(options_of(demand, Rules()))
    return options, suppliers


@pytest.mark.parametrize("seed", range(12))
def test_no_purchase_from_a_set_is_cheaper_than_its_bound(seed: int):
    options, suppliers = order(seed)
    bounds = dict(supplier_sets(options, suppliers).bounds)
    assert frozenset(NAMES) in bounds
    assert frozenset() not in bounds
    met: list[frozenset[str]] = []
    while (found := chosen_options(options, suppliers, without=met)) is not None:
        assert float(found.cost) >= bounds[found.suppliers] - 1e-6
        assert found.suppliers not in met
        met.append(found.suppliers)
    assert set(met) <= set(bounds)
    assert len(met) > 1


@pytest.mark.parametrize("seed", range(12))
def test_set_by_set_is_as_cheap_as_the_programme_of_all(seed: int):
    options, suppliers = order(seed)
    found = chosen_options(options, suppliers)
    whole = _Programme(options, suppliers).solved((), 0.0)
    assert found is not None
    assert whole is not None
    assert found.proven
    assert whole.proven
    assert abs(found.cost - whole.cost) < Decimal("0.005")
    assert chosen_options(options, suppliers) == found


def test_what_must_be_bought_anyway_counts_in_the_bound():
    options = [options_of(Demand("A", 10, (offer(10, "1.00"),)), Rules())]
    rule = Supplier(shipping=Decimal(3), free_from=Decimal(9), least_order=Decimal(5))
    ((names, least),) = supplier_sets(options, {"North": rule}).bounds
    assert names == {"North"}
    assert least == pytest.approx(
        8.0
    )  # the least order and its sending, less than 9 sent for nothing
