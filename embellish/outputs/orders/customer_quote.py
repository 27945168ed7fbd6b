"""The quote of an order as its customer reads it: garments, price, terms; no cost."""

from __future__ import annotations

from collections.abc import Sequence

from embellish.formats.html import element, page, table
from embellish.outputs.quote_sheet import STYLE, price_table, terms_words
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan


def order_quote_html(
    title: str,
    heads: Sequence[str],
    rows: Sequence[tuple[str, str, int]],
    plan: QuotePlan,
    prices: PriceSettings,
) -> bytes:
    """Return the quote.

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
    """
    return page(
        f"Quote · {title}",
        STYLE,
        element(
            "header",
            element("h1", title),
            *([element("p", prices.shop, class_="words")] if prices.shop else []),
            *(element("p", line, class_="words") for line in heads),
        ),
        element("h2", "Garments"),
        table(
            ("design", "for", "garments"),
            [(design, words, str(number)) for design, words, number in rows],
            frozenset({2}),
        ),
        element("h2", "Price"),
        price_table(plan, order=plan.quantity == 1),
        *terms_words(prices),
        element("p", "Accepted by ______________________________   Date ____________________"),
    )
