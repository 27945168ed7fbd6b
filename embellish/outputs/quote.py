"""quote.json: cost and price with the rule of every line, as bytes."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from embellish.plans.money import rounded, written
from embellish.plans.quote import QuotePlan
from embellish.plans.title import TitleBlock


def quote_json(plan: QuotePlan, title: TitleBlock) -> bytes:
    """Return quote.json; what is not known is null, and ``notes`` say why."""

    def money(amount: Decimal | None) -> str | None:
        return None if amount is None else written(amount, plan.currency)

    def share(value: Decimal | None) -> str | None:
        return None if value is None else f"{rounded(value, Decimal('0.0001')):f}"

    content: dict[str, Any] = {
        "format": "embellish-quote",
        "version": 1,
        "title": title.title,
        "revision": title.revision,
        "size": title.size,
        "side": title.side,
        "layout": title.fingerprint,
        "stop": title.stop,
        "currency": plan.currency,
        "quantity": plan.quantity,
        "lines": [
            {
                "name": line.name,
                "rule": line.rule,
                "default": line.default,
                "amount": money(line.amount),
            }
            for line in plan.lines
        ],
        "method": plan.method,
        "markup": share(plan.markup_share),
        "margin": share(plan.margin_share),
        "cost": money(plan.cost),
        "price_per_garment": money(plan.price_per_garment),
        "price": money(plan.price),
        "tax": money(plan.tax),
        "total": money(plan.total),
        "at_quantities": [
            {
                "quantity": other.quantity,
                "cost": money(other.cost),
                "price_per_garment": money(other.price_per_garment),
                "price": money(other.price),
                "total": money(other.total),
            }
            for other in plan.at_quantities
        ],
        "notes": [finding.message for finding in plan.findings],
    }
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()
