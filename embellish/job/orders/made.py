"""An order counted, as facts and as files."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from embellish.formats.csv_lists import list_bytes
from embellish.job.making import NEITHER
from embellish.job.orders.counting import CountedOrder, CountedRow, Design
from embellish.job.partners import pictures_of_sides
from embellish.outputs.layout import as_json_bytes, findings_json
from embellish.outputs.materials import materials_csv, materials_json
from embellish.outputs.orders.customer_quote import (
    MOST_PICTURES,
    order_costing_html,
    order_quote_html,
)
from embellish.outputs.orders.shop_sheet import Bag, BagLine, DesignFacts, shop_sheet_html
from embellish.outputs.sheet_pdf import letters_told, sheet_pdf
from embellish.outputs.spreadsheet import spreadsheet_xlsx
from embellish.plans.money import written
from embellish.plans.tallies import by_hooping, by_lay, by_template


def order_facts(order: CountedOrder) -> dict[str, Any]:
    """Return everything that was counted, as plain values."""
    materials = json.loads(materials_json(order.materials, order.goods))
    quote = order.quote
    return {
        "format": "embellish-order",
        "version": 1,
        "title": order.title,
        **_head_facts(order),
        "garments": order.garments,
        "stopped": order.stopped,
        "rows": [_row_facts(row) for row in order.rows],
        "designs": [_design_facts(design) for design in order.designs],
        "sizes": _by_size(order),
        "materials": materials,
        "currency": quote.currency,
        "cost": None if quote.cost is None else written(quote.cost, quote.currency),
        "price": None if quote.price is None else written(quote.price, quote.currency),
        "tax": None if quote.tax is None else written(quote.tax, quote.currency),
        "total": None if quote.total is None else written(quote.total, quote.currency),
        "lines": [
            {
                "name": line.name,
                "rule": line.rule,
                "default": line.default,
                "amount": written(line.amount, quote.currency),
            }
            for line in quote.lines
        ],
    }


def order_files(order: CountedOrder, facts: dict[str, Any]) -> dict[str, bytes]:
    """Return the documents of an order, by name; ``facts`` are those of `order_facts`."""
    heads = _heads(order)
    bags = _bags(order)
    stop = NEITHER if order.stopped else ""
    shown = order.designs[:MOST_PICTURES]
    quote = order_quote_html(
        order.title,
        heads,
        [
            (row.design.sides[0].opened.job.title, row.row.words, row.row.quantity)
            for row in order.rows
        ],
        order.quote,
        order.prices,
        pictures=[
            drawn for design in shown for drawn in pictures_of_sides(design.title, design.sides)
        ],
        left_out=len(order.designs) - len(shown),
        stop=stop,
    )
    sheets = {"quote.html": quote, "quote.pdf": sheet_pdf(quote)}
    if order.spreadsheet:
        words = " · ".join([order.title, *heads])
        sheets["materials.xlsx"] = spreadsheet_xlsx(words, order.materials, order.quote)
    return {
        "order.json": as_json_bytes(facts),
        "findings.json": findings_json((*order.findings, *letters_told(sheets))),
        "materials.json": materials_json(order.materials, order.goods),
        "materials.csv": materials_csv(order.materials),
        "costing.html": order_costing_html(
            order.title, heads, order.quote, order.materials, order.prices, stop=stop
        ),
        "packing.csv": _packing_csv(bags),
        "pieces.csv": _pieces_csv(order),
        "shop.html": shop_sheet_html(
            order.title,
            heads,
            order.materials,
            order.goods,
            [each for design in order.designs for each in _cut_and_sewn(design)],
            bags,
            stopped=order.stopped,
        ),
        **sheets,
    }


def _head_facts(order: CountedOrder) -> dict[str, Any]:
    if order.order is None:
        return {}
    due = order.order.due
    return {
        "customer": order.order.customer,
        "due": None if due is None else due.isoformat(),
        "note": order.order.note,
    }


def _heads(order: CountedOrder) -> list[str]:
    if order.order is None:
        return []
    due = f"due {order.order.due.isoformat()}" if order.order.due else ""
    customer = f"for {order.order.customer}" if order.order.customer else ""
    return [line for line in (customer, due, order.order.note) if line]


def _row_facts(row: CountedRow) -> dict[str, Any]:
    return {
        **row.row.model_dump(),
        "title": row.design.title,
        "layouts": [side.plans.title.fingerprint for side in row.design.sides],
        "pieces": row.design.pieces,
    }


def _design_facts(design: Design) -> dict[str, Any]:
    return {
        "title": design.title,
        "job": design.job,
        "size": design.size,
        "text": design.text,
        "garments": design.quantity,
        "sides": [
            {
                "side": side.opened.side,
                "layout": side.plans.title.fingerprint,
                "lays": [
                    {"lay": each.lay, "set_by": each.set_by, "code": each.code,
                     "per_garment": each.pieces, "count": each.pieces * design.quantity}
                    for each in by_lay(side.layout)
                ],
                "templates": [
                    {"template": each.template, "seats": each.seats, "codes": each.codes,
                     "lifts": each.lifts * design.quantity}
                    for each in by_template(side.plans.templates)
                ],
                "hoopings": [
                    {"hooping": each.hooping, "position": each.position, "marks": each.marks,
                     "seats": each.seats, "stitches": each.stitches, "times": design.quantity}
                    for each in by_hooping(side.plans.stitches)
                ],
            }
            for side in design.sides
        ],
    }  # fmt: skip


def _by_size(order: CountedOrder) -> list[dict[str, Any]]:
    garments: Counter[str] = Counter()
    pieces: dict[str, Counter[str]] = {}
    for each in order.rows:
        garments[each.row.size] += each.row.quantity
        mine = pieces.setdefault(each.row.size, Counter())
        for code, number in each.design.pieces.items():
            mine[code] += number * each.row.quantity
    return [
        {"size": size, "garments": number, "pieces": dict(pieces[size])}
        for size, number in garments.items()
    ]


def _cut_and_sewn(design: Design) -> Iterable[DesignFacts]:
    for side in design.sides:
        yield DesignFacts(
            f"{design.title} {side.opened.side}".strip(),
            design.quantity,
            by_template(side.plans.templates),
            by_hooping(side.plans.stitches),
            side.plans.work.cautions,
        )


def _bags(order: CountedOrder) -> list[Bag]:
    people: dict[str, list[BagLine]] = {}
    for each in order.rows:
        row, design = each.row, each.design
        apart = (row.text, row.size and f"size {row.size}", row.area)
        what = ", ".join(part for part in (design.sides[0].opened.job.title, *apart) if part)
        prints = " + ".join(side.plans.title.fingerprint for side in design.sides)
        line = BagLine(what, row.quantity, prints, design.pieces, row.note)
        people.setdefault(row.person, []).append(line)
    return [Bag(person, tuple(lines)) for person, lines in people.items()]


def _packing_csv(bags: Sequence[Bag]) -> bytes:
    head = ("person", "garment", "garments", "layout", "code", "each", "all", "note")
    rows = [
        (bag.person, line.what, line.quantity, line.fingerprints, code, number,
         number * line.quantity, line.note)
        for bag in bags
        for line in bag.lines
        for code, number in line.pieces.items()
    ]  # fmt: skip
    return list_bytes(head, rows)


def _pieces_csv(order: CountedOrder) -> bytes:
    head = ("design", "side", "lay", "set by", "code", "a garment", "garments", "all")
    rows = [
        (design.title, side.opened.side, each.lay, each.set_by, each.code, each.pieces,
         design.quantity, each.pieces * design.quantity)
        for design in order.designs
        for side in design.sides
        for each in by_lay(side.layout)
    ]  # fmt: skip
    return list_bytes(head, rows)
