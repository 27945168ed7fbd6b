"""``embellish catalogue instead``: what could be set in place of a piece."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from embellish.cli.options import AsJson
from embellish.cli.telling import print_json, print_table

if TYPE_CHECKING:
    from embellish.catalogue.catalogue import Catalogue
    from embellish.catalogue.substitutes import Proposal

INSTEAD_HELP = """Show what could be set in place of a piece, or of each piece of a job.

Of the same kind, shape and fixing and of nearly the same size; the same family of finish comes
first, of it what is of one size, then the nearest colour (CIEDE2000).
Proposals: a sample card decides.

Example: embellish catalogue instead R-SS10-RED --in-stock
Example: embellish catalogue instead moth.toml --cheaper --most 1
"""


def add_instead(group: typer.Typer) -> None:
    """Add the command to its group."""

    @group.command("instead", help=INSTEAD_HELP, short_help="What could stand in for a piece.")
    def instead(
        piece: Annotated[
            str, typer.Argument(help="A piece's code, or a job (.toml).", show_default=False)
        ],
        catalogue: Annotated[
            str,
            typer.Option("--catalogue", help="A catalogue; every shipped one, or the job's."),
        ] = "",
        in_stock: Annotated[bool, typer.Option("--in-stock", help="Only what you have.")] = False,
        cheaper: Annotated[bool, typer.Option("--cheaper", help="Only what costs less.")] = False,
        most: Annotated[int, typer.Option(min=1, help="Show so many a piece.")] = 5,
        as_json: AsJson = False,
    ) -> None:
        from embellish.catalogue.substitutes import proposals

        codes, held = _asked(piece, catalogue)
        found = {
            code: proposals(held.piece(code), held, in_stock=in_stock, cheaper=cheaper)[:most]
            for code in codes
        }
        if as_json:
            print_json([_facts(code, each) for code in codes for each in found[code]])
            return
        rows = [_row(code, each, held.currency) for code in codes for each in found[code]]
        if rows:
            head = ["for", "take", "mm", "colour", "finish", "ΔE00", "100 cost", "in stock"]
            print_table(head, rows, right={5, 6, 7})
        for code in (code for code in codes if not found[code]):
            print(f"{code}: nothing of its kind, shape, fixing and size is listed.")
        print("Proposals: screen colours are rough, a sample card decides.")


def _asked(piece: str, catalogue: str) -> tuple[tuple[str, ...], Catalogue]:
    """Return the codes to look at and where to look."""
    from embellish.job.catalogue_files import open_catalogue, open_catalogues
    from embellish.job.files import open_job

    if not piece.endswith(".toml"):
        return (piece,), open_catalogues(catalogue)
    opened = open_job(Path(piece))
    pieces = opened.catalogue.pieces
    named = dict.fromkeys(code for lay in opened.job.lay for code in lay.codes)
    codes = tuple(code for code in named if code in pieces)
    return codes, open_catalogue(catalogue) if catalogue else opened.catalogue


def _row(code: str, each: Proposal, currency: str) -> list[str]:
    from embellish.plans.money import rounded, smallest, told

    more = each.dearer
    cost = told(None if more is None else rounded(more * 100, smallest(currency)), currency)
    cost = f"+{cost}" if more is not None and more > 0 else cost
    size = f"{each.piece.length_mm.nominal:g} × {each.piece.width_mm.nominal:g}"
    colour, finish = each.piece.colour, each.piece.finish or "–"
    stock = str(each.piece.stock)
    return [code, each.piece.code, size, colour, finish, f"{each.delta_e:.1f}", cost, stock]


def _facts(code: str, each: Proposal) -> dict[str, Any]:
    return {
        "for": code,
        "take": each.piece.code,
        "same_finish": each.same_finish,
        "delta_e": each.delta_e,
        "dearer": None if each.dearer is None else str(each.dearer),
        "in_stock": each.piece.stock,
    }
