"""Packs: worked examples of the trade.

Sources: a gross is 144 pieces, a dozen dozen; "A Factory Pack contains 1440 pieces"
(rhinestonedepot.com FAQ); counted by weight, 2-3 stones over or under in a gross
(rhinestonebiz.com/t-faq.aspx); stones needed / 144, rounded up (blog.rhinestonesu.com estimating
guide). The sums are arithmetic on these.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.shipped import shipped
from embellish.plans.buying.packs import cheapest, enough_to_buy
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialLine, plan_materials
from tests.plans.seats import layout_of, stone


def bought(count: int, share: str, tolerance: float, *packs: tuple[int, str]) -> MaterialLine:
    piece = stone("A", *packs, count_tolerance=tolerance)
    catalogue = Catalogue("x", {"A": piece}, {}, currency="USD")
    rules = MaterialSettings(spare_share=Decimal(share), spare_least=0)
    (line,) = plan_materials(layout_of([piece], [0] * count), 1, catalogue, rules).lines
    return line


def test_1350_stones_and_5_percent_are_ten_gross():
    line = bought(1350, "0.05", 0.0, (144, "1.10"))
    assert (line.count, line.spare, line.needed) == (1350, 68, 1418)
    assert [(pack.pieces, pack.quantity) for pack in line.packs] == [(144, 10)]


def test_with_gross_counts_2_percent_short_they_are_eleven():
    # Ten gross may hold only 0.98 × 1440 = 1411 pieces.
    line = bought(1350, "0.05", 0.02, (144, "1.10"))
    assert [(pack.pieces, pack.quantity) for pack in line.packs] == [(144, 11)]
    assert enough_to_buy(1411, 0.02) == 1440
    assert enough_to_buy(1412, 0.02) > 1440


def test_1300_stones_are_one_factory_pack_and_not_ten_gross():
    line = bought(1300, "0", 0.0, (144, "1.10"), (1440, "8.50"))
    assert [(pack.pieces, pack.quantity) for pack in line.packs] == [(1440, 1)]
    assert line.cost == Decimal("8.50")
    alone = bought(1300, "0", 0.0, (144, "1.10"))
    assert (alone.packs[0].quantity, alone.cost) == (10, Decimal("11.00"))


def test_150_stones_are_two_gross():
    line = bought(150, "0", 0.0, (144, "1.10"), (1440, "8.50"))
    assert [(pack.pieces, pack.quantity) for pack in line.packs] == [(144, 2)]
    assert line.cost == Decimal("2.20")


def test_by_the_gross_alone_it_is_divide_by_144_and_round_up():
    packs = stone("A", (144, "1.10")).packs
    for needed in (1, 143, 144, 145, 288, 1000, 14401):
        ((_, number),) = cheapest(packs, needed).packs
        assert number == -(-needed // 144)


def test_shipped_packs_of_stones_are_gross_and_factory_packs():
    sold = {pack.pieces for piece in shipped("stones").pieces.values() for pack in piece.packs}
    # 720 and 288 for large sizes are from memory; a gross and a factory pack are the FAQ's.
    assert {144, 1440} <= sold <= {144, 288, 720, 1440}
    assert all(pieces % 144 == 0 for pieces in sold)


@pytest.mark.parametrize("gross", [1, 10, 11])
def test_shipped_stones_are_enough_though_each_gross_is_three_short(gross):
    # rhinestonebiz.com/t-faq.aspx: 2-3 stones over or under in a gross.
    piece = shipped("stones").piece("R-SS40-CLEAR")
    catalogue = Catalogue("x", {piece.code: piece}, {}, currency="EUR")
    rules = MaterialSettings(spare_share=Decimal(0), spare_least=0)

    def packs(count: int) -> int:
        (line,) = plan_materials(layout_of([piece], [0] * count), 1, catalogue, rules).lines
        return sum(pack.quantity for pack in line.packs)

    assert packs(141 * gross) == gross
    assert packs(141 * gross + 1) == gross + 1


def test_tubes_of_seed_beads_hold_what_their_weight_gives():
    # Tubes of 20-28 g (11/0 to 6/0), 9-12 g (15/0), and beads per gram: estherbeadwork.blogspot.com
    # 2013/10.
    per_gram = {"15": 271.5, "11": 105.0, "8": 34.7, "6": 15.0}
    for size, beads in per_gram.items():
        low, high = (9, 12) if size == "15" else (20, 28)
        packs = shipped("beads").piece(f"B-{size}-CLEAR").packs
        assert packs
        for pack in packs:
            assert 0.99 * low * beads <= pack.pieces <= 1.01 * high * beads
