"""Steps of cutting: templates, sheet by sheet where there are sheets; and reels into lengths."""

from __future__ import annotations

from collections.abc import Sequence

from embellish.findings import counted
from embellish.plans.cut_sheets import CutSheet, SheetPlan
from embellish.plans.materials import MaterialLine
from embellish.plans.reels import CutReel
from embellish.plans.templates.parts import Template
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.working.step import Step


def cutting_steps(templates: TemplatePlan, sheets: SheetPlan | None) -> list[Step]:
    """Return what is cut, once for the whole job.

    Parameters
    ----------
    templates
        All of a job.
    sheets
        The same laid on sheets, where there are such.
    """
    untried = templates.settings.clearance_mm is None
    laid = {each.part.name for each in sheets.parts} if sheets else set()
    steps = [_sheet(each, sheets, untried=untried) for each in sheets.sheets] if sheets else []
    unlaid = [
        template
        for template in templates.templates
        if not laid.issuperset(part.name for part in template.parts)
    ]
    return [*steps, *(_template(template, untried=untried) for template in unlaid)]


def reel_steps(lines: Sequence[MaterialLine]) -> list[Step]:
    """Return from which reel which lengths are cut, once for the whole job, a code a step."""
    return [step for line in lines for step in _reels(line)]


def _reels(line: MaterialLine) -> list[Step]:
    if line.cutting is None or not line.cutting.plan.enough:
        return []
    plan = line.cutting.plan
    words = ["Once for the whole job, the longest first."]
    lost = line.piece.strung.lost_links if line.piece.strung is not None else 0
    if lost:
        words.append(
            "Each length is counted here with the"
            f" {'link' if lost == 1 else counted(lost, 'link')} that its cut loses."
        )
    number = 1
    for reel in plan.reels:
        words.append(_reel(reel, number))
        number += reel.times
    if len(line.cutting.reels) > plan.used:
        whole = len(line.cutting.reels) - plan.used
        stay = "stays" if whole == 1 else "stay"
        words.append(f"{counted(whole, 'reel')} of those that are there or bought {stay} whole.")
    if not plan.proven:
        words.append("That fewer reels are not enough is not proven.")
    title = f"Cut {line.code} to length: {counted(plan.used, 'reel')}"
    return [Step("cut", title, 1, tuple(words))]


def _reel(reel: CutReel, number: int) -> str:
    which = f"Reel {number}"
    if reel.times > 1:
        which = f"Reels {number} to {number + reel.times - 1}, each"
    cuts = ", ".join(f"{times} × {links}" for links, times in reel.lengths)
    left = "nothing is left" if not reel.left else f"{counted(reel.left, 'link')} left"
    return f"{which} of {counted(reel.holds, 'link')}: cut {cuts} links; {left}."


def _sheet(sheet: CutSheet, sheets: SheetPlan, *, untried: bool) -> Step:
    number, many = sheets.sheets.index(sheet) + 1, len(sheets.sheets)
    titles = list(dict.fromkeys(each.template.title for each in sheet.parts))
    words = _first(untried=untried)
    lies = "one part lies" if len(sheet.parts) == 1 else f"{len(sheet.parts)} parts lie"
    words.append(f"On it {lies}, of template{'s' * (len(titles) > 1)} {'; '.join(titles)}.")
    if any(each.settings.copies > 1 for each in sheet.parts):
        words.append("Each is cut more than once, as the job asks (copies).")
    if any(len(each.template.parts) > 1 for each in sheet.parts):
        words.append("Of tiles, the ticks show which edges meet.")
    words.append(_side(mirrored=sheet.parts[0].part.mirrored))
    title = "Cut the sheet of templates"
    if many > 1:
        title = f"Cut sheet {number} of {many} of templates"
    return Step("cut", title, 1, tuple(words), files=(f"sheets/{sheet.name}",))


def _template(template: Template, *, untried: bool) -> Step:
    many = len(template.parts)
    words = _first(untried=untried)
    if many > 1:
        words.append(f"It is cut in {many} tiles; their ticks show which edges meet.")
    words.append(_side(mirrored=template.parts[0].mirrored))
    return Step(
        "cut",
        f"Cut template {template.title}",
        1,
        tuple(words),
        files=tuple(part.name for part in template.parts),
    )


def _first(*, untried: bool) -> list[str]:
    words = ["Once for the whole job."]
    if untried:
        words.append("The clearance is the usual one: try it on the test-cut card first.")
    return words


def _side(*, mirrored: bool) -> str:
    side = "from the back, face down" if mirrored else "from the front"
    return f"Cut {side}, as its label says."
