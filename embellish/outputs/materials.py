"""materials.json and materials.csv: what to buy, as bytes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, Final

from embellish.formats.csv_lists import list_bytes
from embellish.outputs.goods import goods_facts
from embellish.outputs.pack_words import pack_size
from embellish.plans.cut_lengths import Cutting
from embellish.plans.goods import Good
from embellish.plans.materials import MaterialLine, MaterialsPlan
from embellish.plans.money import written

COLUMNS: Final = (
    *("code", "name", "kind", "size", "colour", "fixing"),
    *("per_garment", "count", "spare", "needed", "from_stock", "packs", "cost", "currency"),
    *("supplier", "lot"),
)


def materials_json(plan: MaterialsPlan, goods: Sequence[Good] = ()) -> bytes:
    """Return materials.json; ``cost`` and ``total`` are null where they are not known.

    ``lines`` and ``total`` are of pieces alone; sheets stand under ``goods``. What sending takes
    stands under ``orders``, a supplier at a time, where any supplier is named.
    """
    content: dict[str, Any] = {
        "currency": plan.currency,
        "quantity": plan.quantity,
        "lines": [_line(line, plan.currency) for line in plan.lines],
        "total": None if plan.total is None else written(plan.total, plan.currency),
        **_orders(plan),
        **({"goods": goods_facts(goods, plan.currency)} if goods else {}),
    }
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()


def _line(line: MaterialLine, currency: str) -> dict[str, Any]:
    return {
        "code": line.code,
        "per_garment": line.per_garment,
        "count": line.count,
        "spare": line.spare,
        "needed": line.needed,
        "from_stock": line.from_stock,
        "packs": [
            {
                "pieces": pack.pieces,
                **({"amount": pack.amount} if pack.amount else {}),
                "quantity": pack.quantity,
                "price": written(pack.price, currency),
                **({"supplier": pack.supplier} if pack.supplier else {}),
                **({"lot": pack.lot} if pack.lot else {}),
            }
            for pack in line.packs
        ],
        **({"cutting": _cutting(line.cutting)} if line.cutting is not None else {}),
        "left_over": line.left_over,
        "next_cost": None if line.next_cost is None else written(line.next_cost, currency),
        "cost": None if line.cost is None else written(line.cost, currency),
    }


def _cutting(cutting: Cutting) -> dict[str, Any]:
    """Return which reel is cut into what; lengths are with the links that their cuts lose."""
    return {
        "enough": cutting.plan.enough,
        "proven": cutting.plan.proven,
        "reels": [
            {
                "reels": reel.times,
                "holds": reel.holds,
                "cut": [{"links": links, "times": times} for links, times in reel.lengths],
                "left": reel.left,
            }
            for reel in cutting.plan.reels
        ],
    }


def _orders(plan: MaterialsPlan) -> dict[str, Any]:
    if not any(order.supplier for order in plan.orders):
        return {}
    facts: dict[str, Any] = {
        "orders": [
            {
                "supplier": order.supplier,
                "value": written(order.value, plan.currency),
                "shipping": written(order.shipping, plan.currency),
            }
            for order in plan.orders
        ]
    }
    if plan.instead is not None:
        facts["instead"] = {
            "suppliers": list(plan.instead.suppliers),
            "cost": written(plan.instead.cost, plan.currency),
        }
    return facts


def materials_csv(plan: MaterialsPlan) -> bytes:
    """Return materials.csv (RFC 4180, UTF-8): a row a code, an empty cost where not known."""
    rows = []
    for line in plan.lines:
        piece = line.piece
        packs = " + ".join(
            f"{pack.quantity} x {pack_size(pack)} at {written(pack.price, plan.currency)}"
            for pack in line.packs
        )
        suppliers = ", ".join(dict.fromkeys(pack.supplier for pack in line.packs))
        lots = ", ".join(dict.fromkeys(pack.lot for pack in line.packs))
        numbers = (line.per_garment, line.count, line.spare, line.needed, line.from_stock)
        cost = "" if line.cost is None else written(line.cost, plan.currency)
        rows.append(
            (
                *(piece.code, piece.name, piece.kind, piece.size, piece.colour, piece.fixing),
                *(*numbers, packs, cost, plan.currency),
                *(suppliers or piece.supplier, lots or piece.lot),
            )
        )
    return list_bytes(COLUMNS, rows)
