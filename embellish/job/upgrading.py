"""Jobs of older versions: opened, brought up to this one step by step, and what changed told.

A step is a function from the tables of one version to those of the next, with a sentence for each
thing that it changed or that now works otherwise. The file itself is never written over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from embellish.errors import JobError
from embellish.findings import Finding
from embellish.job.model import JOB_VERSION

Step = Callable[[dict[str, Any]], tuple[dict[str, Any], list[str]]]

STEPS: Final[Mapping[int, Step]] = {}
"""By the version a step starts from. Version 1 is the first, so there is none yet; whoever raises
JOB_VERSION adds the step from the version before, and a job of that version to its tests."""


def upgraded(
    tables: dict[str, Any],
    name: str,
    *,
    steps: Mapping[int, Step] = STEPS,
    newest: int = JOB_VERSION,
) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """Return the tables of a job as the newest version has them, and what changed on the way.

    A version that is missing or no number is left for the reader of tables to refuse.

    Raises
    ------
    JobError
        For a version newer than this program knows, or one that never was.
    """
    version = tables.get("version")
    if type(version) is not int:
        return tables, ()
    if version > newest:
        raise JobError(
            f"this job is of version {version}; this program reads up to {newest}",
            file=name,
            mend="Use a newer embellish.",
        )
    findings = []
    for before in range(version, newest):
        if before not in steps:
            raise JobError(
                f"there never was a version {before} of jobs",
                file=name,
                mend=f"Write version = {newest} if the job was written for this program.",
            )
        tables, changes = steps[before](tables)
        tables = {**tables, "version": before + 1}
        findings += [
            Finding(
                "job-upgraded",
                "note",
                f"this job is of version {before}: {change}",
                mend=f"Write version = {newest} once it says what you mean.",
            )
            for change in changes
        ]
    return tables, tuple(findings)
