"""``embellish bench``: the whole job in the browser."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.telling import print_json

SHORT = "Lay, touch up and make a job in the browser."
HELP = """Open the workbench: a page of this machine alone, where a job is laid, seen, touched
up, priced and made. The job file stays the one thing kept, and every step is saved as it is made.

Example: embellish bench moth.toml

Without a job it works in the folder it is started in. Ctrl-C ends it.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def bench(
        job: Annotated[
            Path | None, typer.Argument(help="The job file (TOML).", show_default=False)
        ] = None,
        port: Annotated[
            int, typer.Option(min=0, max=65535, help="Where it is served; 0 takes a free port.")
        ] = 0,
        opens: Annotated[
            bool, typer.Option("--open/--no-open", help="Open the page in the browser.")
        ] = True,
        as_json: Annotated[bool, typer.Option("--json", help="Print the address as JSON.")] = False,
    ) -> None:
        from embellish.formats.extras import extra

        for library in ("starlette", "uvicorn", "tomlkit"):
            extra(library)
        from embellish.workbench.serving import serve

        def told(address: str) -> None:
            if as_json:
                print_json({"address": address})
            else:
                print(f"The workbench is open at {address}")
            sys.stdout.flush()

        shelf = job.parent if job is not None else Path.cwd()
        serve(shelf, job, port, opens=opens, told=told)
