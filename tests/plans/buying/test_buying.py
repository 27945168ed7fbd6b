"""What is bought is the cheapest that keeps the rules, against trying everything."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.offers import Break, Pack, Supplier
from embellish.plans.buying.buying import Buying, buy
from embellish.plans.buying.offers import Offer, Purchase
from embellish.plans.buying.one_code import Bought, cheapest_of, next_cheapest_of
from embellish.plans.buying.options import Demand, Rules, options_of
from embellish.plans.buying.packs import cheapest, enough_to_buy
from embellish.plans.buying.programme import chosen_options

FREE = Supplier()


def offer(
    pieces: int,
    price: str,
    supplier: str = "North",
    *,
    lot: str = "",
    breaks: Sequence[tuple[int, str]] = (),
    tolerance: float = 0.0,
) -> Offer:
    steps = tuple(Break(packs=packs, price=Decimal(each)) for packs, each in breaks)
    return Offer(Pack(pieces=pieces, price=Decimal(price), breaks=steps), supplier, lot, tolerance)


def said(bought: Bought) -> list[tuple[int, int]]:
    return [(each.offer.pack.pieces, each.number) for each in bought.purchases]


def covers(offers: Sequence[Offer], wanted: int, most: int) -> Iterator[tuple[Purchase, ...]]:
    for numbers in product(range(most + 1), repeat=len(offers)):
        parts = tuple(Purchase(o, n) for o, n in zip(offers, numbers, strict=True) if n)
        short = max((part.offer.tolerance for part in parts), default=0.0)
        if sum(part.pieces for part in parts) >= enough_to_buy(wanted, short):
            yield parts


def by_trying_all(
    demands: Sequence[Demand], suppliers: dict[str, Supplier], rules: Rules, most: int
) -> Decimal | None:
    """Cost of the best purchase with at most so many packs of each offer."""
    every = []
    for demand in demands:
        ((stock_lot, there),) = demand.stock
        ways: list[tuple[Purchase, ...]] = [()] if there >= demand.needed else []
        for stock in {0, there} if not ways else set():
            for parts in covers(demand.offers, demand.needed - stock, most):
                lots = {part.offer.lot for part in parts if part.offer.lot}
                if stock and stock_lot and parts:
                    lots |= {stock_lot}
                groups = {(part.offer.supplier, part.offer.lot) for part in parts}
                if rules.one_supplier and len({name for name, _ in groups}) > 1:
                    continue
                if rules.one_lot and (len(lots) > 1 or len(groups) > 1):
                    continue
                ways.append(parts)
        every.append(ways)
    best: Decimal | None = None
    for choice in product(*every):
        cost = Decimal(0)
        for name in {part.offer.supplier for parts in choice for part in parts}:
            rule = suppliers.get(name, FREE)
            value = sum(
                (part.cost for parts in choice for part in parts if part.offer.supplier == name),
                Decimal(0),
            )
            if value < rule.least_order:
                break
            free = rule.free_from is not None and value >= rule.free_from
            cost += value + (0 if free else rule.shipping)
        else:
            best = cost if best is None else min(best, cost)
    return best


def holds(demands: Sequence[Demand], suppliers: dict[str, Supplier], found: Buying) -> None:
    """Never short, the sum right, every rule kept."""
    for demand in demands:
        option = found.lines[demand.code]
        parts = option.bought.purchases
        short = max((part.offer.tolerance for part in parts), default=0.0)
        assert option.bought.pieces >= enough_to_buy(demand.needed - option.from_stock, short)
        assert option.from_stock <= sum(pieces for _, pieces in demand.stock)
    for name, shipping in found.shipping.items():
        value = sum((option.value_at(name) for option in found.lines.values()), Decimal(0))
        rule = suppliers.get(name, FREE)
        assert value >= rule.least_order
        assert shipping == (
            0 if rule.free_from is not None and value >= rule.free_from else rule.shipping
        )


money = st.integers(1, 12).map(lambda cents: Decimal(cents) / 4)


@st.composite
def orders(draw: st.DrawFn) -> tuple[list[Demand], dict[str, Supplier], Rules]:
    names = ["North", "South"]
    suppliers = {
        name: Supplier(
            shipping=draw(st.sampled_from([Decimal(0), Decimal(1), Decimal("2.5")])),
            free_from=draw(st.sampled_from([None, Decimal(3), Decimal(6)])),
            least_order=draw(st.sampled_from([Decimal(0), Decimal(2), Decimal(5)])),
        )
        for name in names
    }
    demands = []
    for code in range(draw(st.integers(1, 2))):
        offers = []
        for _ in range(draw(st.integers(1, 3))):
            price = draw(money)
            breaks = (Break(packs=2, price=price * Decimal("0.75")),) * draw(st.integers(0, 1))
            pack = Pack(pieces=draw(st.integers(1, 6)), price=price, breaks=breaks)
            offers.append(Offer(pack, draw(st.sampled_from(names)), draw(st.sampled_from("ab")), 0))
        demands.append(
            Demand(
                str(code),
                draw(st.integers(1, 6)),
                tuple(offers),
                ((draw(st.sampled_from(["", "a"])), draw(st.integers(0, 4))),),
            )
        )
    one_lot = draw(st.booleans())
    return demands, suppliers, Rules(one_supplier=one_lot or draw(st.booleans()), one_lot=one_lot)


@settings(max_examples=150, deadline=None)
@given(orders())
def test_as_by_trying_all(order: tuple[list[Demand], dict[str, Supplier], Rules]):
    demands, suppliers, rules = order
    found = buy(demands, suppliers, rules)
    holds(demands, suppliers, found)
    best = by_trying_all(demands, suppliers, rules, 5)
    assert found.proven
    # Beyond five packs of each nothing was tried.
    assert best is None or found.cost <= best
    parts = [part for option in found.lines.values() for part in option.bought.purchases]
    if all(part.number <= 5 for part in parts):
        assert found.cost == best


def test_one_supplier_without_rules_is_the_plain_problem():
    packs = [(144, "1.10"), (1440, "8.50"), (10, "0.20")]
    offers = [offer(*each) for each in packs]
    for wanted in (1, 9, 150, 1300, 1400, 5000):
        plain = cheapest([each.pack for each in offers], wanted)
        assert said(cheapest_of(offers, wanted)) == [(p.pieces, n) for p, n in plain.packs]


def test_a_price_break_is_reached_where_more_costs_less():
    offers = [offer(10, "1.00", breaks=[(5, "0.70")])]
    assert said(cheapest_of(offers, 40)) == [(10, 5)]  # 3.50 instead of 4.00
    assert said(cheapest_of(offers, 30)) == [(10, 3)]
    assert said(cheapest_of(offers, 61)) == [(10, 7)]


def test_the_next_cheapest_is_another_set():
    offers = [offer(144, "1.10"), offer(1440, "8.50")]
    assert said(cheapest_of(offers, 1300)) == [(1440, 1)]
    other = next_cheapest_of(offers, 1300)
    assert other is not None
    assert said(other) == [(1440, 1), (144, 1)]
    single = next_cheapest_of(offers, 100)
    assert single is not None
    assert said(single) == [(144, 2)]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 6), money, st.booleans()), min_size=1, max_size=3),
    st.integers(1, 6),
)
def test_the_next_cheapest_by_trying_all(packs: list[tuple[int, Decimal, bool]], wanted: int):
    offers = [
        offer(n, str(price), breaks=[(2, str(price / 2))] if falls else [])
        for n, price, falls in packs
    ]
    best = cheapest_of(offers, wanted)
    key = {id(part.offer): part.number for part in best.purchases}
    others = [
        sum((part.cost for part in parts), Decimal(0))
        for parts in covers(offers, wanted, 10)
        if {id(part.offer): part.number for part in parts} != key
    ]
    other = next_cheapest_of(offers, wanted)
    assert other is not None
    assert other.cost == min(others)


def test_shipping_brings_all_to_one_supplier():
    demands = [
        Demand("A", 100, (offer(100, "2.00", "North"), offer(100, "2.20", "South"))),
        Demand("B", 100, (offer(100, "3.00", "North"), offer(100, "2.90", "South"))),
    ]
    suppliers = {"North": Supplier(shipping=Decimal(4)), "South": Supplier(shipping=Decimal(4))}
    found = buy(demands, suppliers)
    assert (found.cost, dict(found.shipping)) == (Decimal("9.00"), {"North": Decimal(4)})
    assert found.instead is not None
    assert (found.instead.suppliers, found.instead.cost) == (("South",), Decimal("9.10"))
    assert buy(demands, {}).cost == Decimal("4.90")


def test_more_is_bought_where_that_saves_the_shipping():
    demands = [Demand("A", 90, (offer(100, "9.00"),))]
    suppliers = {"North": Supplier(shipping=Decimal(10), free_from=Decimal(18))}
    found = buy(demands, suppliers)
    assert (found.cost, said(found.lines["A"].bought)) == (Decimal(18), [(100, 2)])
    dear = {"North": Supplier(shipping=Decimal(8), free_from=Decimal(18))}
    assert buy(demands, dear).cost == Decimal(17)


def test_a_least_order_is_reached_with_whole_packs():
    demands = [Demand("A", 10, (offer(10, "1.00"), offer(100, "6.00")))]
    found = buy(demands, {"North": Supplier(least_order=Decimal(5))})
    assert said(found.lines["A"].bought) == [(10, 5)]
    assert found.cost == Decimal(5)


def test_ever_so_many_small_packs_may_reach_what_a_supplier_wants():
    demands = [Demand("A", 10, (offer(10, "0.01"),))]
    free = buy(demands, {"North": Supplier(shipping=Decimal(300), free_from=Decimal(200))})
    assert (free.cost, free.proven, said(free.lines["A"].bought)) == (
        Decimal(200),
        True,
        [(10, 20_000)],
    )
    least = buy(demands, {"North": Supplier(least_order=Decimal(200))})
    assert (least.cost, least.proven) == (Decimal(200), True)
    dear = buy(demands, {"North": Supplier(shipping=Decimal(199), free_from=Decimal(200))})
    assert (dear.cost, dear.proven) == (Decimal("199.01"), True)


def test_packs_for_nothing_reach_no_value_and_others_beside_them_do():
    gift, sold = offer(10, "0.00"), offer(10, "1.50")
    found = buy(
        [Demand("A", 25, (gift,)), Demand("B", 10, (sold,))],
        {"North": Supplier(least_order=Decimal(4))},
    )
    assert (found.cost, found.proven) == (Decimal("4.50"), True)
    assert said(found.lines["A"].bought) == [(10, 3)]


def test_within_a_share_it_is_told_how_much_cheaper_it_could_be():
    offers = [
        (offer(7, "0.70"), offer(50, "4.40"), offer(9, "1.00", "South"), offer(60, "4.70", "South"))
        for _ in range(12)
    ]
    suppliers = {
        "North": Supplier(shipping=Decimal(9), free_from=Decimal(40)),
        "South": Supplier(shipping=Decimal(4), least_order=Decimal(33)),
    }
    options = [
        options_of(Demand(f"C{n}", 31 + 7 * n, each), Rules()) for n, each in enumerate(offers)
    ]
    best = chosen_options(options, suppliers)
    rough = chosen_options(options, suppliers, within_share=0.2)
    assert best is not None
    assert rough is not None
    assert (best.proven, best.gap_share) == (True, 0.0)
    assert best.cost <= rough.cost <= best.cost * Decimal("1.25")
    assert rough.proven == (rough.gap_share == 0.0)
    assert float(best.cost) >= float(rough.cost) * (1.0 - rough.gap_share) - 0.01


def test_a_lot_is_kept_apart_from_another():
    offers = (offer(100, "2.00", lot="7"), offer(100, "1.00", lot="8"), offer(50, "0.60", lot="8"))
    demand = Demand("A", 150, offers, stock=(("7", 100),))
    kept = buy([demand], {}).lines["A"]
    assert (kept.from_stock, said(kept.bought)) == (0, [(100, 1), (50, 1)])  # 1.60, all of lot 8
    mixed = buy([demand], {}, Rules(one_lot=False)).lines["A"]
    assert (mixed.from_stock, said(mixed.bought)) == (100, [(50, 1)])


def test_of_several_lots_one_is_taken_the_smallest_that_suffices():
    stock = (("1", 500), ("2", 120), ("3", 80))
    offers = (offer(100, "1.00", lot="3"),)
    assert buy([Demand("A", 100, offers, stock)], {}).lines["A"].taken == (("2", 100),)
    few = Demand("A", 600, offers, stock)
    assert buy([few], {}).lines["A"].taken == (("3", 80),)
    assert buy([few], {}, Rules(one_lot=False)).lines["A"].taken == (("1", 500), ("2", 100))
    unknown = Demand("A", 600, (offer(100, "1.00"),), stock)
    assert buy([unknown], {}).lines["A"].taken == (("1", 500),)


def test_one_supplier_a_code_unless_they_may_mix():
    offers = (offer(100, "2.00", "North"), offer(10, "0.10", "South"))
    demand = Demand("A", 105, offers)
    assert buy([demand], {}).cost == Decimal("1.10")
    assert buy([Demand("A", 105, (offers[0], offer(10, "0.30", "South")))], {}).cost == Decimal(
        "3.30"
    )
    mixed = buy(
        [Demand("A", 105, (offers[0], offer(10, "0.30", "South")))],
        {},
        Rules(one_supplier=False, one_lot=False),
    )
    assert mixed.cost == Decimal("2.30")


def test_packs_that_may_be_short_are_bought_for_the_worst():
    found = buy([Demand("A", 100, (offer(100, "1.00", tolerance=0.02),))], {})
    assert said(found.lines["A"].bought) == [(100, 2)]


def test_what_nobody_offers_is_left_out():
    assert buy([Demand("A", 5, ())], {}).lines == {}
    assert buy([Demand("A", 5, (), stock=(("", 7),))], {}).lines["A"].from_stock == 5
    assert buy([], {}).cost == 0
