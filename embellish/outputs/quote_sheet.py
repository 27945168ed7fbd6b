"""The quote as people read it: one sheet for the customer, one with the sums for the shop."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from embellish.findings import counted
from embellish.formats.html import Element, element, page, picture, table
from embellish.outputs.pack_words import named, packs_words
from embellish.plans.materials import MaterialsPlan
from embellish.plans.money import rounded, told, written
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan
from embellish.plans.title import TitleBlock

STYLE: Final = """
@page { size: A4; margin: 18mm }
body { font: 11pt/1.45 system-ui, sans-serif; color: #1d1f24; max-width: 180mm; margin: 10mm auto }
h1 { font-size: 19pt; margin: 0 }
h2 { font-size: 12.5pt; margin: 7mm 0 2mm; break-after: avoid }
header p, .faint { color: #5d6270; margin: 1mm 0 }
.words { white-space: pre-line; overflow-wrap: anywhere }
img { max-width: 100%; max-height: 110mm; display: block; margin: 5mm auto }
table { border-collapse: collapse; width: 100%; break-inside: avoid }
th, td { text-align: left; padding: 1.2mm 2mm; border-bottom: 0.2mm solid #c9ccd3;
  vertical-align: top }
.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap }
.total td { font-weight: 700; border-top: 0.5mm solid #1d1f24 }
.stop { background: #b3261e; color: #fff; padding: 2mm 3mm; font-weight: 700 }
@media print { body { margin: 0; max-width: none } }
"""

APPROVED: Final = (
    "Drawn to scale at nominal sizes; colours on screen and paper differ from the pieces. What is"
    " approved is this layout, by its number."
)
_PRIVATE = "For the shop alone: every sum, and how it came about."


def customer_quote_html(
    title: TitleBlock,
    plan: QuotePlan,
    materials: MaterialsPlan,
    prices: PriceSettings,
    proof_png: bytes,
) -> bytes:
    """Return the quote for the customer: picture, what is set, price, terms; no cost.

    Parameters
    ----------
    title
        Of the job; its words of warning stand on top.
    plan
        The price.
    materials
        What is set, by piece.
    prices
        The shop, the customer, the terms, as entered.
    proof_png
        The picture.
    """
    pieces = sum(line.per_garment for line in materials.lines)
    return page(
        f"Quote · {title.words}",
        STYLE,
        *_head(title, prices, f"Quote · {counted(plan.quantity, 'garment')}"),
        picture(proof_png, f"The finished piece: {title.title}"),
        element("p", APPROVED, class_="faint"),
        element("h2", "What is set"),
        table(
            ("piece", "size", "a garment"),
            [
                (line.piece.name or line.code, line.piece.size, str(line.per_garment))
                for line in materials.lines
            ]
            + [("in all", "", str(pieces))],
            frozenset({2}),
        ),
        element("h2", "Price"),
        price_table(plan),
        *_by_quantity(plan),
        *terms_words(prices),
        element("p", "Accepted by ______________________________   Date ____________________"),
    )


def costing_html(
    title: TitleBlock, plan: QuotePlan, materials: MaterialsPlan, prices: PriceSettings
) -> bytes:
    """Return the private sheet: each line of the sum with its rule, and what remains."""
    return page(
        f"Costing · {title.words}",
        STYLE,
        *_head(title, prices, "Costing"),
        *sums(plan, materials),
    )


def sums(plan: QuotePlan, materials: MaterialsPlan) -> Iterator[Element]:
    """Yield every sum with its rule, what remains, and what is bought; for the shop alone."""

    def money(amount: Decimal | None) -> str:
        return (
            "not known" if amount is None else f"{written(amount, plan.currency)} {plan.currency}"
        )

    def share(value: Decimal | None) -> str:
        return "–" if value is None else f"{rounded(value * 100, Decimal('0.1'))} %"

    rows: list[tuple[Element | str, ...]] = [
        (line.name, _rule(line.rule, line.default), written(line.amount, plan.currency))
        for line in plan.lines
    ]
    yield from (
        element("p", _PRIVATE, class_="faint"),
        table(("line", "how it came about", plan.currency or "amount"), rows, frozenset({2})),
        element("h2", "What remains"),
        table(
            ("", ""),
            [
                ("cost", money(plan.cost)),
                ("price without tax", money(plan.price)),
                ("left over", money(_earned(plan))),
                ("as a share of the cost (markup)", share(plan.markup_share)),
                ("as a share of the price (margin)", share(plan.margin_share)),
            ],
            frozenset({1}),
        ),
        *_remains_by_quantity(plan),
        element("h2", "Materials"),
        table(
            (
                *("code", "needed", "from stock", "packs", "left over"),
                *(plan.currency or "cost", "next-cheapest packs"),
            ),
            [
                (
                    line.code,
                    str(line.needed),
                    str(line.from_stock),
                    packs_words(line) or "–",
                    str(line.left_over),
                    told(line.cost, plan.currency),
                    "–" if line.next_cost is None else written(line.next_cost, plan.currency),
                )
                for line in materials.lines
            ],
            frozenset({1, 2, 4, 5, 6}),
        ),
        *_orders(materials),
        *(element("p", finding.message) for finding in plan.findings),
    )


def _orders(materials: MaterialsPlan) -> Iterator[Element]:
    """Say what is ordered where, and what other suppliers would take."""
    if not any(order.supplier for order in materials.orders):
        return
    currency = materials.currency
    yield element("h2", "Orders")
    yield table(
        ("supplier", "packs", "sending"),
        [
            (
                named(order.supplier),
                written(order.value, currency),
                written(order.shipping, currency),
            )
            for order in materials.orders
        ],
        frozenset({1, 2}),
    )
    if materials.instead is not None:
        names = ", ".join(map(named, materials.instead.suppliers))
        cost = written(materials.instead.cost, currency)
        yield element("p", f"The next-cheapest, from {names}: {cost} {currency} with sending.")


def _by_quantity(plan: QuotePlan) -> Iterator[Element]:
    """Say the price at other numbers of garments, where it is known."""
    if not plan.at_quantities:
        return
    yield element("h2", "Price by quantity")
    yield table(
        ("garments", "each", "all", f"to pay {plan.currency}".strip()),
        [
            _at(other, other.price_per_garment, other.price, other.total)
            for other in plan.at_quantities
        ],
        frozenset({0, 1, 2, 3}),
    )


def _remains_by_quantity(plan: QuotePlan) -> Iterator[Element]:
    """Say what other numbers of garments cost the shop, and what they leave."""
    if not plan.at_quantities:
        return
    yield element("h2", "By quantity")
    yield table(
        ("garments", "cost", "price each", "price", "left over"),
        [
            _at(other, other.cost, other.price_per_garment, other.price, _earned(other))
            for other in plan.at_quantities
        ],
        frozenset({0, 1, 2, 3, 4}),
    )
    yield element(
        "p",
        "Each is worked out afresh: its own packs, spares, transfer sheets, and one set-up.",
        class_="faint",
    )


def _earned(plan: QuotePlan) -> Decimal | None:
    """Return what is left of the price."""
    return None if plan.price is None or plan.cost is None else plan.price - plan.cost


def _at(other: QuotePlan, *amounts: Decimal | None) -> tuple[Element | str, ...]:
    """Return a row: how many garments, and amounts of them."""
    return (str(other.quantity), *(told(each, other.currency) for each in amounts))


def _head(title: TitleBlock, prices: PriceSettings, what: str) -> Iterator[Element]:
    if title.stop:
        yield element("div", title.stop, class_="stop")
    lines = [element("h1", title.title), element("p", f"{what} · {title.words}")]
    if prices.shop:
        lines.append(element("p", prices.shop, class_="words"))
    if prices.customer:
        lines.append(element("p", f"For {prices.customer}", class_="words"))
    yield element("header", *lines)


def price_table(plan: QuotePlan, *, order: bool = False, each: str = "garment") -> Element:
    """Return what is to be paid, for so many garments (or pairs) or for a whole order."""
    if plan.price_per_garment is None or plan.price is None or plan.total is None:
        return element("p", "The price is not known yet.")
    one = written(plan.price_per_garment, plan.currency)
    rows: list[tuple[Element | str, ...]] = [(f"all {each}s" if order else f"one {each}", one)]
    if not order and plan.quantity > 1:
        rows.append((counted(plan.quantity, each), written(plan.price, plan.currency)))
    if plan.tax:
        rows.append(("tax", written(plan.tax, plan.currency)))
    rows.append(("to pay", f"{written(plan.total, plan.currency)} {plan.currency}".strip()))
    whole = table(("", plan.currency or ""), rows, frozenset({1}))
    whole[-1][-1].set("class", "total")
    return whole


def terms_words(prices: PriceSettings) -> Iterator[Element]:
    """Yield the terms, as entered, where there are any."""
    if prices.terms:
        yield element("h2", "Terms")
        yield element("p", prices.terms, class_="words")


def _rule(rule: str, default: str) -> Element:
    if not default:
        return element("span", rule)
    return element("span", rule, element("br"), element("small", default, class_="faint"))
