"""``embellish catalogue``: what can be bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from embellish.cli.ending import Commands
from embellish.cli.options import AsJson
from embellish.cli.price_lists import add_lists
from embellish.cli.substitution import add_instead
from embellish.cli.telling import print_findings, print_json, print_table

if TYPE_CHECKING:
    from embellish.catalogue.contents import Catalogue

GROUP = """Look through catalogues of pieces, and bring suppliers' lists into yours.

Example: embellish catalogue find "SS10 blue heat-set"
"""

LIST_HELP = """List the pieces of a catalogue, or those whose code, kind, size, colour, finish and
fixing hold all the words given.

Example: embellish catalogue list shipped:stones --find "SS10 blue"
"""

FIND_HELP = """Find pieces by words, kind, size, fixing, stock, or nearness of colour (CIEDE2000).

Example: embellish catalogue find "SS10 blue heat-set"
Example: embellish catalogue find --near "#2244aa" --from-mm 2.5 --to-mm 3
"""

SHOW_HELP = """Show all that is known of one piece.

Example: embellish catalogue show R-SS10-CLEAR
"""

CHECK_HELP = """Look through a catalogue of your own for what would stop or mislead a job.

Example: embellish catalogue check my-stock.toml

Exits with 1 where an error was found.
"""


def register(app: typer.Typer) -> None:
    """Add the group of commands."""
    group = typer.Typer(
        cls=Commands,
        help=GROUP,
        no_args_is_help=True,
        rich_markup_mode=None,
    )
    app.add_typer(
        group, name="catalogue", short_help="Look through catalogues, read suppliers' lists."
    )

    @group.command("list", help=LIST_HELP, short_help="List or find pieces.")
    def list_pieces(
        catalogue: Annotated[
            str, typer.Argument(help="A shipped catalogue, or a file.")
        ] = "shipped:stones",
        find: Annotated[str, typer.Option("--find", help="Words that a piece must hold.")] = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.catalogue.catalogue import find as found
        from embellish.catalogue.listing import piece_facts
        from embellish.job.catalogue_files import open_catalogue

        pieces = found(open_catalogue(catalogue), find)
        facts = [piece_facts(piece) for piece in pieces]
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
        if find and not rows:
            print(_none_like(open_catalogue(catalogue), find))
            return
        print_table(["code", "kind", "size", "mm", "colour", "fixing"], rows, right=set())

    _add_find(group)
    add_instead(group)
    add_lists(group)

    @group.command("show", help=SHOW_HELP, short_help="Show one piece.")
    def show(
        code: Annotated[str, typer.Argument(help="Its code.", show_default=False)],
        catalogue: Annotated[
            str,
            typer.Option("--catalogue", help="A catalogue; every shipped one if left out."),
        ] = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.catalogue.listing import piece_facts, piece_lines
        from embellish.job.catalogue_files import open_catalogues

        piece = open_catalogues(catalogue).piece(code)
        if as_json:
            print_json(piece_facts(piece))
            return
        for name, words in piece_lines(piece):
            print(f"{name:12} {words}")

    @group.command("check", help=CHECK_HELP, short_help="Look a catalogue through.")
    def check(
        catalogue: Annotated[
            str, typer.Argument(help="A catalogue file, or a shipped one.", show_default=False)
        ],
        every: Annotated[bool, typer.Option("--all", help="Name every code, not a few.")] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.catalogue.auditing import audited
        from embellish.job.catalogue_files import open_catalogue

        opened = open_catalogue(catalogue)
        findings = audited(opened, every=every)
        if as_json:
            facts = [finding.as_json() for finding in findings]
            print_json({"pieces": len(opened.pieces), "findings": facts})
        else:
            print_findings(findings)
            print(f"{catalogue}: {len(opened.pieces)} pieces, {len(opened.units)} units")
        raise typer.Exit(1 if any(each.severity == "error" for each in findings) else 0)


def _none_like(catalogue: Catalogue, words: str) -> str:
    """Return why no piece was found, and what to ask instead."""
    from embellish.catalogue.contents import unknown_words

    unknown = unknown_words(catalogue, words)
    if not unknown:
        return "No piece is all of that: ask for less."
    told = [
        f"No piece has '{word}'." + (f" Did you mean '{meant}'?" if meant else "")
        for word, meant in unknown.items()
    ]
    return " ".join((*told, "A colour is found by its nearness: --near with its name or #rrggbb."))


def _add_find(group: typer.Typer) -> None:
    @group.command("find", help=FIND_HELP, short_help="Find pieces among all catalogues.")
    def find_pieces(
        words: Annotated[str, typer.Argument(help="Words that a piece must hold.")] = "",
        catalogue: Annotated[
            str, typer.Option("--catalogue", help="A catalogue; every shipped one if left out.")
        ] = "",
        near: Annotated[
            str, typer.Option("--near", help="A colour, #rrggbb or a name: the nearest first.")
        ] = "",
        kind: Annotated[
            str, typer.Option(help="stone, pearl, stud, bead, bugle, sequin, chain.")
        ] = "",
        fixing: Annotated[str, typer.Option(help="heat-set, sew-on or glue.")] = "",
        from_mm: Annotated[float, typer.Option(min=0, help="No shorter than this.")] = 0.0,
        to_mm: Annotated[float, typer.Option(min=0, help="No longer than this.")] = 1000.0,
        in_stock: Annotated[bool, typer.Option("--in-stock", help="Only what you have.")] = False,
        most: Annotated[int, typer.Option(min=1, help="Show so many at most.")] = 40,
        as_json: AsJson = False,
    ) -> None:
        from embellish.catalogue.finding import found_pieces, wanted_of
        from embellish.catalogue.listing import piece_facts
        from embellish.job.catalogue_files import open_catalogues

        wanted = wanted_of(words, kind, fixing, (from_mm, to_mm), near, in_stock=in_stock)
        found = found_pieces(open_catalogues(catalogue), wanted)
        if as_json:
            print_json(
                {
                    "count": len(found),
                    "pieces": [
                        {**piece_facts(each.piece), "delta_e": each.delta_e}
                        for each in found[:most]
                    ],
                }
            )
            return
        rows = [
            [
                each.piece.code,
                each.piece.kind,
                each.piece.size,
                f"{each.piece.length_mm.nominal:g} × {each.piece.width_mm.nominal:g}",
                f"{each.piece.colour} {each.piece.finish}".strip(),
                each.piece.fixing,
                "" if each.delta_e is None else f"{each.delta_e:.1f}",
            ]
            for each in found[:most]
        ]
        if not found:
            print(_none_like(open_catalogues(catalogue), words))
            return
        head = ["code", "kind", "size", "mm", "colour", "fixing", "ΔE00" if near else ""]
        print_table(head, rows, right={6})
        if len(found) > most:
            print(f"{len(found)} pieces; the first {most} are shown (--most).")
        if near:
            print("Screen colours are rough: a sample card decides.")
