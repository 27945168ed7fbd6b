"""``embellish trial``: what to try before the garment."""

from __future__ import annotations

import typer

from embellish.cli.options import AsJson, JobFile, OutFolder
from embellish.cli.telling import ProgressLine, print_findings, print_json

SHORT = "Make a test-cut card and a cloth test, to try first."
HELP = """Make what to try before the garment: a test-cut card and a cloth test.

Example: embellish trial moth.toml --out moth-trial

The card has holes of each size in steps of 0.05 mm of clearance; it says how to
read it. The cloth test has a few pieces of every lay, with their templates,
marks and chart, and a sheet to write down how they were pressed and washed.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def trial(
        job: JobFile,
        out: OutFolder,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.placing import place, refuse_beside
        from embellish.job.trial import trial_files

        refuse_beside(out, job)
        with ProgressLine() as progress:
            result = trial_files(open_job(job), progress.stage)
            progress.stage(f"putting the files into {out}")
            place(result.files, out)
        if as_json:
            print_json({**result.summary(), "out": str(out), "files": sorted(result.files)})
        else:
            print_findings(result.findings)
            print(result.words(str(out)))
