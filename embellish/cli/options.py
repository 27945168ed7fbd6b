"""Arguments and options that several commands share, so that each says the same everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

JobFile = Annotated[Path, typer.Argument(help="The job file (TOML).", show_default=False)]
JobOrOrder = Annotated[
    Path, typer.Argument(metavar="JOB|ORDER", help="The file (TOML).", show_default=False)
]
OutFolder = Annotated[
    Path, typer.Option("--out", help="The folder to make it in.", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")]
Note = Annotated[str, typer.Option("--note", help="Anything to remember.")]
Anyway = Annotated[
    bool, typer.Option("--anyway", help="Write machine files, stamped, despite error findings.")
]
Thaw = Annotated[bool, typer.Option("--thaw", help="Lay anew, whatever is kept beside the job.")]
OverPicture = Annotated[bool, typer.Option("--over", help="Write over a picture of that name.")]
WhichEntry = Annotated[
    int | None, typer.Argument(help="Its number; left out, the last.", show_default=False)
]
"""An entry of a list that is only ever added to."""
