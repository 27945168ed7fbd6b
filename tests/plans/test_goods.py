from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from embellish.plans.cut_sheets import plan_sheets
from embellish.plans.goods import Good, goods_together, plan_goods, unpriced
from embellish.plans.lifts import plan_lifts
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import plan_templates
from tests.plans.template_cases import SS10_CLEAR, SS10_RED, lattice


def goods_of(quantity: int = 24, **asked: Any) -> tuple[Good, ...]:
    settings = TemplateSettings.model_validate(asked)
    layout = lattice([SS10_CLEAR, SS10_RED], 10, 10, 5.0, (0, 1))
    plan = plan_templates(layout, settings, quantity)
    return plan_goods(settings, plan_sheets([plan]), plan_lifts(layout, plan), "EUR")


def test_sheets_and_transfer_sheets_are_counted_and_priced():
    sheet, transfer = goods_of(
        sheet=(100.0, 90.0), sheet_price="2.35", transfer=(150.0, 150.0), transfer_price="0.125"
    )
    assert (sheet.name, sheet.count, sheet.price) == (
        "template sheet 100 × 90 mm",
        2,
        Decimal("2.35"),
    )
    assert sheet.cost == Decimal("4.70")
    assert sheet.used_share is not None
    assert 0.5 < sheet.used_share < 1.0
    # Two templates of neighbours are gathered on one transfer sheet a garment.
    assert (transfer.name, transfer.count) == ("transfer sheet 150 × 150 mm", 24)
    assert transfer.cost == Decimal("3.00")


def test_of_a_roll_the_length_used_is_paid():
    roll, _ = goods_of(sheet=(100.0, 600.0), roll=True, sheet_price="6.00")
    settings = TemplateSettings(sheet=(100.0, 600.0), roll=True)
    sheets = plan_sheets(
        [plan_templates(lattice([SS10_CLEAR, SS10_RED], 10, 10, 5.0, (0, 1)), settings)]
    )
    assert sheets is not None
    (length,) = (each.height_mm for each in sheets.sheets)
    assert float(roll.lengths) == pytest.approx(length / 600.0)
    assert roll.cost == round(Decimal(str(length)) / 100, 2)
    assert roll.name == f"{length:g} mm of a roll 100 mm wide"


def test_what_has_no_price_is_told_and_costs_nothing_known():
    (transfer,) = goods_of()
    assert (transfer.count, transfer.cost) == (24, None)
    (found,) = unpriced([transfer])
    assert (found.code, found.severity) == ("goods-unpriced", "note")
    assert "24 × transfer sheet" in found.message
    assert found.mend == "Enter transfer_price under [template]."
    assert unpriced(goods_of(transfer_price="1")) == []


def test_like_goods_of_several_plans_are_added_up():
    one, two = goods_of(24, transfer_price="0.10"), goods_of(6, transfer_price="0.10")
    (both,) = goods_together([one, two])
    assert (both.count, both.cost) == (30, Decimal("3.00"))
    other = goods_of(6, transfer_price="0.20")
    assert [each.count for each in goods_together([one, other])] == [24, 6]
