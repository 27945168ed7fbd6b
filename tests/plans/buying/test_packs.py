"""The cheapest packs: against every set there is, on small cases."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from embellish.catalogue.offers import Pack
from embellish.plans.buying import packs as module
from embellish.plans.buying.packs import cheapest, enough_to_buy


def sold(*rows: tuple[int, str]) -> list[Pack]:
    return [Pack(pieces=pieces, price=Decimal(price)) for pieces, price in rows]


def key(chosen: Iterable[tuple[Pack, int]]) -> tuple[Decimal, int, int]:
    """Cost, pieces, packs: what is least, in this order."""
    chosen = list(chosen)
    return (
        sum((pack.price * number for pack, number in chosen), Decimal(0)),
        sum(pack.pieces * number for pack, number in chosen),
        sum(number for _, number in chosen),
    )


def by_trying_all(packs: list[Pack], demand: int) -> tuple[Decimal, int, int]:
    ranges = [range(-(-demand // pack.pieces) + 1) for pack in packs]
    return min(
        key(list(zip(packs, numbers, strict=True)))
        for numbers in itertools.product(*ranges)
        if sum(pack.pieces * n for pack, n in zip(packs, numbers, strict=True)) >= demand
    )


small_packs = st.lists(
    st.builds(
        Pack,
        pieces=st.integers(1, 30),
        price=st.integers(0, 400).map(lambda cents: Decimal(cents) / 100),
    ),
    min_size=1,
    max_size=3,
)


@settings(max_examples=80, deadline=None)
@given(small_packs, st.integers(1, 60))
@example(sold((10, "1.00"), (10, "0.90"), (7, "0.90")), 20)
@example(sold((3, "0"), (5, "0")), 7)
def test_no_set_of_packs_is_cheaper(packs, demand):
    choice = cheapest(packs, demand)
    assert choice.proven
    assert key(choice.packs) == by_trying_all(packs, demand)


@settings(max_examples=40, deadline=None)
@given(small_packs, st.integers(1, 400), st.sampled_from([0.0, 0.02, 0.1, 0.5]))
def test_never_short_even_when_every_pack_is_short(packs, wanted, tolerance):
    choice = cheapest(packs, enough_to_buy(wanted, tolerance))
    bought = sum(pack.pieces * number for pack, number in choice.packs)
    assert bought * (1 - Decimal(str(tolerance))) >= wanted


@settings(max_examples=40, deadline=None)
@given(small_packs, st.integers(100, 3000))
def test_a_large_demand_is_brought_down_to_the_same_cost(packs, demand):
    # The plain recurrence, written without the reduction: least cost to hold at least d.
    best = [Decimal(0)]
    for d in range(1, demand + 1):
        best.append(min(best[max(0, d - pack.pieces)] + pack.price for pack in packs))
    assert key(cheapest(packs, demand).packs)[0] == best[demand]


@settings(max_examples=30, deadline=None)
@given(small_packs, st.integers(1, 200), st.randoms(use_true_random=False))
def test_the_order_packs_are_listed_in_does_not_matter(packs, demand, random):
    distinct = list({pack.pieces: pack for pack in packs}.values())
    shuffled = random.sample(distinct, len(distinct))
    assert cheapest(distinct, demand) == cheapest(shuffled, demand)


def test_nothing_wanted_is_nothing_bought():
    assert cheapest([], 0).packs == ()


def test_fewest_left_over_among_the_cheapest_then_fewest_packs():
    # 12 + 12 and 20 + 4 both cost 2.00 for 24; so does 30, with more left over.
    packs = sold((30, "2.00"), (20, "1.50"), (12, "1.00"), (4, "0.50"))
    assert key(cheapest(packs, 23).packs) == (Decimal("2.00"), 24, 2)


def test_a_demand_of_a_billion_is_exact_and_quick():
    packs = sold((1440, "8.50"), (144, "1.10"))
    choice = cheapest(packs, 10**9)
    # 694444 factory packs hold 999999360; 640 more are 5 gross at 5.50, cheaper than 8.50.
    assert choice.proven
    assert [(pack.pieces, number) for pack, number in choice.packs] == [(1440, 694444), (144, 5)]


def test_beyond_the_largest_table_it_is_enough_and_says_it_is_not_proven(monkeypatch):
    monkeypatch.setattr(module, "CELLS", 4000)
    packs = sold((997, "9.97"), (991, "9.90"))
    choice = cheapest(packs, 500_000)
    assert not choice.proven
    assert sum(pack.pieces * number for pack, number in choice.packs) >= 500_000


def test_prices_too_long_for_machine_integers_are_still_exact():
    packs = sold((7, "100000000.000001"), (5, "71428571.428572"))
    assert key(cheapest(packs, 1400).packs) == key(
        min(
            (
                [(packs[0], a), (packs[1], b)]
                for a in range(201)
                for b in range(281)
                if 7 * a + 5 * b >= 1400
            ),
            key=key,
        )
    )


@pytest.mark.parametrize(("wanted", "tolerance", "bought"), [(98, 0.02, 100), (99, 0.02, 102)])
def test_tolerance_is_exact_in_decimal(wanted, tolerance, bought):
    assert enough_to_buy(wanted, tolerance) == bought
