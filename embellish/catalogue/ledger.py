"""Stock as a ledger: a CSV with a row for all that came in, went out or was counted.

What is there follows from the rows, so stock and history cannot disagree, and nothing is ever
struck out: to undo an entry is one more row. A person may add rows in a spreadsheet as well::

    entry,what,code,lot,pieces,for,note
    1,add,R-SS10-CLEAR,L7,1440,,first pack
    2,use,R-SS10-CLEAR,L7,236,Moth · layout 5d6eee28,
    3,count,R-SS10-CLEAR,L7,1190,,counted by hand
    4,undo,,,,2,the order was cancelled
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, cast, get_args

from embellish.catalogue.contents import Catalogue
from embellish.catalogue.piece import LotStock
from embellish.errors import CatalogueError
from embellish.formats import entries
from embellish.formats.csv_lists import read_list, unguarded
from embellish.formats.nearest import nearest

What = Literal["add", "use", "count", "undo"]

COLUMNS: Final = ("entry", "what", "code", "lot", "pieces", "for", "note")
_MOST_ROWS: Final = 200_000

Held = dict[str, dict[str, int]]


@dataclass(frozen=True, slots=True)
class Move:
    """One row.

    Parameters
    ----------
    entry
        Rows written at once have the same number.
    what
        ``add`` and ``use`` are added and taken away, ``count`` is what is there from then on,
        ``undo`` takes back the entry whose number stands under ``target``.
    pieces
        How many.
    target
        What they were for; of an ``undo`` the entry.
    """

    entry: int
    what: What
    code: str = ""
    lot: str = ""
    pieces: int = 0
    target: str = ""
    note: str = ""
    line: int = 0


@dataclass(frozen=True)
class Ledger:
    """All rows, in their order."""

    name: str
    moves: tuple[Move, ...] = ()

    @property
    def last_entry(self) -> int:
        """The highest number so far."""
        return entries.last_entry(self.moves)

    @property
    def undone(self) -> frozenset[int]:
        """Entries that were taken back."""
        return entries.undone(self.moves)

    def held(self) -> Held:
        """Return what is there, by code and lot; lots of which nothing is there are left out.

        Raises
        ------
        CatalogueError
            Where more was taken than there was, with the line.
        """
        held: Held = {}
        for move in entries.standing(self.moves):
            lots = held.setdefault(move.code, {})
            there = lots.get(move.lot, 0)
            if move.what == "count":
                lots[move.lot] = move.pieces
            elif move.what == "add":
                lots[move.lot] = there + move.pieces
            else:
                lots[move.lot] = there - move.pieces
            if lots[move.lot] < 0:
                lot = f" of lot {move.lot}" if move.lot else ""
                raise CatalogueError(
                    f"{move.pieces} of {move.code}{lot} are taken, and {there} were there",
                    file=self.name,
                    item=f"line {move.line}" if move.line else f"entry {move.entry}",
                    mend="Count what is there, and write it as a row with what = count before it.",
                )
        return {
            code: {lot: pieces for lot, pieces in lots.items() if pieces}
            for code, lots in held.items()
        }

    @property
    def taken_for(self) -> dict[int, str]:
        """By entry, what pieces were taken for, of those that were not undone."""
        return {
            move.entry: move.target for move in entries.standing(self.moves) if move.what == "use"
        }

    def booked(self, target: str) -> int | None:
        """Return the entry by which pieces were taken for this, unless it was undone."""
        return next((entry for entry, mine in self.taken_for.items() if mine == target), None)

    def undoing(self, entry: int | None) -> Move:
        """Return the row that takes an entry back, the last one where none is named.

        Raises
        ------
        CatalogueError
            Where there is no such entry, or it was taken back already.
        """
        which = entries.to_undo(
            self.moves, entry, file=self.name, see="embellish stock log", error=CatalogueError
        )
        return Move(self.last_entry + 1, "undo", target=str(which))


def read_ledger(data: bytes, name: str) -> Ledger:
    """Read a ledger.

    Raises
    ------
    CatalogueError
        Where it is none, or more was taken than there was; with the line.
    """
    listed = read_list(
        data, name, what="rows", needed="what", known=COLUMNS, error=CatalogueError,
        only_in="a stock file", most_rows=_MOST_ROWS,
    )  # fmt: skip
    moves: list[Move] = []
    last = 0
    standing: set[int] = set()
    for row in listed:
        move = _move(row.cells, row.line, last + 1, name)
        _follow_undo(move, standing, name)
        moves.append(move)
        last = max(last, move.entry)
    ledger = Ledger(name, tuple(moves))
    ledger.held()
    return ledger


def _follow_undo(move: Move, standing: set[int], file: str) -> None:
    """Keep the numbers of entries that stand; an undo of any other would be passed over unseen."""
    if move.what != "undo":
        standing.add(move.entry)
        return
    if int(move.target) not in standing:
        raise CatalogueError(
            f"it undoes entry {move.target}, and no such entry stands above it",
            file=file,
            item=f"line {move.line}",
            mend="Write the number of an entry that was not undone yet, or take this row out.",
        )
    standing.discard(int(move.target))


def _move(cells: Mapping[str, str], line: int, following: int, file: str) -> Move:
    where = f"line {line}"
    what, known = cells["what"].casefold(), get_args(What)
    if what not in known:
        raise CatalogueError(
            f"'{what}' is nothing that stock does", file=file, item=where, mend=nearest(what, known)
        )
    # A row added by hand without a number is an entry of its own.
    entry = _number(cells.get("entry", str(following)), "entry", where, file)
    target, note = unguarded(cells.get("for", "")), unguarded(cells.get("note", ""))
    if what == "undo":
        _number(target, "for", where, file)
        return Move(entry, "undo", target=target, note=note, line=line)
    code = unguarded(cells.get("code", ""))
    if not code:
        raise CatalogueError("this row has no code", file=file, item=where, mend="Fill it in.")
    pieces = _number(cells.get("pieces", ""), "pieces", where, file)
    lot = unguarded(cells.get("lot", ""))
    return Move(entry, cast("What", what), code, lot, pieces, target, note, line)


def _number(cell: str, column: str, where: str, file: str) -> int:
    return entries.whole_number(cell, column, file=file, where=where, error=CatalogueError)


def with_rows(data: bytes, moves: Iterable[Move], name: str) -> bytes:
    """Return the file with rows at its end; what stands there stays as it is.

    Raises
    ------
    CatalogueError
        Where the file has no column for something that must be said.
    """
    rows = (
        {
            "entry": str(move.entry),
            "what": move.what,
            "code": move.code,
            "lot": move.lot,
            "pieces": "" if move.what == "undo" else str(move.pieces),
            "for": move.target,
            "note": move.note,
        }
        for move in moves
    )
    return entries.with_rows(
        data, COLUMNS, rows, file=name, what="stock file", error=CatalogueError
    )


def with_stock(catalogue: Catalogue, held: Held) -> Catalogue:
    """Return the catalogue with a ledger's stock in place of its own, which counts no more."""
    pieces = dict(catalogue.pieces)
    for code, piece in catalogue.pieces.items():
        lots = tuple(
            LotStock(lot=lot, pieces=number) for lot, number in sorted(held.get(code, {}).items())
        )
        stock = sum(each.pieces for each in lots)
        if (stock, lots) != (piece.stock, piece.lots):
            pieces[code] = piece.model_copy(update={"stock": stock, "lots": lots})
    return replace(catalogue, pieces=pieces)
