"""``embellish compare``: jobs held against each other."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from embellish.cli.options import AsJson, OverPicture
from embellish.cli.telling import ProgressLine, print_json, print_table

if TYPE_CHECKING:  # --help starts without numpy
    from embellish.job.files import OpenJob

SHORT = "Hold jobs against each other."
HELP = """Hold jobs, or variants of one, against the first: pieces, cost, price, time, weight.
Of a job with garment sizes each size is a variant; of a pair it is both sides together.

Example: embellish compare moth.toml moth-cheaper.toml --picture both.png
Example: embellish compare blouse-in-sizes.toml

Exits with 1 where an error stands in any of them.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def compare(
        jobs: Annotated[
            list[Path], typer.Argument(help="The job files (TOML), two or more.", metavar="JOB...")
        ],
        picture: Annotated[
            Path | None,
            typer.Option("--picture", help="A picture of all side by side, .png.", metavar="PNG"),
        ] = None,
        over: OverPicture = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import EmbellishError, OutputError
        from embellish.job.comparing import compared, figures_of, pictures_of
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.partners import checked_job
        from embellish.job.placing import replace_file
        from embellish.outputs.side_by_side import side_by_side_png

        opened = [each for job in jobs for each in _variants(open_job(job))]
        if len(opened) < 2:
            raise EmbellishError(
                f"there is one job alone, {jobs[0]}",
                item="embellish compare",
                mend="Name two or more, or one with garment sizes.",
            )
        if picture is not None and picture.suffix.lower() != ".png":
            raise OutputError(
                "this picture is a PNG", file=str(picture), mend="Name it with .png at its end."
            )
        if picture is not None:
            for each in opened:
                refuse_to_overwrite(picture, each, over=over)
        with ProgressLine() as progress:
            checked = [checked_job(each, progress.stage) for each in opened]
            figures = [figures_of(each) for each in checked]
            if picture is not None:
                progress.stage("drawing the picture")
                shown = [
                    drawn
                    for each, one in zip(figures, checked, strict=True)
                    for drawn in pictures_of(each.name, one)
                ]
                replace_file(picture, side_by_side_png(shown))
        if as_json:
            print_json({"jobs": [each.as_json() for each in figures]})
        else:
            head = ["", *(each.name for each in figures)]
            rows = [[name, *values] for name, values in compared(figures)]
            print_table(head, rows, right=set(range(1, len(head))))
            if picture is not None:
                print(f"Wrote {picture}.")
        raise typer.Exit(1 if any(each.errors for each in figures) else 0)


def _variants(opened: OpenJob) -> list[OpenJob]:
    """Return a job at each of its garment sizes; as it is, where it has none."""
    from embellish.job.sizes import in_sizes

    return in_sizes(opened) if opened.job.size else [opened]
