"""quote.json: title block, rules, and null for what is not known."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.outputs.quote import quote_json
from embellish.plans.materials import plan_materials
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, set_counts
from embellish.plans.title import TitleBlock
from tests.plans.seats import layout_of, stone

TITLE = TitleBlock("Moth", "B", "ab12cd", size="M")


def quoted(piece: Piece) -> tuple[QuotePlan, dict[str, Any]]:
    catalogue = Catalogue("x", {piece.code: piece}, {}, currency="EUR")
    layout = layout_of([piece], [0] * 50)
    materials = plan_materials(layout, 4, catalogue)
    rates = PriceSettings(markup_share=Decimal("0.5"))
    plan = plan_quote(materials, WorkAmounts(set_counts(layout), Decimal(3), 1), rates)
    return plan, json.loads(quote_json(plan, TITLE))


def test_the_quote_says_what_it_is_for_and_how_it_came_about():
    plan, told = quoted(stone("A", (144, "1.10")))
    assert (told["format"], told["version"]) == ("embellish-quote", 1)
    assert (told["title"], told["revision"], told["size"], told["layout"]) == (
        *("Moth", "B", "M", "ab12cd"),
    )
    assert [line["name"] for line in told["lines"]] == [line.name for line in plan.lines]
    assert all(line["rule"] for line in told["lines"])
    assert any("correct it" in line["default"] for line in told["lines"])
    assert Decimal(told["total"]) == Decimal(told["price"]) + Decimal(told["tax"])
    assert Decimal(told["price"]) == 4 * Decimal(told["price_per_garment"])
    assert told["method"] == "markup"
    assert told["notes"] == []
    assert quote_json(plan, TITLE) == quote_json(plan, TITLE)


def test_what_is_not_known_is_null_and_a_note_says_why():
    _, told = quoted(stone("BARE"))
    for key in ("cost", "price_per_garment", "price", "tax", "total", "markup", "margin"):
        assert told[key] is None
    assert "no price is given" in told["notes"][0]
