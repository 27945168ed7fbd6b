"""``embellish catalogue``: what can be bought."""

from __future__ import annotations

from typing import Annotated

import typer

from embellish.cli.telling import print_json, print_table


def register(app: typer.Typer) -> None:
    """Add the group of commands."""
    group = typer.Typer(
        help="Look through catalogues of pieces.", no_args_is_help=True, rich_markup_mode=None
    )
    app.add_typer(group, name="catalogue")

    @group.command(
        "list",
        help="List the pieces of a catalogue.\n\nExample: embellish catalogue list shipped:stones",
    )
    def list_pieces(
        catalogue: Annotated[
            str, typer.Argument(help="A shipped catalogue, or a file.")
        ] = "shipped:stones",
        as_json: Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")] = False,
    ) -> None:
        from embellish.catalogue.listing import piece_facts
        from embellish.job.files import open_catalogue

        facts = [piece_facts(piece) for piece in open_catalogue(catalogue).pieces.values()]
        if as_json:
            print_json(facts)
            return
        rows = [
            [
                each["code"],
                each["kind"],
                each["size"],
                f"{each['length_mm']['nominal']:g} × {each['width_mm']['nominal']:g}",
                each["colour"],
                each["fixing"],
            ]
            for each in facts
        ]
        print_table(["code", "kind", "size", "mm", "colour", "fixing"], rows, right=set())
