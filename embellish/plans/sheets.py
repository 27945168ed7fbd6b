"""Sheets: rectangles to be cut, nested on sheets or a roll; how many, and how much is wasted.

Free space is kept as the largest empty rectangles; each thing goes where it leaves the least
short side (Jylänki 2010, "A thousand ways to pack the bin", from memory). A few orders are tried
and the best kept: fewest sheets, then the least of the last one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.findings import Finding
from embellish.units import EPS_MM

GAP_MM: Final = 3.0


@dataclass(frozen=True, slots=True)
class Sheetful:
    """One thing to be cut: a rectangle, so many times."""

    name: str
    width_mm: float
    height_mm: float
    copies: int = 1


@dataclass(frozen=True, slots=True)
class Nested:
    """Where one copy lies.

    Parameters
    ----------
    name
        Of the thing.
    sheet
        Number of the sheet, from 0.
    x_mm, y_mm
        Its top left corner on the sheet.
    turned
        Whether it lies a quarter turn clockwise.
    width_mm, height_mm
        As it lies.
    """

    name: str
    sheet: int
    x_mm: float
    y_mm: float
    turned: bool
    width_mm: float
    height_mm: float


@dataclass(frozen=True, eq=False)
class Nesting:
    """All copies on sheets of one size.

    Parameters
    ----------
    placed
        Every copy that fits.
    sheet_mm
        Width and height of a sheet; of a roll, its width and the length cut in one go.
    roll
        Whether the last sheet is cut off a roll where its last copy ends.
    findings
        Things that no sheet takes.
    """

    placed: tuple[Nested, ...]
    sheet_mm: tuple[float, float]
    roll: bool
    findings: tuple[Finding, ...] = ()

    @property
    def sheets(self) -> int:
        """How many are needed."""
        return max((each.sheet + 1 for each in self.placed), default=0)

    @property
    def used_mm2(self) -> float:
        """Area of what is cut."""
        return sum(each.width_mm * each.height_mm for each in self.placed)

    @property
    def taken_mm2(self) -> float:
        """Area of the sheets; of a roll, the last length only as far as it is used."""
        width, height = self.sheet_mm
        if not self.roll or not self.placed:
            return self.sheets * width * height
        last = self.sheets - 1
        end = max(each.y_mm + each.height_mm for each in self.placed if each.sheet == last)
        return (last * height + end) * width

    @property
    def waste(self) -> float:
        """Share of the sheets' area that is not used, 0 where nothing is cut."""
        return 1.0 - self.used_mm2 / self.taken_mm2 if self.placed else 0.0


def nest(
    things: Sequence[Sheetful],
    sheet_mm: tuple[float, float],
    gap_mm: float = GAP_MM,
    *,
    roll: bool = False,
) -> Nesting:
    """Nest rectangles, quarter turns allowed, on sheets of one size.

    Parameters
    ----------
    things
        What is to be cut.
    sheet_mm
        Width and height of a sheet.
    gap_mm
        Left between two of them.
    roll
        Whether the sheets are lengths of a roll.
    """
    findings = [_too_large(thing, sheet_mm) for thing in things if not _fits(thing, sheet_mm)]
    copies = [
        (index, thing)
        for index, thing in enumerate(things)
        if _fits(thing, sheet_mm)
        for _ in range(thing.copies)
    ]
    orders = (
        lambda each: (-each[1].width_mm * each[1].height_mm, each[0]),
        lambda each: (-max(each[1].width_mm, each[1].height_mm), each[0]),
        lambda each: (-min(each[1].width_mm, each[1].height_mm), each[0]),
        lambda each: (-(each[1].width_mm + each[1].height_mm), each[0]),
    )
    tries = [
        _packed([thing for _, thing in sorted(copies, key=order)], sheet_mm, gap_mm, roll=roll)
        for order in orders
    ]
    best = min(tries, key=_worth)
    return Nesting(tuple(best), sheet_mm, roll, tuple(findings))


def _worth(placed: list[Nested]) -> tuple[int, float]:
    if not placed:
        return 0, 0.0
    last = max(each.sheet for each in placed)
    end = max(each.y_mm + each.height_mm for each in placed if each.sheet == last)
    return last + 1, round(end, 6)


def _fits(thing: Sheetful, sheet_mm: tuple[float, float]) -> bool:
    sides, room = sorted((thing.width_mm, thing.height_mm)), sorted(sheet_mm)
    return sides[0] <= room[0] + EPS_MM and sides[1] <= room[1] + EPS_MM


def _packed(
    things: list[Sheetful], sheet_mm: tuple[float, float], gap_mm: float, *, roll: bool
) -> list[Nested]:
    # A gap is added to right and bottom of every thing, and once to the sheet.
    whole = np.array([[0.0, 0.0, sheet_mm[0] + gap_mm, sheet_mm[1] + gap_mm]])
    free: list[Floats] = []
    # The longest and the broadest empty rectangle of each sheet: most sheets are ruled out by it.
    largest = np.zeros((len(things) + 1, 2))
    placed = []
    for thing in things:
        best: tuple[tuple[float, ...], int, int, bool] | None = None
        sides = np.sort([thing.width_mm, thing.height_mm]) + gap_mm
        likely = (largest[: len(free)] >= sides - EPS_MM).all(axis=1)
        for sheet in [*np.flatnonzero(likely).tolist(), len(free)]:
            if sheet == len(free):
                free.append(whole)
            best = _best_place(free[sheet], thing, gap_mm, sheet, roll=roll)
            if best is not None:
                break
        if best is None:  # ruled out before: each fits an empty sheet
            raise ValueError(f"'{thing.name}' is larger than a sheet")
        _, sheet, index, turned = best
        width, height = thing.width_mm, thing.height_mm
        if turned:
            width, height = height, width
        x, y = free[sheet][index, :2].tolist()
        placed.append(Nested(thing.name, sheet, x, y, turned, width, height))
        taken = (x, y, x + width + gap_mm, y + height + gap_mm)
        free[sheet] = _without(free[sheet], taken)
        room = np.sort(free[sheet][:, 2:] - free[sheet][:, :2], axis=1)
        largest[sheet] = room.max(axis=0, initial=0.0)
    return placed


def _best_place(
    free: Floats, thing: Sheetful, gap_mm: float, sheet: int, *, roll: bool
) -> tuple[tuple[float, ...], int, int, bool] | None:
    """Return worth, sheet, number of the free rectangle and turn; None where it fits nowhere."""
    best: tuple[tuple[float, ...], int, int, bool] | None = None
    worth: tuple[float, ...]
    room = free[:, 2:] - free[:, :2]
    for turned in (False, True):
        size = np.array([thing.width_mm, thing.height_mm]) + gap_mm
        left = room - (size[::-1] if turned else size)
        usable = np.flatnonzero((left >= -EPS_MM).all(axis=1))
        for index in usable.tolist():
            short, long = sorted(left[index].tolist())
            x, y = free[index, :2].tolist()
            worth = (round(short, 6), round(long, 6), y, x, turned)
            if roll:
                # Of a roll, what counts is how far down a thing ends.
                down = thing.width_mm if turned else thing.height_mm
                worth = (round(y + down, 6), *worth)
            if best is None or worth < best[0]:
                best = (worth, sheet, index, turned)
    return best


def _without(free: Floats, taken: tuple[float, float, float, float]) -> Floats:
    """Return the largest empty rectangles once one is taken."""
    x0, y0, x1, y1 = taken
    meets = (
        (free[:, 0] < x1 - EPS_MM)
        & (free[:, 2] > x0 + EPS_MM)
        & (free[:, 1] < y1 - EPS_MM)
        & (free[:, 3] > y0 + EPS_MM)
    )
    cut = free[meets]
    parts = [free[~meets]]
    for column, value in ((2, x0), (0, x1), (3, y0), (1, y1)):
        part = cut.copy()
        part[:, column] = value
        parts.append(part[(part[:, 2] - part[:, 0] > EPS_MM) & (part[:, 3] - part[:, 1] > EPS_MM)])
    every = np.unique(np.concatenate(parts), axis=0)
    inside = (
        (every[:, None, 0] >= every[None, :, 0])
        & (every[:, None, 1] >= every[None, :, 1])
        & (every[:, None, 2] <= every[None, :, 2])
        & (every[:, None, 3] <= every[None, :, 3])
    )
    np.fill_diagonal(inside, val=False)
    kept: Floats = every[~inside.any(axis=1)]
    return kept


def _too_large(thing: Sheetful, sheet_mm: tuple[float, float]) -> Finding:
    return Finding(
        "sheet-too-small",
        "error",
        f"'{thing.name}' is {thing.width_mm:.0f} x {thing.height_mm:.0f} mm and no sheet of "
        f"{sheet_mm[0]:.0f} x {sheet_mm[1]:.0f} mm takes it.",
        mend="Give a larger sheet, or let it be cut into tiles.",
    )
