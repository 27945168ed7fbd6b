"""The quote adds up, says its rules, and gives no price it cannot stand by."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Member, Piece, Unit
from embellish.plans.goods import Good
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.price_settings import DEFAULT, PriceSettings
from embellish.plans.quote import (
    QuoteLine,
    QuotePlan,
    WorkAmounts,
    plan_quote,
    set_counts,
    stitched_together,
)
from tests.plans.seats import layout_of, stone

A = stone("A", (144, "1.10"), (1440, "8.50"))
BARE = stone("BARE")
NO_SPARES = MaterialSettings(spare_share=Decimal(0), spare_least=0)


def materials_of(
    piece: Piece = A, seats: int = 100, quantity: int = 1, currency: str = "EUR"
) -> MaterialsPlan:
    catalogue = Catalogue("stock.toml", {piece.code: piece}, {}, currency=currency)
    return plan_materials(layout_of([piece], [0] * seats), quantity, catalogue, NO_SPARES)


def prices(**more: Any) -> PriceSettings:
    """Rates that are all nothing but those given."""
    nothing: dict[str, Any] = {
        "labour_rate_per_hour": 0,
        "machine_rate_per_hour": 0,
        "press_cycle_minutes": 0,
        "setup_minutes": 0,
        "garment_minutes": 0,
        "overhead_share": 0,
        "tax_share": 0,
        "minutes_per_piece": dict.fromkeys(("template", "face-down", "hand", "sewn"), 0),
    }
    if "margin_share" not in more:
        nothing["markup_share"] = 0
    return PriceSettings.model_validate({**nothing, **more})


def line_of(plan: QuotePlan, name: str) -> QuoteLine:
    (line,) = [line for line in plan.lines if line.name == name]
    return line


NO_WORK = WorkAmounts({})


def test_every_amount_by_hand():
    rates = prices(
        labour_rate_per_hour=30,
        minutes_per_piece={"template": 0.01, "hand": 0.1},
        minutes_per_piece_of_kind={"pearl": 0.2},
        machine_rate_per_hour="12",
        press_cycle_minutes=2,
        setup_minutes=30,
        garment_minutes=4,
        overhead_share=Decimal("0.1"),
        margin_share=Decimal("0.4"),
        tax_share=Decimal("0.2"),
        extra=[
            {"name": "shirt", "amount": "5.00"},
            {"name": "postage", "amount": "7.40", "per": "job"},
        ],
    )
    work = WorkAmounts(
        {("template", "stone"): 100, ("hand", "stone"): 20, ("hand", "pearl"): 5},
        stitch_minutes=Decimal("2.5"),
        press_passes=2,
    )
    plan = plan_quote(materials_of(seats=100, quantity=10), work, rates)
    assert [(line.name, line.amount) for line in plan.lines] == [
        ("materials bought", Decimal("7.70")),  # 1000 pieces: 7 gross
        ("setting, stone, template", Decimal("5.00")),  # 1000 × 0.01 min at 0.50 a minute
        ("setting, stone, hand", Decimal("10.00")),
        ("setting, pearl, hand", Decimal("5.00")),
        ("pressing", Decimal("20.00")),  # 20 × 2 min
        ("setup", Decimal("15.00")),
        ("garments", Decimal("20.00")),
        ("stitching", Decimal("5.00")),  # 25 min at 12 an hour
        ("shirt", Decimal("50.00")),
        ("postage", Decimal("7.40")),
        ("overhead", Decimal("14.51")),  # of 145.10
        ("price of one garment", Decimal("26.60")),  # 159.61 / 0.6 / 10 = 26.6017
        ("price", Decimal("266.00")),
        ("tax", Decimal("53.20")),
        ("total", Decimal("319.20")),
    ]
    assert plan.cost == Decimal("159.61")
    assert plan.total == Decimal("319.20")
    assert plan.method == "margin"
    assert all(line.rule for line in plan.lines)
    assert all(line.default == "" for line in plan.lines)


@settings(max_examples=40, deadline=None)
@given(
    st.tuples(st.integers(1, 300), st.integers(1, 50)),
    st.decimals(0, 100, places=2),
    st.decimals(0, 3, places=3),
    st.sampled_from(["0.01", "0.05", "1"]),
    st.booleans(),
)
def test_the_sheet_adds_up(sizes, rate, share, rounding, margin):
    seats, quantity = sizes
    rule = {"margin_share": share / 4} if margin else {"markup_share": share}
    rates = PriceSettings(
        labour_rate_per_hour=rate, tax_share=Decimal("0.19"), rounding=Decimal(rounding), **rule
    )
    work = WorkAmounts({("template", "stone"): seats}, Decimal("1.23"), 1)
    plan = plan_quote(materials_of(seats=seats, quantity=quantity), work, rates)
    names = [line.name for line in plan.lines]
    costs = plan.lines[: names.index("price of one garment")]
    assert plan.price is not None
    assert plan.price_per_garment is not None
    assert plan.cost == sum(line.amount for line in costs)
    assert plan.price == plan.price_per_garment * quantity
    assert plan.price_per_garment % Decimal(rounding) == 0
    assert plan.total == plan.price + (plan.tax or 0)
    full = plan.cost / (1 - share / 4) if margin else plan.cost * (1 + share)
    assert abs(plan.price - full) <= Decimal(rounding) / 2 * quantity + Decimal("1e-20")


def test_a_rate_that_nobody_entered_says_so():
    plan = plan_quote(materials_of(), WorkAmounts({("hand", "stone"): 10}, Decimal(1), 1))
    for name in ("setting, stone, hand", "pressing", "setup", "garments", "stitching", "overhead"):
        assert DEFAULT in line_of(plan, name).default
    assert "markup_share" in line_of(plan, "price of one garment").default
    entered = PriceSettings(markup_share=Decimal("0.5"), labour_rate_per_hour=Decimal(20))
    plan = plan_quote(materials_of(), WorkAmounts({("hand", "stone"): 10}), entered)
    assert line_of(plan, "price of one garment").default == ""
    assert "labour_rate_per_hour" not in line_of(plan, "setup").default


def test_machine_time_of_several_layouts_is_told_together():
    def work(minutes: str, rule: str) -> WorkAmounts:
        return WorkAmounts({}, Decimal(minutes), stitch_rule=rule, stitch_default="speed")

    one, other, none = work("1.5", "900 / 600"), work("2", "1200 / 600"), WorkAmounts({})
    assert stitched_together([(one, 3), (none, 9), (other, 1)]) == (
        Decimal("6.5"),
        "3 × (900 / 600) and 1200 / 600",
        "speed",
    )
    assert stitched_together([(one, 1)] * 5)[1] == "marks of 5 layouts"
    assert stitched_together([(none, 2)]) == (Decimal(0), "", "")


def test_exactly_one_of_markup_and_margin():
    with pytest.raises(ValidationError, match="both given"):
        PriceSettings(markup_share=Decimal("0.5"), margin_share=Decimal("0.3"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"margin_share": 1},
        {"labour_rate_per_hour": 20.5},
        {"tax_share": -0.1},
        {"rounding": 0},
        {"markup": 1},
        {"minutes_per_piece": {"brush": 1}},
        {"extra": [{"name": "", "amount": 1}]},
    ],
)
def test_settings_refuse_what_cannot_be(wrong):
    with pytest.raises(ValidationError):
        PriceSettings.model_validate(wrong)


def test_no_price_while_a_cost_is_not_known():
    plan = plan_quote(materials_of(BARE), NO_WORK, prices(setup_minutes=60, labour_rate_per_hour=9))
    assert (plan.cost, plan.price_per_garment, plan.price, plan.tax, plan.total) == (None,) * 5
    assert plan.markup_share is plan.margin_share is None
    assert [each.code for each in plan.findings] == ["price-unknown"]
    assert "9.00 EUR" in plan.findings[0].message
    assert "BARE" in line_of(plan, "materials bought").rule
    assert "price" not in [line.name for line in plan.lines]


def test_stock_is_charged_at_the_least_price_of_a_piece():
    stocked = A.model_copy(update={"stock": 100})
    plan = plan_quote(materials_of(stocked), NO_WORK, prices())
    # 100 × 8.50 / 1440
    assert line_of(plan, "materials from stock").amount == Decimal("0.59")
    bare = BARE.model_copy(update={"stock": 100})
    plan = plan_quote(materials_of(bare), NO_WORK, prices())
    assert [each.code for each in plan.findings] == ["stock-unvalued"]
    assert plan.price == 0


def test_two_currencies_give_no_price():
    plan = plan_quote(materials_of(), NO_WORK, prices(currency="USD"))
    assert [each.code for each in plan.findings] == ["quote-currency", "price-unknown"]
    assert plan.total is None
    assert plan_quote(materials_of(), NO_WORK, prices(currency="EUR")).total is not None


def test_markup_and_margin_are_both_said():
    plan = plan_quote(materials_of(seats=1440), NO_WORK, prices(markup_share=Decimal("0.25")))
    assert plan.method == "markup"
    # 8.50 at 25 % is 10.625, rounded half up to 10.63: 2.13 over the cost.
    assert plan.markup_share is not None
    assert plan.margin_share is not None
    assert round(plan.markup_share, 6) == Decimal("0.250588")
    assert round(plan.margin_share, 6) == Decimal("0.200376")


def test_invented_prices_are_said_where_they_are_charged():
    shown = A.model_copy(
        update={"packs": tuple(p.model_copy(update={"invented": True}) for p in A.packs)}
    )
    plan = plan_quote(materials_of(shown), NO_WORK, prices())
    assert "invented" in line_of(plan, "materials bought").rule
    plan = plan_quote(materials_of(A), NO_WORK, prices())
    assert "invented" not in line_of(plan, "materials bought").rule


def test_pieces_are_counted_by_how_they_are_set_units_in_full():
    pair = Unit(name="pair", members=(Member(piece="A"), Member(piece="P"), Member(piece="P")))
    pearl = stone("P", kind="pearl")
    layout = layout_of([A, pearl], [0, 0, 1], units=[pair], unit_seats=[0, 0], set_by="hand")
    assert set_counts(layout) == {("hand", "stone"): 4, ("hand", "pearl"): 5}
    assert set_counts(layout_of([A], [])) == {}


def test_sheets_are_part_of_the_cost_at_the_price_entered():
    sheets = Good("template sheet", 3, Decimal(3), Decimal("2.35"), Decimal("7.05"))
    nobody_knows = Good("transfer sheet", 24, Decimal(24), None, None)
    work = WorkAmounts({}, goods=(sheets, nobody_knows))
    plain, plan = (plan_quote(materials_of(), each, prices()) for each in (NO_WORK, work))
    line = line_of(plan, "template sheet")
    assert (line.amount, line.rule) == (Decimal("7.05"), "3 × 2.35")
    line = line_of(plan, "transfer sheet")
    assert (line.amount, line.default) == (Decimal(0), "price: not entered")
    assert plan.cost is not None
    assert plain.cost is not None
    assert plan.cost - plain.cost == Decimal("7.05")
