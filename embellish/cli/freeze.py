"""``embellish freeze``: keep a job as it is made today."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import ProgressLine, print_json

SHORT = "Keep a layout, to make it again later."
HELP = """Keep the layout of a job beside it, as JOB.kept.toml, to make the same piece again later.

Example: embellish freeze moth.toml

While the job and its artwork are unchanged, places come from it; sizes of pieces always do; prices
come from the catalogue of the day. 'embellish make --thaw' lays anew.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def freeze(
        job: Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)],
        thaw: Annotated[
            bool, typer.Option("--thaw", help="Lay anew first, and keep that instead.")
        ] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.job.files import kept_path, open_job
        from embellish.job.keeping import kept_toml
        from embellish.job.making import check_job
        from embellish.job.placing import replace_file

        opened = open_job(job, thaw=thaw)
        with ProgressLine() as progress:
            checked = check_job(opened, progress.stage)
        path = kept_path(job)
        fingerprint = checked.plans.title.fingerprint
        text = kept_toml(
            opened.job, opened.artwork_sha256, opened.catalogue, checked.layout, fingerprint
        )
        replace_file(path, text)
        seats = len(checked.layout)
        if as_json:
            print_json({"kept": str(path), "seats": seats, "fingerprint": fingerprint})
        else:
            print(f"Kept {seats} seats of layout {fingerprint} in {path}.")
