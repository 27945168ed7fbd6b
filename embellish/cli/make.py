"""``embellish make``: the whole job into a folder."""

from __future__ import annotations

import typer

from embellish.cli.options import Anyway, AsJson, JobFile, OutFolder, Thaw
from embellish.cli.telling import ProgressLine, print_findings, print_json

SHORT = "Make everything a job asks for."
HELP = """Make everything a job asks for: layout, templates, marks, materials, proof.

Example: embellish make moth.toml --out moth-made

Of a pair ([partner] in the job) each side has a folder, LEFT and RIGHT.

Exits with 0 when all is made, 1 when a check found an error (machine files are then withheld
unless --anyway), 2 when the job, a catalogue or the artwork must be mended first.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def make(
        job: JobFile,
        out: OutFolder,
        anyway: Anyway = False,
        thaw: Thaw = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job
        from embellish.job.partners import made_job
        from embellish.job.placing import place, refuse_beside

        refuse_beside(out, job)
        with ProgressLine() as progress:
            opened = open_job(job, thaw=thaw)
            result = made_job(opened, anyway=anyway, thaw=thaw, progress=progress.stage)
            progress.stage(f"putting the files into {out}")
            place(result.files, out)
        checked = result.checked
        if as_json:
            print_json({**checked.summary(), "out": str(out), "files": sorted(result.files)})
        else:
            print_findings(checked.findings)
            print(result.words(str(out)))
        raise typer.Exit(1 if checked.stopped else 0)
