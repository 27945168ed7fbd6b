"""``embellish bundle`` and ``embellish unbundle``: all a job is made from, in one file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson, JobFile
from embellish.cli.telling import ProgressLine, print_json

BUNDLE_HELP = """Put a job with all it is made from into one zip: artwork of all sizes, own
catalogues, the layout kept with the catalogue rows used, what was delivered.

Example: embellish bundle moth.toml --out moth.zip

The same job gives the same bytes. 'embellish unbundle' opens it.
"""

UNBUNDLE_HELP = """Open a bundle into a new folder, and say which job is in it.

Example: embellish unbundle moth.zip --out moth-opened
"""


def register(app: typer.Typer) -> None:
    """Add the commands."""

    @app.command(help=BUNDLE_HELP, short_help="Put all a job is made from in one zip.")
    def bundle(
        job: JobFile,
        out: Annotated[
            Path | None, typer.Option("--out", help="The zip; JOB.zip beside the job if left out.")
        ] = None,
        over: Annotated[
            bool, typer.Option("--over", help="Write over a zip of that name.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.bundling import bundled
        from embellish.job.files import open_job, refuse_to_overwrite
        from embellish.job.freezing import kept_jobs, kept_text
        from embellish.job.making import check_job
        from embellish.job.placing import replace_file

        target = out or job.with_suffix(".zip")
        opened = open_job(job)
        refuse_to_overwrite(target, opened, over=over)
        with ProgressLine() as progress:
            kept = {
                path: kept_text(check_job(each, progress.stage)) for path, each in kept_jobs(opened)
            }
        content = bundled(opened, kept)
        replace_file(target, content)
        if as_json:
            print_json({"bundle": str(target), "bytes": len(content)})
        else:
            print(f"Wrote {target}.")

    @app.command(help=UNBUNDLE_HELP, short_help="Open a bundle into a folder.")
    def unbundle(
        file: Annotated[Path, typer.Argument(help="The bundle (zip).", show_default=False)],
        out: Annotated[
            Path, typer.Option("--out", help="A new folder to open it in.", show_default=False)
        ],
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.files import bytes_of_bundle
        from embellish.job.unbundling import opened_bundle, put_down

        job, files = opened_bundle(bytes_of_bundle(file), str(file))
        put_down(files, out)
        if as_json:
            print_json({"job": str(out / job), "files": sorted(files)})
        else:
            print(f"{len(files)} files in {out}; the job is {out / job}.")
