"""Cut sheets: the parts of all templates, of one job or several, laid on sheets to be cut whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from embellish.errors import JobError
from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.plans.sheets import Nested, Nesting, Sheetful, nest
from embellish.plans.templates.parts import Template, TemplatePart
from embellish.plans.templates.settings import Size, TemplateSettings
from embellish.plans.templates.template import TemplatePlan
from embellish.units import ROUND_DECIMALS

_QUARTER_DEG: Final = 90.0


@dataclass(frozen=True, eq=False)
class SheetPart:
    """One copy of one part, in its place on a sheet.

    Parameters
    ----------
    job
        Number of the job it belongs to, from 0.
    template, part
        What is cut.
    copy
        Number of the copy, from 1.
    to_sheet
        From the part's page to the sheet: moved, and turned by a quarter where that saves room.
    settings
        Of its job.
    """

    job: int
    template: Template
    part: TemplatePart
    copy: int
    to_sheet: Affine
    settings: TemplateSettings

    @property
    def to_template(self) -> Affine:
        """From layout mm to the sheet."""
        return self.to_sheet @ self.part.to_template


@dataclass(frozen=True, eq=False)
class CutSheet:
    """One sheet to be cut.

    Parameters
    ----------
    name
        Plain letters, for the file.
    width_mm, height_mm
        Of the sheet; of a roll's last length only as far as it is used.
    parts
        What lies on it.
    """

    name: str
    width_mm: float
    height_mm: float
    parts: tuple[SheetPart, ...]


@dataclass(frozen=True, eq=False)
class SheetPlan:
    """All sheets of one size.

    Parameters
    ----------
    sheets
        In the order they are filled.
    nesting
        The rectangles behind them: how much is used and wasted.
    findings
        Parts that no sheet takes.
    """

    sheets: tuple[CutSheet, ...]
    nesting: Nesting
    findings: tuple[Finding, ...] = ()

    @property
    def parts(self) -> tuple[SheetPart, ...]:
        """Every copy that lies on a sheet."""
        return tuple(part for sheet in self.sheets for part in sheet.parts)

    @property
    def words(self) -> str:
        """How many sheets of which size, and how much of them is used."""
        width, height = self.nesting.sheet_mm
        many, used = len(self.sheets), 100.0 * (1.0 - self.nesting.waste)
        if self.nesting.roll:
            length = self.nesting.taken_mm2 / width
            return f"{length:.0f} mm of a roll {width:g} mm wide, {used:.0f} % of it used"
        sheets = "1 sheet" if many == 1 else f"{many} sheets"
        return f"{sheets} of {width:g} × {height:g} mm, {used:.0f} % used"


def plan_sheets(plans: Sequence[TemplatePlan]) -> SheetPlan | None:
    """Lay the templates of one job or several on sheets; None where no sheet is entered.

    Sheet, roll and gap are those of the first job; copies are each job's own.

    Raises
    ------
    JobError
        Where two jobs enter different sheets or thicknesses.
    """
    if not plans:
        return None
    first = plans[0].settings
    for plan in plans[1:]:
        _refuse_unlike(first, plan.settings)
    sheet = first.sheet
    if not isinstance(sheet, tuple):
        return None
    parts = [
        (job, template, part, plan.settings)
        for job, plan in enumerate(plans)
        for template in plan.templates
        for part in template.parts
    ]
    if not parts:
        return None
    things = [
        Sheetful(str(index), part.width_mm, part.height_mm, settings.copies)
        for index, (_, _, part, settings) in enumerate(parts)
    ]
    nesting = nest(things, sheet, first.sheet_gap_mm, roll=first.roll)
    told = {thing.name: part.name for thing, (_, _, part, _) in zip(things, parts, strict=True)}
    placed: list[list[SheetPart]] = [[] for _ in range(nesting.sheets)]
    copies: dict[str, int] = {}
    for each in sorted(nesting.placed, key=lambda each: (each.sheet, int(each.name))):
        job, template, part, settings = parts[int(each.name)]
        copies[each.name] = copies.get(each.name, 0) + 1
        placed[each.sheet].append(
            SheetPart(job, template, part, copies[each.name], _to_sheet(each), settings)
        )
    sheets = tuple(
        CutSheet(f"sheet-{number}", sheet[0], _length(nesting, number - 1), tuple(mine))
        for number, mine in enumerate(placed, 1)
    )
    findings = tuple(
        _too_large(told[thing.name], thing, sheet) for thing in things if thing.name not in copies
    )
    return SheetPlan(sheets, nesting, findings)


def _refuse_unlike(first: TemplateSettings, other: TemplateSettings) -> None:
    for key in ("sheet", "thickness_mm", "roll"):
        one, two = getattr(first, key), getattr(other, key)
        if one != two:
            raise JobError(
                f"one job enters {_said(one)} as {key}, another {_said(two)}",
                item="[template]",
                mend="Jobs cut from one sheet enter the same sheet and thickness.",
            )


def _said(value: object) -> str:
    if value is None:
        return "nothing"
    return " x ".join(f"{side:g}" for side in value) if isinstance(value, tuple) else str(value)


def _to_sheet(each: Nested) -> Affine:
    x, y = round(each.x_mm, ROUND_DECIMALS), round(each.y_mm, ROUND_DECIMALS)
    if not each.turned:
        return Affine.move(x, y)
    # A quarter turn clockwise leaves the page left of the corner it turns about.
    return Affine.move(round(x + each.width_mm, ROUND_DECIMALS), y) @ Affine.turn(_QUARTER_DEG)


def _length(nesting: Nesting, number: int) -> float:
    if not nesting.roll or number < nesting.sheets - 1:
        return nesting.sheet_mm[1]
    last = [each for each in nesting.placed if each.sheet == number]
    return round(max(each.y_mm + each.height_mm for each in last), ROUND_DECIMALS)


def _too_large(name: str, thing: Sheetful, sheet_mm: Size) -> Finding:
    return Finding(
        "sheet-too-small",
        "error",
        f"Template part {name} is {thing.width_mm:.0f} x {thing.height_mm:.0f} mm with its label, "
        f"and a sheet of {sheet_mm[0]:g} x {sheet_mm[1]:g} mm does not take it.",
        mend="Give a larger sheet under [template].",
    )
