"""The command line. Commands import what they need when they run, so that --help is quick."""

from __future__ import annotations

import sys
import traceback
from typing import Annotated

import typer

from embellish import __version__
from embellish.cli import catalogue, check, freeze, look, make, new, proof, sizes
from embellish.errors import EmbellishError

app = typer.Typer(
    name="embellish",
    help=(
        "Lay out beads, sequins and crystals on a garment: from an outline and a list of pieces"
        " to a checked layout, mark stitches, cut templates and a shopping list."
    ),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        print(f"embellish {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    pass


new.register(app)
look.register(app)
check.register(app)
proof.register(app)
make.register(app)
sizes.register(app)
freeze.register(app)
catalogue.register(app)


def main() -> None:
    """Run the command; what the user must mend is one sentence and exit 2."""
    try:
        app(prog_name="embellish")
    except EmbellishError as wrong:
        print(f"embellish: {wrong}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("embellish: stopped; nothing half-written stays.", file=sys.stderr)
        sys.exit(130)
    except Exception:  # noqa: BLE001 - the last net: a fault of ours is told as such
        traceback.print_exc()
        print(
            "embellish: this is a fault of embellish, not of your files. Please report the lines"
            " above.",
            file=sys.stderr,
        )
        sys.exit(3)
