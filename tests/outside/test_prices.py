"""Prices: worked examples of textbooks and calculators, each named beside its numbers."""

from __future__ import annotations

from decimal import Decimal

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.offers import Pack
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.money import rounded
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote
from tests.plans.seats import layout_of, stone

CENT = Decimal("0.01")


def quoted(cost: str, **rates: str) -> QuotePlan:
    """Return the quote of one garment that costs this and nothing else."""
    nothing = {
        "labour_rate_per_hour": 0,
        "setup_minutes": 0,
        "garment_minutes": 0,
        "overhead_share": 0,
        "extra": [{"name": "all", "amount": cost, "per": "job"}],
    }
    shares = {name: Decimal(rates.pop(name)) for name in list(rates) if name.endswith("_share")}
    materials = MaterialsPlan("USD", 1, (), Decimal(0))
    settings = PriceSettings.model_validate({**nothing, **shares, **rates})
    return plan_quote(materials, WorkAmounts({}), settings)


@pytest.mark.parametrize(
    ("cost", "markup", "price"),
    [
        # instudier.com/inquestion/22902450
        ("100", "0.25", "125"),
        # calcreal.com/math/markup-calculator
        ("40", "0.50", "60"),
        # power.one markup calculator: 37.4875
        ("29.99", "0.25", "37.49"),
        # reference.com markup article
        ("6", "0.20", "7.20"),
        # OpenStax Contemporary Mathematics, section 6.2, Check Your Understanding 10
        ("311.00", "0.60", "497.60"),
    ],
)
def test_price_by_markup(cost, markup, price):
    plan = quoted(cost, markup_share=markup)
    assert (plan.price, plan.total) == (Decimal(price), Decimal(price))


@pytest.mark.parametrize(
    ("cost", "price", "markup", "margin"),
    [
        # instudier.com/inquestion/22902450
        ("100", "125", "25.00", "20.00"),
        # reference.com markup article; margin = 1.20 / 7.20
        ("6", "7.20", "20.00", "16.67"),
    ],
)
def test_what_is_left_is_told_as_markup_and_as_margin(cost, price, markup, margin):
    plan = quoted(cost, markup_share=str(Decimal(markup) / 100))
    assert plan.price == Decimal(price)
    assert plan.markup_share is not None
    assert plan.margin_share is not None
    assert rounded(plan.markup_share * 100, CENT) == Decimal(markup)
    assert rounded(plan.margin_share * 100, CENT) == Decimal(margin)


@pytest.mark.parametrize(
    ("price", "off", "pays"),
    [
        # OpenStax Contemporary Mathematics, section 6.2, Check Your Understanding 9, exercises 1-4
        ("45.00", 0.32, "30.60"),
        ("399.00", 0.30, "279.30"),
        ("75.00", 0.65, "26.25"),
        ("125.00", 0.28, "90.00"),
        ("47.00", 0.11702, "41.50"),
    ],
)
def test_a_share_off_a_pack(price, off, pays):
    pack = {"pieces": 1, "price": price, "breaks": [{"packs": 2, "off": off}]}
    piece = stone("A").model_copy(update={"packs": (Pack.model_validate(pack),)})
    catalogue = Catalogue("x", {"A": piece}, {}, currency="USD")
    rules = MaterialSettings(spare_share=Decimal(0), spare_least=0)
    (line,) = plan_materials(layout_of([piece], [0, 0]), 1, catalogue, rules).lines
    assert line.cost is not None
    assert rounded(line.cost / 2, CENT) == Decimal(pays)


@pytest.mark.parametrize(
    ("markup", "margin"), [("1", "50.00"), ("0.6667", "40.00"), ("0.25", "20.00"), ("0.5", "33.33")]
)
def test_markup_and_margin_are_two_words_for_one_price(markup, margin):
    # margin = markup / (1 + markup): 100 % markup is 50 % margin, 25 % is 20 %; calcreal.com: 50 %
    # is 33.33 %.
    plan = quoted("100000", markup_share=markup)
    assert plan.margin_share is not None
    assert rounded(plan.margin_share * 100, CENT) == Decimal(margin)


def test_price_by_margin():
    # price = cost / (1 - margin): instudier.com/inquestion/22902450, cost 100, price 125.
    assert quoted("100", margin_share="0.20").price == Decimal(125)
    assert quoted("100", margin_share="0.50").price == Decimal(200)


def test_tax_on_a_price():
    # OpenStax Contemporary Mathematics, section 6.2, Check Your Understanding 12: 42.6666.
    plan = quoted("39.95", markup_share="0", tax_share="0.068")
    assert (plan.tax, plan.total) == (Decimal("2.72"), Decimal("42.67"))


def test_tax_that_is_inside_a_total():
    # The same section, running shoes: 153 with 6.25 % in it is 144.00 and 9.00.
    plan = quoted("144", markup_share="0", tax_share="0.0625")
    assert (plan.tax, plan.total) == (Decimal("9.00"), Decimal(153))


def test_half_a_cent_goes_up():
    # The same section, exercise 5: 145.70 is the price after 20 % off 182.125. Half to even, and
    # binary floats, give 182.12.
    plan = quoted("145.70", margin_share="0.20")
    assert plan.price == Decimal("182.13")


def test_labour_with_its_burdens():
    # An accounting package's help page: 20.00 an hour and its burdens are 28.07.
    rates = PriceSettings.model_validate(
        {
            "labour_rate_per_hour": "20.00",
            "labour_burden": {
                "leave": 0.1320,
                "fund": 0.0350,
                "health": 0.0145,
                "pension": 0.0620,
                "state": 0.0370,
                "federal": 0.0080,
                "benefits": 0.10,
            },
            "labour_burden_per_hour": "0.30",
        }
    )
    assert rates.labour_cost_per_hour == Decimal("28.07")


def test_payroll_burden():
    # articles.bplans.com, what is payroll burden: 1000 at 10 % is 100.
    rates = PriceSettings.model_validate(
        {"labour_rate_per_hour": 1000, "labour_burden": {"all": 0.10}}
    )
    assert rates.labour_cost_per_hour == Decimal(1100)


def test_machine_time():
    # theembroiderywarehouse.com: 6000 stitches at 650 a minute are 9.23 minutes; at 65 an hour
    # that is 10.00.
    materials = MaterialsPlan("USD", 1, (), Decimal(0))
    rates = PriceSettings(machine_rate_per_hour=Decimal(65))
    work = WorkAmounts({}, stitch_minutes=Decimal(6000) / 650)
    (line,) = [
        each for each in plan_quote(materials, work, rates).lines if each.name == "stitching"
    ]
    assert line.amount == Decimal("10.00")
