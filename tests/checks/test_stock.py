"""The rule of stock."""

from __future__ import annotations

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.checks.site import Site
from embellish.checks.stock import stock_reaches
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import plan_materials
from tests.plans.seats import layout_of, stone


@pytest.mark.parametrize(
    ("stock", "use", "found"),
    [(0, True, 0), (1, True, 1), (10, True, 1), (14, True, 1), (15, True, 0), (10, False, 0)],
)
def test_stock_that_does_not_reach_is_told(stock, use, found):
    # 10 seats and the 5 spare pieces of every kind make 15.
    piece = stone("A", (144, "3.00"), stock=stock)
    layout = layout_of([piece], [0] * 10)
    catalogue = Catalogue("test", {"A": piece}, {}, "EUR")
    materials = plan_materials(layout, 1, catalogue, MaterialSettings(use_stock=use))
    findings = list(stock_reaches(Site(layout, (None,), (0.0,), materials=materials)))
    assert len(findings) == found
    if found:
        assert f"15 needed with spares, {stock} in stock, {15 - stock} to buy" in (
            findings[0].message
        )
    assert list(stock_reaches(Site(layout, (None,), (0.0,)))) == []
