"""``embellish proof``: the picture alone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson, JobFile, OverPicture
from embellish.cli.telling import ProgressLine, print_findings, print_json

SHORT = "Draw the picture for the customer."
HELP = """Draw the proof of a job, without making anything else.

Example: embellish proof moth.toml --picture moth.png

Of a pair, it writes moth-LEFT.png and moth-RIGHT.png.

Exits with 1 where a check found an error; the picture is then stamped.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def proof(
        job: JobFile,
        picture: Annotated[
            Path,
            typer.Option(
                "--picture", help="The picture to write, .svg or .png.", show_default=False
            ),
        ],
        over: OverPicture = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.making import proof_of
        from embellish.job.partners import checked_job, in_pair, sides_of
        from embellish.job.placing import replace_file
        from embellish.outputs.proof import proof_format

        write = proof_format(picture.name)
        opened = open_job(job)
        pictures = [
            picture.with_stem(f"{picture.stem}-{side.side}") if side.side else picture
            for side in in_pair(opened)
        ]
        for each in pictures:
            refuse_to_overwrite(each, opened, over=over)
        with ProgressLine() as progress:
            checked = checked_job(opened, progress.stage)
            progress.stage("drawing the picture")
            for each, side in zip(pictures, sides_of(checked), strict=True):
                replace_file(each, write(proof_of(side)))
        if as_json:
            key = {"picture": str(picture)} if len(pictures) == 1 else {}
            print_json({**checked.summary(), **key, "pictures": [str(each) for each in pictures]})
        else:
            print_findings(checked.findings)
            for each in pictures:
                print(f"Wrote {each}.")
        raise typer.Exit(1 if checked.stopped else 0)
