"""Jobs held against each other: what each takes, costs, weighs, and how long it lasts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from embellish.job.making import Checked, proof_of
from embellish.job.partners import CheckedPair, materials_of, sides_of
from embellish.outputs.proof import picture_png
from embellish.plans.money import total
from embellish.plans.piece_counts import piece_counts
from embellish.plans.weights import load_of

_PICTURE_PX = 1100


@dataclass(frozen=True)
class Figures:
    """What one job comes to, for one garment where not said otherwise; of a pair, for both sides.

    What is not known is None: a price without packs. Weights may be estimates.
    """

    title: str
    file: str
    size: str
    """Of several garment sizes this one; '' where the job has none."""
    quantity: int
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

    @property
    def name(self) -> str:
        """What it is called beside others."""
        return f"{self.file}, {self.size}" if self.size else self.file

    @property
    def minutes(self) -> Decimal:
        """Work by hand and time of the machine, of all."""
        return self.labour_minutes + self.machine_minutes * self.quantity

    def as_json(self) -> dict[str, Any]:
        """Return the figures for programs; money as text."""
        return {
            "title": self.title,
            "file": self.file,
            "size": self.size,
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


def figures_of(checked: Checked | CheckedPair) -> Figures:
    """Return what a job comes to."""
    opened, sides, materials = checked.opened, sides_of(checked), materials_of(checked)
    quote = checked.quote if isinstance(checked, CheckedPair) else checked.plans.quote
    pieces: Counter[str] = Counter()
    for side in sides:
        pieces.update(piece_counts(side.layout))
    loads = [load_of(side.layout) for side in sides]
    stitched = [hooping for side in sides for hooping in side.plans.stitches.hoopings]
    return Figures(
        opened.job.title,
        opened.path.name,
        opened.size,
        opened.job.quantity,
        {code: count for code, count in pieces.items() if count},
        sum(len(side.layout) for side in sides),
        materials.total,
        quote.price_per_garment,
        quote.currency,
        quote.labour_minutes,
        total(side.plans.amounts.stitch_minutes for side in sides),
        sum(len(hooping.design.stitches) for hooping in stitched),
        sum(side.plans.amounts.press_passes for side in sides),
        sum(len(side.plans.templates.templates) for side in sides),
        round(sum(load.grams for load in loads), 2),
        any(load.estimated for load in loads),
        sum(finding.severity == "error" for finding in checked.findings),
    )


def pictures_of(name: str, checked: Checked | CheckedPair) -> list[tuple[str, bytes]]:
    """Return the pictures that stand for a job beside others, each side's own, with their words."""
    shown = []
    for side in sides_of(checked):
        whose = f"{name} {side.opened.side}" if side.opened.side else name
        drawn = picture_png(proof_of(side, alone=True), _PICTURE_PX)
        shown.append((f"{whose}: {len(side.layout)} pieces", drawn))
    return shown


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
