"""The quote: what a job costs to make, and its price, each line with the rule behind it.

Every rate is the shop's own. A rate that was not entered is a default and its line says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from embellish.catalogue.piece import Kind
from embellish.findings import Finding, counted
from embellish.layout.layout import Layout, SetBy
from embellish.plans.goods import Good
from embellish.plans.materials import MaterialsPlan
from embellish.plans.money import product, quotient, rounded, smallest, total, written
from embellish.plans.piece_counts import pieces_by_lay
from embellish.plans.price_settings import PriceSettings

_DEFAULT_MARKUP: Final = Decimal("0.50")


@dataclass(frozen=True, slots=True)
class WorkAmounts:
    """The work in one garment, as other plans have counted it.

    Parameters
    ----------
    pieces
        How many pieces are set, by how they are set and their kind.
    stitch_minutes
        Machine time for marks.
    press_passes
        Closings of the press.
    goods
        Sheets that the whole job uses up.
    garments, setups
        Where one of the quantity is a whole order: how many garments, and how many designs are
        set up.
    stitch_rule, stitch_default
        How machine time came about, and which figures behind it nobody entered.
    """

    pieces: Mapping[tuple[SetBy, Kind], int]
    stitch_minutes: Decimal = Decimal(0)
    press_passes: int = 0
    goods: tuple[Good, ...] = ()
    garments: int = 1
    setups: int = 1
    stitch_rule: str = ""
    stitch_default: str = ""


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One step of the sum: what, how it came about, how much."""

    name: str
    rule: str
    amount: Decimal
    default: str = ""
    """Which rates behind it nobody entered."""
    minutes: Decimal = Decimal(0)
    """Minutes of work by hand in it."""


@dataclass(frozen=True, slots=True)
class QuotePlan:
    """Cost and price of a job; amounts of the whole job but for ``price_per_garment``.

    ``price`` is without tax, ``total`` with it. Where the cost of materials is not known, they
    are all None: a price that leaves something out would be a loss.
    """

    currency: str
    quantity: int
    lines: tuple[QuoteLine, ...]
    method: Literal["markup", "margin"]
    cost: Decimal | None
    price_per_garment: Decimal | None
    price: Decimal | None
    tax: Decimal | None
    total: Decimal | None
    findings: tuple[Finding, ...] = field(default=())
    at_quantities: tuple[QuotePlan, ...] = ()
    """The same job at other numbers of garments, each with its own packs, sheets and set-up."""

    @property
    def labour_minutes(self) -> Decimal:
        """Work by hand of the whole job: setting, pressing, set-up, garments."""
        return sum((line.minutes for line in self.lines), Decimal(0))

    @property
    def markup_share(self) -> Decimal | None:
        """What the price is over the cost, as a share of the cost, after rounding."""
        if self.cost is None or self.price is None or not self.cost:
            return None
        return quotient(self.price - self.cost, self.cost)

    @property
    def margin_share(self) -> Decimal | None:
        """What the price is over the cost, as a share of the price, after rounding."""
        if self.cost is None or self.price is None or not self.price:
            return None
        return quotient(self.price - self.cost, self.price)


def set_counts(layout: Layout) -> dict[tuple[SetBy, Kind], int]:
    """Return how many pieces one garment takes, by how they are set and kind, units in full."""
    kinds = {piece.code: piece.kind for piece in layout.pieces}
    counts: dict[tuple[SetBy, Kind], int] = {}
    for (lay, code), number in pieces_by_lay(layout).items():
        key = (layout.lays[lay].set_by, kinds[code])
        counts[key] = counts.get(key, 0) + number
    return counts


def stitched_together(every: Iterable[tuple[WorkAmounts, int]]) -> tuple[Decimal, str, str]:
    """Return minutes of the machine over several layouts, their rule, and what nobody entered.

    Parameters
    ----------
    every
        The work of each layout, and how often it is made.
    """
    sewn = [(work, times) for work, times in every if work.stitch_minutes]
    minutes = total(product(work.stitch_minutes, times) for work, times in sewn)
    rules = [
        f"{times} × ({work.stitch_rule})" if times != 1 else work.stitch_rule
        for work, times in sewn
    ]
    rule = " and ".join(rules) if len(rules) <= _RULES_SHOWN else f"marks of {len(rules)} layouts"
    return minutes, rule, next((work.stitch_default for work, _ in sewn if work.stitch_default), "")


_RULES_SHOWN: Final = 3


def plan_quote(
    materials: MaterialsPlan, work: WorkAmounts, settings: PriceSettings | None = None
) -> QuotePlan:
    """Return cost and price of a job, line by line.

    Every line is rounded half up to the smallest amount of the currency, and the cost is the sum
    of these lines, so that the sheet adds up. The price is worked out for one garment, rounded,
    and multiplied, so that what is said for one holds for all.
    """
    rates = settings or PriceSettings()
    currency = rates.currency or materials.currency
    cent = smallest(currency)
    findings: list[Finding] = list(_of_currency(rates, materials))
    lines = _costs(rates, materials, work, cent, findings)
    direct = total(line.amount for line in lines)
    lines.append(
        QuoteLine(
            "overhead",
            f"{_percent(rates.overhead_share)} of {written(direct, currency)}",
            rounded(product(direct, rates.overhead_share), cent),
            rates.said("overhead_share"),
        )
    )
    cost = total(line.amount for line in lines)
    by_margin = rates.margin_share is not None
    known = materials.total is not None and not any(each.severity == "error" for each in findings)
    priced: list[QuoteLine] = []
    if known:
        one = "garment" if work.garments == 1 else "order"
        priced = _priced(rates, cost, materials.quantity, currency, one)
    else:
        findings.append(
            Finding(
                "price-unknown",
                "warning",
                "no price is given, since a cost is not known; the lines that are known add up to "
                f"{written(cost, currency)} {currency}",
                mend="Add the missing packs and prices to your catalogue.",
            )
        )
    amounts = [line.amount for line in priced]
    return QuotePlan(
        currency=currency,
        quantity=materials.quantity,
        lines=(*lines, *priced),
        method="margin" if by_margin else "markup",
        cost=cost if known else None,
        price_per_garment=amounts[0] if known else None,
        price=amounts[1] if known else None,
        tax=amounts[2] if known else None,
        total=amounts[3] if known else None,
        findings=tuple(findings),
    )


def _of_currency(rates: PriceSettings, materials: MaterialsPlan) -> list[Finding]:
    if rates.currency and materials.currency and rates.currency != materials.currency:
        return [
            Finding(
                "quote-currency",
                "error",
                f"the price table is in {rates.currency}, the catalogues in {materials.currency}",
                mend="Use one currency: enter your packs and prices in your own catalogue.",
            )
        ]
    return []


def _costs(
    rates: PriceSettings,
    materials: MaterialsPlan,
    work: WorkAmounts,
    cent: Decimal,
    findings: list[Finding],
) -> list[QuoteLine]:
    quantity = materials.quantity
    lines = [_materials(materials, cent), *_from_stock(materials, cent, findings)]
    lines += [
        QuoteLine(
            f"sending, {order.supplier}" if order.supplier else "sending",
            f"one order of {written(order.value, materials.currency)}",
            rounded(order.shipping, cent),
        )
        for order in materials.orders
        if order.shipping
    ]
    lines += [_of_good(each) for each in work.goods]
    hour = rates.labour_cost_per_hour

    def labour(name: str, minutes: Decimal, rule: str, default: str) -> None:
        if minutes:
            how = f"{rule} = {_number(minutes)} min at {_hourly(rates)}"
            defaults = "; ".join(part for part in (default, wage) if part)
            amount = rounded(quotient(product(minutes, hour), 60), cent)
            lines.append(QuoteLine(name, how, amount, defaults, minutes))

    wage = rates.said("labour_rate_per_hour")
    for (set_by, kind), number in work.pieces.items():
        each, default = rates.minutes_of_piece(set_by, kind)
        labour(
            f"setting, {kind}, {set_by}",
            product(each, number, quantity),
            f"{number} × {quantity} pieces × {_number(each)} min",
            default,
        )
    labour(
        "pressing",
        product(rates.press_cycle_minutes, work.press_passes, quantity),
        f"{work.press_passes} × {quantity} passes × {_number(rates.press_cycle_minutes)} min",
        rates.said("press_cycle_minutes"),
    )
    labour(
        "setup",
        product(rates.setup_minutes, work.setups),
        "once a job"
        if work.setups == 1
        else f"{work.setups} designs × {_number(rates.setup_minutes)} min",
        rates.said("setup_minutes"),
    )
    garments = quantity * work.garments
    labour(
        "garments",
        product(rates.garment_minutes, garments),
        f"{counted(garments, 'garment')} × {_number(rates.garment_minutes)} min",
        rates.said("garment_minutes"),
    )
    stitching = product(work.stitch_minutes, quantity)
    if stitching:
        amount = rounded(quotient(product(stitching, rates.machine_rate_per_hour), 60), cent)
        how = f"{work.stitch_rule} = " if work.stitch_rule else ""
        rule = (
            f"{how}{_number(work.stitch_minutes)} min × {quantity} = {_number(stitching)} min at "
            f"{_number(rates.machine_rate_per_hour)} an hour"
        )
        defaults = (work.stitch_default, rates.said("machine_rate_per_hour"))
        lines.append(QuoteLine("stitching", rule, amount, "; ".join(filter(None, defaults))))
    for extra in rates.extra:
        times = garments if extra.per == "garment" else 1
        rule = f"{_number(extra.amount)} × {times}" if times != 1 else f"once a {extra.per}"
        lines.append(QuoteLine(extra.name, rule, rounded(product(extra.amount, times), cent)))
    return lines


def _materials(materials: MaterialsPlan, cent: Decimal) -> QuoteLine:
    known = [line.cost for line in materials.lines if line.cost is not None]
    unknown = [line.code for line in materials.lines if line.cost is None]
    rule = f"whole packs of {counted(len(known), 'code')}, spares included"
    if unknown:
        rule += f"; cost not known of {', '.join(unknown)}"
    if any(pack.invented for line in materials.lines for pack in line.piece.packs):
        rule += "; prices among them are invented examples - enter yours"
    return QuoteLine("materials bought", rule, rounded(total(known), cent))


def _from_stock(
    materials: MaterialsPlan, cent: Decimal, findings: list[Finding]
) -> list[QuoteLine]:
    """Charge what is used up from stock at the least price of one piece."""
    used = [line for line in materials.lines if line.from_stock]
    valued = [
        product(line.unit_price, line.from_stock) for line in used if line.unit_price is not None
    ]
    unvalued = [line.code for line in used if line.unit_price is None]
    if unvalued:
        findings.append(
            Finding(
                "stock-unvalued",
                "warning",
                f"pieces from stock without a pack price are charged at nothing: "
                f"{', '.join(unvalued)}",
                mend="Add a pack with a price for them to your catalogue.",
            )
        )
    if not used:
        return []
    pieces = sum(line.from_stock for line in used)
    rule = f"{pieces} pieces at the least price of one in any pack"
    return [QuoteLine("materials from stock", rule, rounded(total(valued), cent))]


def _of_good(good: Good) -> QuoteLine:
    if good.price is None or good.cost is None:
        return QuoteLine(
            good.name, f"{good.count}, no price entered", Decimal(0), "price: not entered"
        )
    lengths = _number(good.lengths)
    return QuoteLine(good.name, f"{lengths} × {_number(good.price)}", good.cost)


def _priced(
    rates: PriceSettings, cost: Decimal, quantity: int, currency: str, one: str
) -> list[QuoteLine]:
    """Return the lines price of one, price, tax, total."""
    cent = smallest(currency)
    step = rates.rounding or cent
    if rates.margin_share is not None:
        full = quotient(cost, 1 - rates.margin_share)
        how = f"cost {written(cost, currency)} / (1 - {_percent(rates.margin_share)} margin)"
        default = ""
    else:
        markup = _DEFAULT_MARKUP if rates.markup_share is None else rates.markup_share
        full = product(cost, 1 + markup)
        how = f"cost {written(cost, currency)} × (1 + {_percent(markup)} markup)"
        default = rates.said("markup_share")
    each = rounded(quotient(full, quantity), step)
    price = product(each, quantity)
    tax = rounded(product(price, rates.tax_share), cent)
    return [
        QuoteLine(
            f"price of one {one}",
            f"{how} / {quantity}, rounded half up to {_number(step)}",
            each,
            default,
        ),
        QuoteLine("price", f"{written(each, currency)} × {quantity}", price),
        QuoteLine(
            "tax",
            f"{_percent(rates.tax_share)} of {written(price, currency)}, rounded half up",
            tax,
            rates.said("tax_share"),
        ),
        QuoteLine("total", "price and tax", total((price, tax))),
    ]


def _hourly(rates: PriceSettings) -> str:
    burden = [f"{name} {_percent(share)}" for name, share in rates.labour_burden.items()]
    if rates.labour_burden_per_hour:
        burden.append(f"{_number(rates.labour_burden_per_hour)} fixed")
    words = f"{_number(rates.labour_cost_per_hour)} an hour"
    if burden:
        words += f" ({_number(rates.labour_rate_per_hour)} with {', '.join(burden)})"
    return words


def _percent(share: Decimal) -> str:
    return f"{_number(product(share, 100))} %"


def _number(amount: Decimal) -> str:
    """Return a number for reading: at most four decimals, none that say nothing."""
    text = f"{rounded(amount, Decimal('0.0001')):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
