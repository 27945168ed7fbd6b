"""Make only some of a job again: garments that were ruined, templates that were lost.

Places are those of the job as it stands, or as it was kept; only what is made again is counted and
bought.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from embellish.errors import JobError
from embellish.formats.nearest import nearest
from embellish.job.files import OpenJob
from embellish.job.making import Made, check_job, made_files, templates_made
from embellish.job.partners import MadePair, in_pair, made_job
from embellish.job.sizes import in_sizes
from embellish.layout.spacing import least_layout_gap
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.layout import findings_json, layout_json
from embellish.outputs.materials import materials_csv, materials_json
from embellish.plans.cut_sheets import plan_sheets
from embellish.plans.goods import plan_goods
from embellish.plans.lifts import LiftPlan
from embellish.plans.materials import plan_counted


def of_size(opened: OpenJob, size: str, *, thaw: bool = False) -> OpenJob:
    """Return a job at one of its sizes; '' for the job as it is, where it has none.

    Raises
    ------
    JobError
        Where there is no such size, or the job has sizes and none was named.
    """
    if not size and not opened.job.size:
        return opened
    names = [each.name for each in opened.job.size]
    if size not in names:
        what = f"there is no size '{size}'" if size else "this job has sizes, and none is named"
        mend = nearest(size, names) if size else f"Add --size with one of {', '.join(names)}."
        raise JobError(what, file=str(opened.path), mend=mend if names else "Leave --size out.")
    return in_sizes(opened, thaw=thaw)[names.index(size)]


def of_side(opened: OpenJob, side: str) -> OpenJob:
    """Return one side of a pair; '' for the job as it is, where it has no partner.

    Raises
    ------
    JobError
        Where the job is no pair, or is one and no side is named.
    """
    sides = {each.side: each for each in in_pair(opened)}
    if side in sides:
        return sides[side]
    if opened.job.partner is None:
        raise JobError(
            f"this job is no pair, and has no side '{side}'",
            file=str(opened.path),
            mend="Leave --side out.",
        )
    what = f"there is no side '{side}'" if side else "this job is a pair, and no side is named"
    raise JobError(what, file=str(opened.path), mend=f"Add --side with {' or '.join(sides)}.")


def garments_again(
    opened: OpenJob,
    garments: int,
    side: str = "",
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Made | MadePair:
    """Return all files for so many garments, whatever the job's own quantity.

    Of a pair, both sides, or the one that is named.

    Raises
    ------
    JobError
        Where there is no such side.
    """
    job = opened.job.model_copy(update={"quantity": garments})
    asked = replace(opened, job=job)
    if not side:
        return made_job(asked, anyway=anyway, progress=progress)
    return made_files(of_side(asked, side), anyway=anyway, progress=progress)


def templates_again(
    opened: OpenJob,
    names: Sequence[str],
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Made:
    """Return the files of some templates alone, byte for byte those of the whole job.

    There is nothing to buy but the sheet they are cut from.

    Raises
    ------
    JobError
        For a template that there is not.
    """
    checked = check_job(opened, progress)
    plans = checked.plans
    there = [template.name for template in plans.templates.templates]
    for name in names:
        if name not in there:
            raise JobError(
                f"there is no template '{name}'",
                file=str(opened.path),
                mend=nearest(name, there) if there else "This job sets nothing by template.",
            )
    wanted = replace(
        plans.templates,
        templates=tuple(each for each in plans.templates.templates if each.name in names),
    )
    sheets = plan_sheets([wanted])
    nothing = plan_counted({}, 1, opened.catalogue, opened.job.materials)
    no_lifts = LiftPlan((), (), 0)
    goods = plan_goods(wanted.settings, sheets, no_lifts, plans.quote.currency)
    layout = checked.layout
    files = {
        "layout.json": layout_json(layout, opened.job.quantity, least_layout_gap(layout)),
        "findings.json": findings_json(checked.findings),
        "materials.json": materials_json(nothing, goods),
        "materials.csv": materials_csv(nothing),
    }
    withheld = checked.stopped and not anyway
    if not withheld:
        files |= templates_made(checked, wanted, sheets)
    return Made(checked, files, withheld)
