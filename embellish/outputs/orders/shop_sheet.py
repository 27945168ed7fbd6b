"""The shop's sheet of an order: what to buy, cut and sew once, and what goes into each bag."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from embellish.findings import counted
from embellish.formats.html import Element, element, page, table
from embellish.outputs.pack_words import packs_words
from embellish.outputs.worksheet_parts import cautions
from embellish.plans.goods import Good
from embellish.plans.materials import MaterialsPlan
from embellish.plans.money import told
from embellish.plans.tallies import HoopingTally, TemplateTally
from embellish.plans.working.cautions import Caution

_STYLE = """
@page { size: A4; margin: 14mm }
body { font: 10.5pt/1.4 system-ui, sans-serif; color: #1d1f24; max-width: 190mm; margin: 8mm auto }
h1 { font-size: 17pt; margin: 0 }
h2 { font-size: 13pt; margin: 7mm 0 2mm; break-after: avoid }
.faint { color: #5d6270; margin: 1mm 0 }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; padding: 1mm 2mm; border-bottom: 0.2mm solid #c9ccd3;
  vertical-align: top }
tr { break-inside: avoid }
.n { text-align: right; font-variant-numeric: tabular-nums }
.bag { border: 0.3mm solid #c9ccd3; padding: 3mm; margin: 3mm 0; break-inside: avoid }
.bag h3 { font-size: 12pt; margin: 0 0 1mm }
.bag ul { list-style: none; margin: 0; padding: 0 }
.bag li::before { content: "\\25a1\\00a0\\00a0" }
.cautions { padding-left: 5mm; margin: 0 }
.source { color: #5d6270; font-size: 8.5pt }
.stop { background: #b3261e; color: #fff; padding: 2mm 3mm; font-weight: 700 }
@media print { body { margin: 0; max-width: none } }
"""
_STOP = "AN ERROR STANDS IN A DESIGN OF THIS ORDER: see findings.json before cutting or sewing"


@dataclass(frozen=True, eq=False)
class DesignFacts:
    """One layout of the order, what is cut and sewn for it, and what to beware of."""

    title: str
    garments: int
    templates: tuple[TemplateTally, ...]
    hoopings: tuple[HoopingTally, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, eq=False)
class BagLine:
    """Garments of one row of the order, and the pieces of one of them that hands set."""

    what: str
    quantity: int
    fingerprints: str
    pieces: Mapping[str, int]
    note: str = ""


@dataclass(frozen=True, eq=False)
class Bag:
    """What one person gets."""

    person: str
    lines: tuple[BagLine, ...]


def shop_sheet_html(
    title: str,
    heads: Sequence[str],
    materials: MaterialsPlan,
    goods: Sequence[Good],
    designs: Sequence[DesignFacts],
    bags: Sequence[Bag],
    *,
    stopped: bool,
) -> bytes:
    """Return the sheet.

    Parameters
    ----------
    title
        Of the order.
    heads
        Lines under it: customer, date, note.
    materials, goods
        Bought for all of it.
    designs
        What is cut and sewn.
    bags
        By person, in the order's own order.
    stopped
        Whether an error stands, which is printed large.
    """
    many = counted(sum(line.quantity for bag in bags for line in bag.lines), "garment")
    return page(
        f"Order · {title}",
        _STYLE,
        *([element("div", _STOP, class_="stop")] if stopped else []),
        element("h1", title),
        *(element("p", line, class_="faint") for line in (*heads, many)),
        element("h2", "Buy"),
        _bought(materials),
        *_goods(goods),
        *cautions(tuple(dict.fromkeys(each for design in designs for each in design.cautions))),
        *_cut(designs),
        *_sewn(designs),
        element("h2", "Pack"),
        *(_bag(bag) for bag in bags),
    )


def _bought(plan: MaterialsPlan) -> Element:
    rows = [
        (
            line.code,
            line.piece.name,
            str(line.count),
            str(line.spare),
            str(line.from_stock) if line.from_stock else "",
            packs_words(line) or "–",
            told(line.cost, plan.currency),
        )
        for line in plan.lines
    ]
    head = ("code", "piece", "all", "spare", "from stock", "packs", plan.currency or "cost")
    return table(head, rows, frozenset({2, 3, 4, 6}))


def _goods(goods: Sequence[Good]) -> Iterator[Element]:
    for good in goods:
        yield element("p", f"{good.count} × {good.name}")


def _cut(designs: Sequence[DesignFacts]) -> Iterator[Element]:
    rows = [
        (
            design.title,
            each.template,
            ", ".join(f"{number} × {code}" for code, number in each.codes.items()),
            str(each.lifts * design.garments),
        )
        for design in designs
        for each in design.templates
    ]
    if rows:
        yield element("h2", "Cut once, lift for every garment")
        head = ("design", "template", "holes", "lifts in all")
        yield table(head, rows, frozenset({3}))


def _sewn(designs: Sequence[DesignFacts]) -> Iterator[Element]:
    rows = [
        (
            design.title,
            f"{each.hooping} {each.position}".removesuffix("only").strip(),
            str(each.marks),
            str(each.stitches),
            str(design.garments),
        )
        for design in designs
        for each in design.hoopings
    ]
    if rows:
        yield element("h2", "Sew marks")
        head = ("design", "hooping", "marks", "stitches", "times")
        yield table(head, rows, frozenset({2, 3, 4}))


def _bag(bag: Bag) -> Element:
    lines = []
    for line in bag.lines:
        pieces = ", ".join(f"{number} × {code}" for code, number in line.pieces.items())
        words = f"{line.quantity} × {line.what} (layout {line.fingerprints})"
        lines.append(
            element(
                "li",
                words,
                element("div", f"each: {pieces}", class_="faint"),
                *([element("div", line.note)] if line.note else []),
            )
        )
    return element(
        "div", element("h3", bag.person or "no name"), element("ul", *lines), class_="bag"
    )
