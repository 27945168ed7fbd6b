"""``embellish check``: a job looked at without making anything."""

from __future__ import annotations

import typer

from embellish.cli.options import AsJson, JobFile
from embellish.cli.telling import ProgressLine, print_findings, print_json
from embellish.findings import counted

HELP = """Lay and check a job without writing anything.

Example: embellish check moth.toml

Exits with 1 where a check found an error.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help="Lay and check a job.")
    def check(
        job: JobFile,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.partners import checked_job, sides_of

        with ProgressLine() as progress:
            checked = checked_job(open_job(job), progress.stage)
        if as_json:
            print_json(checked.summary())
        else:
            print_findings(checked.findings)
            state = "an error stands" if checked.stopped else "no error"
            for side in sides_of(checked):
                name = f" {side.opened.side}" if side.opened.side else ""
                print(
                    f"{side.opened.job.title}{name}: {counted(len(side.layout), 'seat')}, {state}"
                )
        raise typer.Exit(1 if checked.stopped else 0)
