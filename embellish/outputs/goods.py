"""Goods beside the pieces as rows: for materials.json and goods.csv."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from embellish.formats.csv_lists import list_bytes
from embellish.plans.goods import Good
from embellish.plans.money import written

COLUMNS: Final = ("name", "count", "used_share", "price", "cost", "currency")


def goods_facts(goods: Sequence[Good], currency: str) -> list[dict[str, Any]]:
    """Return the goods for materials.json; price and cost are null where none was entered."""
    return [
        {
            "name": each.name,
            "count": each.count,
            "used_share": each.used_share,
            "price": None if each.price is None else written(each.price, currency),
            "cost": None if each.cost is None else written(each.cost, currency),
        }
        for each in goods
    ]


def goods_csv(goods: Sequence[Good], currency: str) -> bytes:
    """Return goods.csv (RFC 4180, UTF-8): a row each, cells empty where not known."""
    facts = goods_facts(goods, currency)
    return list_bytes(
        COLUMNS, [[*(fact[name] for name in COLUMNS[:-1]), currency] for fact in facts]
    )
