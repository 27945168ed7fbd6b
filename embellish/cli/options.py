"""Options that several commands share, so that each says the same everywhere."""

from __future__ import annotations

from typing import Annotated

import typer

AsJson = Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")]
Note = Annotated[str, typer.Option("--note", help="Anything to remember.")]
