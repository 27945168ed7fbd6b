"""Jobs held against each other: what each takes, costs, weighs, and how long it lasts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from embellish.job.making import Checked
from embellish.plans.piece_counts import piece_counts
from embellish.plans.weights import load_of


@dataclass(frozen=True)
class Figures:
    """What one job comes to, for one garment where not said otherwise.

    What is not known is None: a price without packs. Weights may be estimates.
    """

    title: str
    file: str
    pieces: dict[str, int]
    seats: int
    cost: Decimal | None
    price_per_garment: Decimal | None
    currency: str
    labour_minutes: Decimal
    machine_minutes: Decimal
    stitches: int
    press_passes: int
    templates: int
    weight_g: float
    weight_estimated: bool
    errors: int

    def as_json(self) -> dict[str, Any]:
        """Return the figures for programs; money as text."""
        return {
            "title": self.title,
            "file": self.file,
            "seats": self.seats,
            "pieces": self.pieces,
            "materials_of_all": None if self.cost is None else str(self.cost),
            "price_per_garment": (
                None if self.price_per_garment is None else str(self.price_per_garment)
            ),
            "currency": self.currency,
            "labour_minutes_of_all": str(self.labour_minutes),
            "machine_minutes": str(self.machine_minutes),
            "stitches": self.stitches,
            "press_passes": self.press_passes,
            "templates": self.templates,
            "weight_g": self.weight_g,
            "weight_estimated": self.weight_estimated,
            "errors": self.errors,
        }


def figures_of(checked: Checked) -> Figures:
    """Return what a job comes to."""
    plans, layout = checked.plans, checked.layout
    pieces = piece_counts(layout)
    load = load_of(layout)
    return Figures(
        checked.opened.job.title,
        checked.opened.path.name,
        {code: count for code, count in pieces.items() if count},
        len(layout),
        plans.materials.total,
        plans.quote.price_per_garment,
        plans.quote.currency,
        plans.quote.labour_minutes,
        plans.amounts.stitch_minutes,
        sum(len(hooping.design.stitches) for hooping in plans.stitches.hoopings),
        plans.amounts.press_passes,
        len(plans.templates.templates),
        round(load.grams, 2),
        load.estimated,
        sum(finding.severity == "error" for finding in checked.findings),
    )


def compared(every: Sequence[Figures]) -> list[tuple[str, list[str]]]:
    """Return lines of a table: what, and its value in each job with how far it is from the first.

    A code that only some of the jobs set is 0 in the others.
    """
    first = every[0]
    about = " about" if any(each.weight_estimated for each in every) else ""
    codes = list(dict.fromkeys(code for each in every for code in each.pieces))
    counts = [(code, [each.pieces.get(code, 0) for each in every]) for code in codes]
    lines: list[tuple[str, Sequence[Decimal | float | int | None]]] = [
        ("pieces set", [each.seats for each in every]),
        *counts,
        (f"materials, all {first.currency}".strip(), [each.cost for each in every]),
        (f"price a garment {first.currency}".strip(), [each.price_per_garment for each in every]),
        ("work by hand, all, min", [round(each.labour_minutes, 1) for each in every]),
        ("machine, min", [each.machine_minutes for each in every]),
        ("stitches", [each.stitches for each in every]),
        ("presses", [each.press_passes for each in every]),
        ("templates", [each.templates for each in every]),
        (f"pieces weigh{about}, g", [each.weight_g for each in every]),
        ("errors", [each.errors for each in every]),
    ]
    return [(name, _told(values)) for name, values in lines]


def _told(values: Sequence[Decimal | float | int | None]) -> list[str]:
    told = ["not known" if value is None else f"{value}" for value in values]
    first = values[0]
    for number, value in enumerate(values[1:], 1):
        if value is not None and first is not None and value != first:
            away = Decimal(str(value)) - Decimal(str(first))
            told[number] += f" ({away:+})"
    return told
