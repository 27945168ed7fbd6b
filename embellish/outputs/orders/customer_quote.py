"""The price of several layouts, an order or a pair: the customer's quote, and the shop's sums."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from embellish.formats.html import Element, element, page, picture, table
from embellish.outputs.quote_sheet import APPROVED, STYLE, price_table, sums, terms_words
from embellish.plans.materials import MaterialsPlan
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan

MOST_PICTURES: Final = 12
"""More designs than this would make a quote that nobody reads, and no post takes."""


def order_quote_html(
    title: str,
    heads: Sequence[str],
    rows: Sequence[tuple[str, str, int]],
    plan: QuotePlan,
    prices: PriceSettings,
    *,
    pictures: Sequence[tuple[str, bytes]] = (),
    left_out: int = 0,
    stop: str = "",
    each: str = "",
) -> bytes:
    """Return the quote for the customer: garments, pictures, price, terms; no cost.

    Parameters
    ----------
    title, heads
        Of the order; customer, date, note.
    rows
        Design, what sets its garments apart (size, place, text), and how many.
    plan
        The price of all.
    prices
        The shop and the terms, as entered.
    pictures
        Of designs, each with its words, in the order of the rows.
    left_out
        How many designs have no picture here.
    stop
        Words of warning where an error stands in any design.
    each
        What there is several of, such as 'pair'; '' for the garments of an order.
    """
    what = each or "garment"
    return page(
        f"Quote · {title}",
        STYLE,
        *_head(title, heads, prices, stop),
        element("h2", f"{what.capitalize()}s"),
        table(
            ("design", "for", f"{what}s"),
            [(design, words, str(number)) for design, words, number in rows],
            frozenset({2}),
        ),
        *_pictures(pictures, left_out),
        element("h2", "Price"),
        price_table(plan, order=not each and plan.quantity == 1, each=what),
        *terms_words(prices),
        element("p", "Accepted by ______________________________   Date ____________________"),
    )


def order_costing_html(
    title: str,
    heads: Sequence[str],
    plan: QuotePlan,
    materials: MaterialsPlan,
    prices: PriceSettings,
    *,
    stop: str = "",
) -> bytes:
    """Return the private sheet of an order: each line of the sum with its rule, what remains."""
    return page(
        f"Costing · {title}", STYLE, *_head(title, heads, prices, stop), *sums(plan, materials)
    )


def _head(title: str, heads: Sequence[str], prices: PriceSettings, stop: str) -> Iterator[Element]:
    if stop:
        yield element("div", stop, class_="stop")
    yield element(
        "header",
        element("h1", title),
        *([element("p", prices.shop, class_="words")] if prices.shop else []),
        *(element("p", line, class_="words") for line in heads),
    )


def _pictures(pictures: Sequence[tuple[str, bytes]], left_out: int) -> Iterator[Element]:
    if not pictures:
        return
    yield element("h2", "Designs")
    for words, png in pictures:
        yield picture(png, words)
        yield element("p", words, class_="faint")
    yield element("p", APPROVED, class_="faint")
    if left_out:
        yield element("p", f"{left_out} more designs have pictures of their own.", class_="faint")
