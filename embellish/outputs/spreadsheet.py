"""A spreadsheet (XLSX, ISO/IEC 29500) of materials, orders by supplier, and the quote.

Every text is written as text: what a user typed never becomes a formula or a link. Numbers are
numbers, so that a shop can go on with them.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from typing import Any, Final

from embellish.formats.extras import extra
from embellish.outputs.pack_words import named
from embellish.plans.materials import MaterialsPlan
from embellish.plans.money import places
from embellish.plans.quote import QuotePlan

_MADE: Final = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
"""The same job gives the same bytes, so no clock is read."""

_OPTIONS: Final = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}

Cell = str | int | Decimal | None


def spreadsheet_xlsx(
    title: str, materials: MaterialsPlan, quote: QuotePlan, stop: str = ""
) -> bytes:
    """Return the workbook with the sheets Materials, Orders and Quote.

    Parameters
    ----------
    title
        The line above each sheet.
    materials, quote
        What is bought, and what is asked for it.
    stop
        Where an error stands, such as 'NOT TO BE CUT'.

    Raises
    ------
    EmbellishError
        Where the library for it is not installed.
    """
    out = io.BytesIO()
    book = extra("xlsxwriter").Workbook(out, dict(_OPTIONS))
    book.set_properties({"title": title, "created": _MADE.replace(tzinfo=None)})
    sheets = _Sheets(book, title, stop, materials.currency)
    sheets.add("Materials", _MATERIALS, _materials(materials), widths=(22, 34, 10, 10, 16))
    sheets.add("Orders", _ORDERS, _orders(materials), widths=(22, 22, 34, 12))
    sheets.add("Quote", ("line", "how it came about", "amount"), _quote(quote), widths=(28, 70))
    book.close()
    return out.getvalue()


def list_xlsx(
    name: str, head: Sequence[str], rows: Iterable[Sequence[str]], numbers: Collection[str]
) -> bytes:
    """Return a list as a workbook of one sheet, names of the columns in its first row.

    Parameters
    ----------
    name
        What the sheet is called.
    head, rows
        Texts.
    numbers
        Columns whose cells are written as numbers; all others stay text.
    """
    out = io.BytesIO()
    book = extra("xlsxwriter").Workbook(out, dict(_OPTIONS))
    book.set_properties({"title": name, "created": _MADE.replace(tzinfo=None)})
    sheet, bold = book.add_worksheet(name), book.add_format({"bold": True, "bottom": 1})
    for column, word in enumerate(head):
        sheet.write_string(0, column, word, bold)
    number = [word in numbers for word in head]
    for row, cells in enumerate(rows, 1):
        for column, cell in enumerate(cells):
            if cell and number[column]:
                sheet.write_number(row, column, float(cell))
            elif cell:
                sheet.write_string(row, column, cell)
    sheet.freeze_panes(1, 1)
    book.close()
    return out.getvalue()


_MATERIALS: Final = (
    *("code", "name", "kind", "size", "colour", "fixing", "one garment", "all garments"),
    *("spare", "needed", "from stock", "bought", "left over", "cost"),
)
_ORDERS: Final = (
    *("supplier", "code", "name", "lot", "pieces in a pack", "packs", "price of a pack", "cost"),
)


def _materials(plan: MaterialsPlan) -> Iterable[Sequence[Cell]]:
    for line in plan.lines:
        piece = line.piece
        bought = sum(pack.pieces * pack.quantity for pack in line.packs)
        yield (
            *(piece.code, piece.name, piece.kind, piece.size, piece.colour, piece.fixing),
            *(line.per_garment, line.count, line.spare, line.needed, line.from_stock, bought),
            *(line.left_over, line.cost),
        )
    yield ("total", *[""] * (len(_MATERIALS) - 2), plan.total)


def _orders(plan: MaterialsPlan) -> Iterable[Sequence[Cell]]:
    for order in plan.orders:
        supplier = named(order.supplier)
        for line in plan.lines:
            for pack in line.packs:
                if pack.supplier == order.supplier:
                    sold = f"pack of {pack.amount}" if pack.amount else ""
                    name = ", ".join(part for part in (line.piece.name, sold) if part)
                    yield (
                        *(supplier, line.code, name, pack.lot),
                        *(pack.pieces, pack.quantity, pack.price, pack.cost),
                    )
        blank: list[Cell] = [""] * 5
        yield (supplier, "sending", *blank, order.shipping)


def _quote(plan: QuotePlan) -> Iterable[Sequence[Cell]]:
    for line in plan.lines:
        rule = "; ".join(part for part in (line.rule, line.default) if part)
        yield (line.name, rule, line.amount)


class _Sheets:
    """The workbook under its headings and formats."""

    def __init__(self, book: Any, title: str, stop: str, currency: str) -> None:
        self.book, self.title, self.stop, self.currency = book, title, stop, currency
        zeros = "0." + "0" * places(currency) if places(currency) else "0"
        self.bold = book.add_format({"bold": True})
        self.head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        self.wrap = book.add_format({"text_wrap": True, "valign": "top"})
        self.money = book.add_format({"num_format": zeros, "valign": "top"})

    def add(
        self,
        name: str,
        head: Sequence[str],
        rows: Iterable[Sequence[Cell]],
        *,
        widths: Sequence[int],
    ) -> None:
        sheet = self.book.add_worksheet(name)
        sheet.write_string(0, 0, self.title, self.bold)
        if self.stop:
            sheet.write_string(1, 0, self.stop, self.bold)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        for column, word in enumerate(head):
            unit = f" ({self.currency})" if word in _MONEY and self.currency else ""
            sheet.write_string(2, column, word + unit, self.head)
        row = 2
        for row, cells in enumerate(rows, 3):
            for column, cell in enumerate(cells):
                self._write(sheet, row, column, cell)
        sheet.freeze_panes(3, 1)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(2)
        sheet.print_area(0, 0, max(row, 3), len(head) - 1)

    def _write(self, sheet: Any, row: int, column: int, cell: Cell) -> None:
        if cell is None:
            sheet.write_string(row, column, "not known")
        elif isinstance(cell, str):
            sheet.write_string(row, column, cell, self.wrap)
        elif isinstance(cell, int):
            sheet.write_number(row, column, cell)
        else:
            sheet.write_number(row, column, float(cell), self.money)


_MONEY: Final = frozenset({"cost", "price of a pack", "amount"})
