"""Rates of a shop in its files: those in force in a job or an order, and corrected ones put in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from embellish.errors import JobError
from embellish.formats.tables import parsed_toml
from embellish.job.orders.counting import opened_order
from embellish.job.orders.order import is_order, read_order
from embellish.job.placing import change_file
from embellish.job.reading import read_job
from embellish.job.reading_files import bytes_of
from embellish.job.text.changes import SetValue
from embellish.job.text.document import changed
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.price_settings import PriceSettings
from embellish.plans.rates.rate import Rate
from embellish.plans.stitching.settings import StitchSettings


@dataclass(frozen=True)
class RatesOfFile:
    """The rates that hold for a job or an order.

    Parameters
    ----------
    own
        The tables that the file itself has, or may have: of an order only those it says, since the
        others are its first job's and writing one would leave that job's rates out.
    first
        The first job of an order, as it names it; '' for a job.
    """

    price: PriceSettings
    marks: StitchSettings
    materials: MaterialSettings
    own: frozenset[str]
    first: str = ""


def rates_of(path: Path) -> RatesOfFile:
    """Read the rates in force in a job or an order.

    Raises
    ------
    EmbellishError
        Where it is neither, or an order's first job cannot be read.
    """
    data = bytes_of(path, JobError, "job or order file")
    if not is_order(parsed_toml(data, str(path), JobError)):
        job = read_job(data, str(path))
        own = frozenset({"price", "marks", "materials"})
        return RatesOfFile(job.price, job.marks, job.materials, own)
    order, rows = opened_order(path)
    first = path.parent / rows[0].job
    job = read_job(bytes_of(first, JobError, "job file"), str(first))
    said = {"price": order.price, "materials": order.materials}
    return RatesOfFile(
        order.price or job.price,
        job.marks,
        order.materials or job.materials,
        frozenset(name for name, table in said.items() if table is not None),
        rows[0].job,
    )


def write_rates(path: Path, rates: Sequence[Rate], values: Sequence[Any]) -> tuple[Rate, ...]:
    """Put rates into a job or an order, as a careful person would; returns those left out.

    Parameters
    ----------
    values
        Of each rate, as it is entered.

    Raises
    ------
    JobError
        Where an order has no table of its own for any of them.
    """
    holds = rates_of(path)
    changes = [
        SetValue(do="set", at=list(rate.at), value=value)
        for rate, value in zip(rates, values, strict=True)
        if rate.at[0] in holds.own
    ]
    if not changes:
        tables = " and ".join(dict.fromkeys(f"[{rate.at[0]}]" for rate in rates))
        raise JobError(
            f"this order has no {tables} of its own: what its first job says holds",
            file=str(path),
            mend=f"Name that job: --job {holds.first}.",
        )

    def change(data: bytes) -> bytes:
        written = changed(data.decode("utf-8-sig"), changes, str(path)).encode()
        (read_order if holds.first else read_job)(written, str(path))
        return written

    change_file(path, change)
    return tuple(rate for rate in rates if rate.at[0] not in holds.own)
