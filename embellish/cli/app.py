"""The command line. Commands import what they need when they run, so that --help is quick."""

from __future__ import annotations

from typing import Annotated

import typer

from embellish import __version__
from embellish.cli import (
    again,
    bench,
    bundle,
    catalogue,
    check,
    compare,
    count,
    deliver,
    fit,
    freeze,
    log,
    look,
    make,
    names,
    nest,
    new,
    proof,
    rough,
    sizes,
    stock,
    trial,
)
from embellish.cli.ending import Commands, run_to_the_end


class _InOrderOfWork(Commands):
    order = (
        "look",
        "new",
        "bench",
        "catalogue",
        "rough",
        "check",
        "count",
        "compare",
        "fit",
        "proof",
        "trial",
        "make",
        "sizes",
        "names",
        "nest",
        "freeze",
        "stock",
        "log",
        "deliver",
        "again",
        "bundle",
        "unbundle",
    )


app = typer.Typer(
    name="embellish",
    cls=_InOrderOfWork,
    help=(
        "Lay out beads, sequins and crystals on a garment: from an outline and a list of pieces"
        " to a checked layout, mark stitches, cut templates and a shopping list.\n\n"
        "Example: embellish check moth.toml\n\n"
        "'new' makes a job of a drawing, 'make' makes everything of a job, 'bench' does both in the"
        " browser. 'embellish make --help' says more of a command."
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


for command in (
    *(look, new, bench, catalogue, rough, check, count, compare, fit, proof, trial),
    *(make, sizes, names, nest, freeze, stock, log, deliver, again, bundle),
):
    command.register(app)


def main() -> None:
    """Run the command; what the user must mend is one sentence and exit 2."""
    run_to_the_end(app)
