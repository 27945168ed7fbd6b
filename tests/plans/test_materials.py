"""Materials: counts in full, spares, stock, packs, and what is not known is told."""

from __future__ import annotations

from decimal import Decimal
from math import ceil
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Member, Piece, Unit
from embellish.errors import CatalogueError
from embellish.plans.material_settings import MaterialSettings, Spare
from embellish.plans.materials import plan_materials
from embellish.plans.piece_counts import piece_counts
from tests.plans.seats import layout_of, stone

NONE = MaterialSettings(spare_share=Decimal(0), spare_least=0)


def catalogue_of(*pieces: Piece, currency: str = "EUR") -> Catalogue:
    return Catalogue("stock.toml", {piece.code: piece for piece in pieces}, {}, currency=currency)


A = stone("A", (144, "1.10"), (1440, "8.50"))
B = stone("B", (100, "0.995"))
PAIR = Unit(name="pair", members=(Member(piece="B"), Member(piece="A"), Member(piece="B")))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(0, 1), max_size=30),
    st.integers(0, 10),
    st.integers(1, 500),
    st.tuples(st.decimals(0, 1, places=3), st.integers(0, 20)),
    st.integers(0, 3000),
)
def test_the_sums_hold(seats, units, quantity, spare, stock):
    share, least = spare
    pieces = [A.model_copy(update={"stock": stock, "count_tolerance": 0.02}), B]
    layout = layout_of(pieces, seats, units=[PAIR], unit_seats=[0] * units)
    rules = MaterialSettings(spare_share=share, spare_least=least)
    plan = plan_materials(layout, quantity, catalogue_of(*pieces), rules)
    in_full = {"A": seats.count(0) + units, "B": seats.count(1) + 2 * units}
    assert {line.code: line.per_garment for line in plan.lines} == {
        code: number for code, number in in_full.items() if number
    }
    for line in plan.lines:
        assert line.count == line.per_garment * quantity
        assert line.spare == max(least, ceil(line.count * share))
        assert line.needed == line.count + line.spare
        assert line.from_stock == min(line.piece.stock, line.needed)
        bought = sum(pack.pieces * pack.quantity for pack in line.packs)
        short = Decimal(str(line.piece.count_tolerance))
        assert line.from_stock + bought * (1 - short) >= line.needed
        assert line.left_over == line.from_stock + bought - line.needed
        assert line.cost is not None
        assert abs(line.cost - sum(p.price * p.quantity for p in line.packs)) <= Decimal("0.005")
    assert plan.total == sum(line.cost or 0 for line in plan.lines)
    assert plan.findings == ()


def test_units_are_counted_member_by_member_even_where_no_member_stands_alone():
    layout = layout_of([A, B], [], units=[PAIR], unit_seats=[0, 0, 0])
    assert piece_counts(layout) == {"A": 3, "B": 6}


def test_a_member_that_nobody_knows_is_an_error():
    layout = layout_of([A, B], [], units=[PAIR], unit_seats=[0])
    lost = Unit(name="pair", members=(Member(piece="A"), Member(piece="GONE")))
    object.__setattr__(layout, "units", (lost,))
    with pytest.raises(CatalogueError, match="'GONE'"):
        plan_materials(layout, 1, catalogue_of(A, B))


def test_a_withdrawn_piece_is_still_counted_with_the_packs_it_had():
    plan = plan_materials(layout_of([A, B], [0, 1, 1]), 1, catalogue_of(A), NONE)
    assert [(line.code, line.count, line.cost) for line in plan.lines] == [
        ("A", 1, Decimal("1.10")),
        ("B", 2, Decimal("1.00")),
    ]


def test_prices_come_from_the_live_catalogue():
    live = stone("A", (10, "3.00"))
    plan = plan_materials(layout_of([A], [0] * 11), 1, catalogue_of(live), NONE)
    assert plan.lines[0].cost == Decimal("6.00")


def test_no_pack_is_told_and_the_cost_is_not_made_up():
    bare = stone("BARE")
    plan = plan_materials(layout_of([A, bare], [0, 1, 1]), 3, catalogue_of(A, bare), NONE)
    assert [line.cost for line in plan.lines] == [Decimal("1.10"), None]
    assert plan.total is None
    assert [(each.code, each.severity) for each in plan.findings] == [
        ("no-packs", "warning"),
        ("cost-unknown", "warning"),
    ]
    assert "BARE: 6 to buy" in plan.findings[0].message
    assert "1.10 EUR" in plan.findings[1].message


def test_stock_that_is_enough_needs_no_pack():
    bare = stone("BARE", stock=100)
    plan = plan_materials(layout_of([bare], [0] * 7), 2, catalogue_of(bare))
    (line,) = plan.lines
    assert (line.needed, line.from_stock, line.packs, line.cost) == (19, 19, (), Decimal(0))
    assert plan.findings == ()
    kept = MaterialSettings(use_stock=False)
    assert plan_materials(layout_of([bare], [0]), 1, catalogue_of(bare), kept).total is None


def test_invented_prices_are_told():
    packs = [{"pieces": 144, "price": "1.10", "invented": True}]
    shown = stone("SHOWN").model_copy(update={"packs": stone("X", packs=packs).packs})
    plan = plan_materials(layout_of([shown], [0]), 1, catalogue_of(shown))
    assert [each.code for each in plan.findings] == ["prices-invented"]
    assert "SHOWN" in plan.findings[0].message


def test_spares_go_by_kind_then_by_job_then_by_custom():
    rules = MaterialSettings(spare_least=3, by_kind={"bead": Spare(share=Decimal("0.5"), least=0)})
    assert rules.spare("bead").of(100) == 50
    assert rules.spare("stone").of(100) == 5
    assert rules.spare("stone").of(10) == 3
    assert rules.spare("sequin").of(100) == 10
    assert rules.spare("stone").of(0) == 0


def test_a_share_is_exact_in_decimal():
    # In binary floats 100 × 1.1 is a little above 110, which would round up to 111.
    assert Spare(share=Decimal("0.10"), least=0).of(100) == 10
    assert MaterialSettings.model_validate({"spare_share": 0.1}).spare("stone").of(1000) == 100


def test_settings_refuse_what_cannot_be():
    every: list[dict[str, Any]] = [
        {"spare_share": -1},
        {"spare_least": -1},
        {"spares": 1},
        {"by_kind": {"x": {}}},
    ]
    for wrong in every:
        with pytest.raises(ValidationError):
            MaterialSettings.model_validate(wrong)


def test_an_empty_layout_costs_nothing():
    plan = plan_materials(layout_of([A], []), 5, catalogue_of(A))
    assert (plan.lines, plan.total, plan.findings) == ((), Decimal(0), ())
