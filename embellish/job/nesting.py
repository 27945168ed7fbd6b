"""The templates of several jobs, each laid as it stands, nested on the same sheets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding
from embellish.job.files import OpenJob
from embellish.job.making import NOT_TO_BE_CUT, Checked, check_job
from embellish.job.names import safe_names
from embellish.job.partners import in_pair
from embellish.job.sizes import in_sizes
from embellish.layout.spacing import least_layout_gap
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.layout import as_json_bytes, layout_json
from embellish.outputs.templates import placed_facts, sheet_files, sheets_facts
from embellish.plans.cut_sheets import SheetPlan, plan_sheets


@dataclass(frozen=True, eq=False)
class NestedJobs:
    """Jobs on common sheets, with their files by relative name."""

    jobs: tuple[Checked, ...]
    sheets: SheetPlan
    files: dict[str, bytes]
    withheld: bool

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What stands in the way of cutting, each job's with its title in front."""
        errors = [
            replace(finding, message=f"{job.plans.title.words}: {finding.message}")
            for job in self.jobs
            for finding in job.findings
            if finding.severity == "error"
        ]
        return (*dict.fromkeys(errors), *self.sheets.findings)

    @property
    def stopped(self) -> bool:
        """Whether an error stands, so that nothing may be cut from this."""
        return any(finding.severity == "error" for finding in self.findings)

    @property
    def words(self) -> str:
        """What was made, in a line."""
        many = len(self.jobs)
        return f"{'1 garment' if many == 1 else f'{many} garments'} on {self.sheets.words}"


def nested_jobs(
    opened: Sequence[OpenJob],
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> NestedJobs:
    """Lay each job and nest all their templates on the sheet that they enter.

    Parameters
    ----------
    opened
        The jobs; all enter the same sheet and thickness. Of a job in sizes each size is cut, of a
        pair each side.
    anyway
        Write the sheets, stamped, where an error stands.

    Raises
    ------
    EmbellishError
        For what the user must mend first, sheets that differ among it.
    """
    garments = [
        side
        for each in opened
        for size in (in_sizes(each) if each.job.size else [each])
        for side in in_pair(size)
    ]
    jobs = tuple(check_job(each, progress) for each in garments)
    with_templates = [job for job in jobs if job.plans.templates.templates]
    if not with_templates:
        raise JobError(
            "none of these jobs has a template to cut",
            file=str(opened[0].path),
            mend="Nest jobs with a lay that is set by template.",
        )
    for job in with_templates:
        if job.plans.templates.settings.sheet is None:
            raise JobError(
                "no sheet is entered to cut from",
                file=str(job.opened.path),
                item="[template]",
                mend='Give one, such as sheet = "12x12 in" or sheet = [300, 400].',
            )
    try:
        sheets = plan_sheets([job.plans.templates for job in with_templates])
    except EmbellishError as wrong:
        raise wrong.within(file=" and ".join(str(each.path) for each in opened)) from wrong
    assert sheets is not None  # noqa: S101 - each job has a sheet and a template
    made = NestedJobs(jobs, sheets, {}, withheld=False)
    folders = safe_names(
        "-".join(part for part in (job.opened.path.stem, job.opened.size, job.opened.side) if part)
        for job in with_templates
    )
    files = {
        f"layouts/{folder}.json": layout_json(
            job.plans.as_set, job.opened.job.quantity, least_layout_gap(job.plans.as_set)
        )
        for folder, job in zip(folders, with_templates, strict=True)
    }
    withheld = made.stopped and not anyway
    if not withheld:
        formats = tuple(
            dict.fromkeys(
                name for job in with_templates for name in job.plans.templates.settings.formats
            )
        )
        stop = NOT_TO_BE_CUT if made.stopped else ""
        paper = with_templates[0].opened.job.paper.size
        cut = sheet_files(sheets, formats, stop, paper)
        files |= {f"sheets/{name}": content for name, content in cut.items()}
        files["nest.json"] = as_json_bytes(_facts(with_templates, folders, sheets))
    return replace(made, files=files, withheld=withheld)


def _facts(jobs: Sequence[Checked], folders: Sequence[str], sheets: SheetPlan) -> dict[str, Any]:
    placed = placed_facts(sheets)
    return {
        "format": "embellish-nest",
        "version": 1,
        "sheets": sheets_facts(sheets),
        "jobs": [
            {
                "title": job.opened.job.title,
                "size": job.opened.size,
                "side": job.opened.side,
                "layout": f"layouts/{folder}.json",
                "fingerprint": job.plans.title.fingerprint,
                "parts": [
                    {"template": each.template.name, "part": each.part.name, **facts}
                    for each, facts in placed
                    if each.job == number
                ],
            }
            for number, (job, folder) in enumerate(zip(jobs, folders, strict=True))
        ],
    }
