"""``embellish stock``: what is there, booked in and out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from embellish.cli.ending import Commands
from embellish.cli.options import AsJson, JobOrOrder, Note, WhichEntry
from embellish.cli.telling import ProgressLine, print_json, print_table

if TYPE_CHECKING:
    from embellish.job.orders.stocking import Booking

GROUP = """Keep stock in a file of its own: a CSV with a row for all that came in or went out.

Example: embellish stock show stock.csv

A job uses it with stock = "stock.csv" under [materials].
"""
SHOW_HELP = """Show what is there, by code and lot.

Example: embellish stock show stock.csv
"""
ADD_HELP = """Add pieces that came in, or all packs that a job or an order buys.

Example: embellish stock add stock.csv R-SS10-CLEAR 1440 --lot L7
Example: embellish stock add stock.csv --bought moth.toml
"""
COUNT_HELP = """Write down how many are there, as counted by hand.

Example: embellish stock count stock.csv R-SS10-CLEAR 1190 --lot L7
"""
USE_HELP = """Book out what a job or an order takes, spares included.

Example: embellish stock use moth.toml --stock stock.csv

Refused where stock does not suffice (--part takes what is there) or where the same layout was
booked out before (--again); where it was under another name or number, that is told. Two runs at
once never take the same pieces.
"""
UNDO_HELP = """Take back the last entry, or one by its number; the file keeps both.

Example: embellish stock undo stock.csv
"""
LOG_HELP = """Show every entry.

Example: embellish stock log stock.csv
"""

File = Annotated[Path, typer.Argument(metavar="STOCK", help="The stock file (CSV).")]


def register(app: typer.Typer) -> None:
    """Add the group of commands."""
    group = typer.Typer(cls=Commands, help=GROUP, no_args_is_help=True, rich_markup_mode=None)
    app.add_typer(group, name="stock", short_help="Keep stock, by lot.")
    _register_reading(group)
    _register_writing(group)


def _register_reading(group: typer.Typer) -> None:
    @group.command("show", help=SHOW_HELP, short_help="What is there.")
    def show(stock: File, as_json: AsJson = False) -> None:
        from embellish.job.files import open_ledger

        _tell_held(open_ledger(stock).held(), as_json=as_json)

    @group.command("log", help=LOG_HELP, short_help="Every entry.")
    def log(stock: File, as_json: AsJson = False) -> None:
        from embellish.job.files import open_ledger

        ledger = open_ledger(stock)
        undone = ledger.undone
        facts = [
            {"entry": each.entry, "what": each.what, "code": each.code, "lot": each.lot,
             "pieces": each.pieces, "for": each.target, "note": each.note,
             "undone": each.entry in undone}
            for each in ledger.moves
        ]  # fmt: skip
        if as_json:
            print_json({"stock": str(stock), "entries": facts})
            return
        rows = [
            [str(each["entry"]), f"{each['what']}{' (undone)' if each['undone'] else ''}",
             str(each["code"]), str(each["lot"]), str(each["pieces"] or ""), str(each["for"]),
             str(each["note"])]
            for each in facts
        ]  # fmt: skip
        print_table(["entry", "what", "code", "lot", "pieces", "for", "note"], rows, right={0, 4})


def _register_writing(group: typer.Typer) -> None:
    @group.command("add", help=ADD_HELP, short_help="What came in.")
    def add(
        stock: File,
        code: Annotated[str, typer.Argument(help="The piece's code.", show_default=False)] = "",
        pieces: Annotated[int, typer.Argument(help="How many.", show_default=False)] = 0,
        lot: Annotated[str, typer.Option("--lot", help="Their lot.")] = "",
        bought: Annotated[
            Path | None,
            typer.Option("--bought", help="A job or order whose packs came.", show_default=False),
        ] = None,
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import CatalogueError
        from embellish.job.orders.stocking import add as booked_in
        from embellish.job.orders.stocking import bought as packs_of

        if bought is not None and code:
            raise CatalogueError(
                "a code and --bought are both given", item="--bought", mend="Keep one of them."
            )
        moves = (
            packs_of(_counted(bought))
            if bought is not None
            else [_move(stock, "add", code, pieces, lot, note)]
        )
        _tell(booked_in(stock, moves), as_json=as_json)

    @group.command("count", help=COUNT_HELP, short_help="What was counted by hand.")
    def count(
        stock: File,
        code: Annotated[str, typer.Argument(help="The piece's code.", show_default=False)],
        pieces: Annotated[int, typer.Argument(help="How many are there.", show_default=False)],
        lot: Annotated[str, typer.Option("--lot", help="Their lot.")] = "",
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.orders.stocking import add as booked_in

        _tell(booked_in(stock, [_move(stock, "count", code, pieces, lot, note)]), as_json=as_json)

    @group.command("use", help=USE_HELP, short_help="Book out a job or an order.")
    def use(
        job: JobOrOrder,
        stock: Annotated[
            Path | None,
            typer.Option(
                "--stock", help="The stock file, where the job names none.", show_default=False
            ),
        ] = None,
        part: Annotated[
            bool, typer.Option("--part", help="Take what is there where it does not suffice.")
        ] = False,
        again: Annotated[
            bool, typer.Option("--again", help="Also where it was booked out before.")
        ] = False,
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.orders.stocking import stock_of
        from embellish.job.orders.stocking import use as booked_out

        order = _counted(job)
        booked = booked_out(stock_of(order, stock), order, part=part, again=again, note=note)
        _tell(booked, as_json=as_json)

    @group.command("undo", help=UNDO_HELP, short_help="Take an entry back.")
    def undo(
        stock: File,
        entry: WhichEntry = None,
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.orders.stocking import undo as taken_back

        _tell(taken_back(stock, entry, note), as_json=as_json)


def _counted(path: Path) -> Any:
    from embellish.job.orders.counting import count_together

    with ProgressLine() as progress:
        return count_together([path], progress.stage)


def _move(stock: Path, what: Any, code: str, pieces: int, lot: str, note: str) -> Any:
    from embellish.catalogue.ledger import Move
    from embellish.errors import CatalogueError

    if not code or pieces < (1 if what == "add" else 0):
        raise CatalogueError(
            "a code and how many are needed",
            file=str(stock),
            mend=f"Write stock {what} FILE CODE PIECES.",
        )
    return Move(0, what, code, lot, pieces, "", note)


def _tell(booked: Booking, *, as_json: bool) -> None:
    held = booked.ledger.held()
    touched = list(dict.fromkeys(move.code for move in booked.moves if move.code))
    if as_json:
        print_json(
            {
                "entry": booked.moves[0].entry if booked.moves else None,
                "rows": [
                    {"what": move.what, "code": move.code, "lot": move.lot, "pieces": move.pieces}
                    for move in booked.moves
                ],
                "held": held,
                "to_buy": dict(booked.to_buy),
                "notes": list(booked.notes),
            }
        )
        return
    for note in booked.notes:
        print(f"note: {note}.")
    for code, missing in booked.to_buy:
        print(f"still to buy: {missing} of {code}")
    if not booked.moves:
        print("Nothing was booked.")
        return
    print(f"Entry {booked.moves[0].entry}. There now:")
    _tell_held({code: held.get(code, {}) for code in touched} or held, as_json=False)


def _tell_held(held: dict[str, dict[str, int]], *, as_json: bool) -> None:
    if as_json:
        print_json({"held": held})
        return
    rows = [
        [code, lot, str(pieces)]
        for code, lots in held.items()
        for lot, pieces in (lots or {"": 0}).items()
    ]
    print_table(["code", "lot", "pieces"], rows, right={2})
