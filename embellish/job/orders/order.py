"""The order file: a customer, a date, and a row for each garment that somebody gets.

A whole one, small::

    version = 1
    title = "Choir, winter concert"
    customer = "Example choir"
    due = 2026-12-12
    rows = "choir.csv"

    [[row]]
    person = "Ana"
    size = "M"
    area = "left chest"
    job = "blouse.toml"
    quantity = 2

The CSV named by ``rows`` has the same words as columns: job, and person, size, area, text, quantity
and note where they are needed. ``text`` stands in place of the job's own words, as in
``embellish names``. Where a job has garment sizes, it is laid at the size named; else the size is a
label. ``[price]`` and ``[materials]`` are those of a job; left out, the first job's hold.
"""

from __future__ import annotations

import datetime as dt
from pathlib import PurePosixPath
from typing import Annotated, Any, Final, Literal

from pydantic import Field

from embellish.errors import JobError
from embellish.formats.csv_lists import read_list
from embellish.formats.fields import NoTruth
from embellish.formats.tables import checked, parsed_toml
from embellish.job.model import Table
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.price_settings import PriceSettings

ORDER_VERSION: Final = 1

Label = Annotated[str, Field(max_length=120)]


class OrderRow(Table):
    """``[[row]]``: garments of one kind for one person."""

    job: Annotated[str, Field(min_length=1)]
    person: Label = ""
    size: Label = ""
    area: Label = ""
    """Where on the garment: left chest, back."""
    text: Annotated[str, Field(max_length=400)] = ""
    quantity: Annotated[int, NoTruth, Field(ge=1, le=100_000)] = 1
    note: Annotated[str, Field(max_length=2000)] = ""

    @property
    def words(self) -> str:
        """What it is called in messages."""
        parts = (self.person, self.text, self.size and f"size {self.size}", self.area)
        return ", ".join(part for part in parts if part) or PurePosixPath(self.job).stem


class Order(Table):
    """A whole order file."""

    version: Literal[1] = ORDER_VERSION
    title: Annotated[str, Field(min_length=1, max_length=120)]
    customer: Label = ""
    due: dt.date | None = None
    note: Annotated[str, Field(max_length=2000)] = ""
    rows: Annotated[str, Field(min_length=1)] | None = None
    row: tuple[OrderRow, ...] = ()
    price: PriceSettings | None = None
    materials: MaterialSettings | None = None


def is_order(table: dict[str, Any]) -> bool:
    """Return whether parsed TOML looks like an order rather than a job."""
    of_a_job = {"lay", "artwork", "lettering", "catalogues", "catalogue"} & table.keys()
    return not of_a_job and bool({"row", "rows", "customer", "due", "title"} & table.keys())


def read_order(data: bytes, name: str) -> Order:
    """Read an order file; rows kept in a list are still to be added.

    Raises
    ------
    JobError
        For the first thing that is wrong: file, row, key and mend.
    """
    table = parsed_toml(data, name, JobError)
    rows = table.get("row", [])
    if not isinstance(rows, list):
        raise JobError("a row is a table", file=name, item="row", mend="Write it as [[row]].")
    read = tuple(
        checked(OrderRow, row, file=name, item=f"row {number}", error=JobError)
        for number, row in enumerate(rows, 1)
    )
    order = checked(Order, {**table, "row": read}, file=name, item=None, error=JobError)
    if not order.row and order.rows is None:
        raise JobError(
            "there is nothing in this order", file=name, mend="Add a [[row]], or rows = 'LIST.csv'."
        )
    return order


def read_order_rows(data: bytes, file: str) -> tuple[OrderRow, ...]:
    """Read the rows of an order from a list.

    Raises
    ------
    JobError
        Where it is no such list; with the line that is wrong.
    """
    known = tuple(OrderRow.model_fields)
    found = []
    listed = read_list(
        data, file, what="rows", needed="job", known=known, error=JobError, only_in="an order"
    )
    for row in listed:
        cells: dict[str, Any] = dict(row.cells)
        quantity = cells.get("quantity", "1")
        cells["quantity"] = int(quantity) if quantity.isdecimal() else quantity
        found.append(checked(OrderRow, cells, file=file, item=f"line {row.line}", error=JobError))
    return tuple(found)
