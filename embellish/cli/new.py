"""``embellish new``: a first job for an artwork."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import print_findings, print_json

SHORT = "Write a first job for an artwork."
HELP = """Write a first job for an artwork: commented, and runnable as it stands.

Example: embellish new heart.svg --width-mm 120 --job heart.toml
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def new(
        artwork: Annotated[
            Path, typer.Argument(help="The artwork (SVG or DXF).", show_default=False)
        ],
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
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.job.starting import start_job

        path, findings = start_job(artwork, job, catalogue, width_mm)
        if as_json:
            facts = {"job": str(path), "findings": [each.as_json() for each in findings]}
            print_json(facts)
            return
        print_findings(findings)
        print(f"Wrote {path}. Look it through, then: embellish make {path} --out {path.stem}-made")
