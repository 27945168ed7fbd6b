"""Goods that are used up beside the pieces: template sheets and transfer sheets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from embellish.findings import Finding
from embellish.plans.cut_sheets import SheetPlan
from embellish.plans.lifts import LiftPlan
from embellish.plans.money import product, quotient, rounded, smallest, total
from embellish.plans.templates.settings import TemplateSettings


@dataclass(frozen=True, slots=True)
class Good:
    """So many of one thing.

    Parameters
    ----------
    name
        Such as 'template sheet 305 × 305 mm'.
    count
        How many.
    lengths
        How many whole sheets or lengths of a roll are paid for: of a roll the last one only as far
        as it is used.
    price
        Of one sheet or length, as the user entered it; None where nobody did.
    cost
        Of all, rounded half up; None where the price is not known.
    used_share
        How much of the sheets is used, 0 to 1; None where that is not known.
    entered_as
        Where the user enters the price.
    """

    name: str
    count: int
    lengths: Decimal
    price: Decimal | None
    cost: Decimal | None
    used_share: float | None = None
    entered_as: str = ""


def plan_goods(
    settings: TemplateSettings, sheets: SheetPlan | None, lifts: LiftPlan, currency: str
) -> tuple[Good, ...]:
    """Return the sheets that a job takes, and what they cost at the prices entered.

    Parameters
    ----------
    settings
        Sizes and prices.
    sheets
        Templates laid on sheets.
    lifts
        One transfer sheet each.
    currency
        Amounts are rounded to its smallest coin.
    """
    goods = []
    if sheets is not None and sheets.sheets:
        nesting = sheets.nesting
        width, height = nesting.sheet_mm
        lengths = Decimal(nesting.sheets)
        what = f"template sheet {width:g} × {height:g} mm"
        if nesting.roll:
            ends = [Decimal(f"{sheet.height_mm:.3f}") for sheet in sheets.sheets]
            lengths = quotient(total(ends), Decimal(f"{height:.3f}"))
            what = f"{total(ends).normalize():f} mm of a roll {width:g} mm wide"
        goods.append(
            _good(
                what,
                nesting.sheets,
                lengths,
                settings.sheet_price,
                currency,
                "sheet_price under [template]",
                used_share=round(1.0 - nesting.waste, 6),
            )
        )
    if lifts.lift_count:
        what = "transfer sheet"
        if isinstance(settings.transfer, tuple):
            what += f" {settings.transfer[0]:g} × {settings.transfer[1]:g} mm"
        many = lifts.lift_count
        goods.append(
            _good(
                what,
                many,
                Decimal(many),
                settings.transfer_price,
                currency,
                "transfer_price under [template]",
            )
        )
    return tuple(goods)


def _good(
    name: str,
    count: int,
    lengths: Decimal,
    price: Decimal | None,
    currency: str,
    entered_as: str,
    used_share: float | None = None,
) -> Good:
    cost = None if price is None else rounded(product(price, lengths), smallest(currency))
    return Good(name, count, lengths, price, cost, used_share, entered_as)


def unpriced(goods: Iterable[Good]) -> list[Finding]:
    """Tell of goods that no price was entered for."""
    missing = [each for each in goods if each.cost is None]
    if not missing:
        return []
    named = ", ".join(f"{each.count} × {each.name}" for each in missing)
    enter = dict.fromkeys(each.entered_as for each in missing if each.entered_as)
    return [
        Finding(
            "goods-unpriced",
            "note",
            f"No price was entered for {named}: the quote leaves them out.",
            mend=f"Enter {', '.join(enter)}." if enter else "",
        )
    ]


def goods_together(every: Iterable[tuple[Good, ...]]) -> tuple[Good, ...]:
    """Return the goods of several plans in one list, like ones added up."""
    kinds: dict[tuple[str, Decimal | None], list[Good]] = {}
    for goods in every:
        for each in goods:
            kinds.setdefault((each.name, each.price), []).append(each)
    return tuple(
        Good(
            name,
            sum(each.count for each in alike),
            total(each.lengths for each in alike),
            price,
            None if price is None else total(each.cost or Decimal(0) for each in alike),
            alike[0].used_share if len(alike) == 1 else None,
            alike[0].entered_as,
        )
        for (name, price), alike in kinds.items()
    )
