"""``embellish nest``: the templates of several jobs on the same sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson, OutFolder
from embellish.cli.telling import ProgressLine, print_findings, print_json

SHORT = "Nest the templates of several jobs on the same sheets."
HELP = """Nest the templates of several jobs on the same sheets, to save sheet.

Each job is laid as its own file says; its copies, and the sheet that all of them enter under
[template], decide what is cut. Of a job in sizes every size is cut, of a pair both sides. Work
sheets, marks and charts come from 'make', job by job.

Example: embellish nest moth.toml heart.toml --out sheets
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def nest(
        jobs: Annotated[list[Path], typer.Argument(help="Job files (TOML).", show_default=False)],
        out: OutFolder,
        anyway: Annotated[
            bool,
            typer.Option("--anyway", help="Write the sheets, stamped, despite error findings."),
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.nesting import nested_jobs
        from embellish.job.placing import place, refuse_beside
        from embellish.outputs.templates import sheets_facts

        for job in jobs:
            refuse_beside(out, job)
        with ProgressLine() as progress:
            opened = [open_job(job) for job in jobs]
            made = nested_jobs(opened, anyway=anyway, progress=progress.stage)
            progress.stage(f"putting the files into {out}")
            place(made.files, out)
        if as_json:
            print_json(
                {
                    "sheets": sheets_facts(made.sheets),
                    "out": str(out),
                    "files": sorted(made.files),
                    "findings": [finding.as_json() for finding in made.findings],
                    "stopped": made.stopped,
                }
            )
        else:
            print_findings(made.findings)
            print(f"{made.words}, {len(made.files) + 1} files in {out}")
            if made.withheld:
                print(
                    "An error stands: the sheets were withheld. Mend it, or use --anyway to have"
                    " them stamped."
                )
        raise typer.Exit(1 if made.stopped else 0)
