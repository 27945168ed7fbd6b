"""``embellish proof``: the picture alone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import ProgressLine, print_findings, print_json

SHORT = "Draw the picture for the customer."
HELP = """Draw the proof of a job, without making anything else.

Example: embellish proof moth.toml --picture moth.png

Exits with 1 where a check found an error; the picture is then stamped.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def proof(
        job: Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)],
        picture: Annotated[
            Path,
            typer.Option(
                "--picture", help="The picture to write, .svg or .png.", show_default=False
            ),
        ],
        over: Annotated[
            bool, typer.Option("--over", help="Write over a picture of that name.")
        ] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.making import check_job, proof_of
        from embellish.job.placing import replace_file
        from embellish.outputs.proof import proof_format

        write = proof_format(picture.name)
        opened = open_job(job)
        refuse_to_overwrite(picture, opened, over=over)
        with ProgressLine() as progress:
            checked = check_job(opened, progress.stage)
            progress.stage("drawing the picture")
            replace_file(picture, write(proof_of(checked)))
        if as_json:
            print_json({**checked.summary(), "picture": str(picture)})
        else:
            print_findings(checked.findings)
            print(f"Wrote {picture}.")
        raise typer.Exit(1 if checked.stopped else 0)
