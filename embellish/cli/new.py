"""``embellish new``: a first job for an artwork."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson
from embellish.cli.telling import print_findings, print_json

SHORT = "Write a first job for an artwork."
HELP = """Write a first job for an artwork or for words: commented, and runnable as it stands.

Example: embellish new heart.svg --width-mm 120 --job heart.toml
Example: embellish new --text Ana --font script.ttf --job ana.toml
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def new(
        artwork: Annotated[
            Path | None,
            typer.Argument(
                help="The artwork (SVG, DXF, stitch file, picture).", show_default=False
            ),
        ] = None,
        job: Annotated[
            Path | None,
            typer.Option("--job", help="The job file to write; beside the artwork if left out."),
        ] = None,
        catalogue: Annotated[
            str, typer.Option("--catalogue", help="A shipped catalogue, or a file.")
        ] = "shipped:stones",
        width_mm: Annotated[
            float | None,
            typer.Option("--width-mm", help="Width of the page in mm, where the file has none."),
        ] = None,
        text: Annotated[
            str, typer.Option("--text", help="Words to set, in place of an artwork.")
        ] = "",
        font: Annotated[
            str, typer.Option("--font", help="Their font file, or single-line:NAME.")
        ] = "single-line:futural",
        cap_height_mm: Annotated[
            float, typer.Option("--cap-height-mm", help="Height of their capitals.")
        ] = 30.0,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import EmbellishError
        from embellish.job.starting import start_job, start_words

        if (artwork is None) == (not text):
            raise EmbellishError(
                "a job begins with one thing",
                item="embellish new",
                mend='Name an artwork, or give words with --text "Ana".',
            )
        if artwork is None:
            if job is None:
                raise EmbellishError(
                    "words have no file to put a job beside",
                    item="embellish new",
                    mend="Say which job to write, such as --job ana.toml.",
                )
            path, findings = start_words(text, font, cap_height_mm, job, catalogue)
        else:
            path, findings = start_job(artwork, job, catalogue, width_mm)
        if as_json:
            facts = {"job": str(path), "findings": [each.as_json() for each in findings]}
            print_json(facts)
            return
        print_findings(findings)
        print(f"Wrote {path}. Look it through, then: embellish make {path} --out {path.stem}-made")
