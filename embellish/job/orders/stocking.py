"""Stock booked out and in: read, decided and written under one lock, so that nothing goes twice."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from embellish.catalogue.ledger import Ledger, Move, read_ledger, with_rows, with_stock
from embellish.errors import CatalogueError, JobError
from embellish.job.orders.counting import CountedOrder, materials_of
from embellish.job.placing import change_list

_START = "Start one with: embellish stock add FILE CODE PIECES."


@dataclass(frozen=True)
class Booking:
    """What was written, and what is there now."""

    ledger: Ledger
    moves: tuple[Move, ...]
    to_buy: tuple[tuple[str, int], ...] = ()
    """Pieces that stock does not cover, by code."""
    notes: tuple[str, ...] = ()
    """What the maker should look at."""


def add(path: Path, moves: Sequence[Move]) -> Booking:
    """Write rows of one entry at a stock file's end; it is begun where there is none.

    Raises
    ------
    CatalogueError
        Where the file is no stock file, or more would be taken than is there.
    OutputError
        Where the disk refuses, or another run holds the file for long.
    """
    return _changed(path, lambda ledger: (_numbered(ledger, moves), ()), begins=True)


def undo(path: Path, entry: int | None, note: str = "") -> Booking:
    """Take an entry back, the last one where none is named.

    Raises
    ------
    CatalogueError
        Where there is no such entry, or what it brought in was taken since.
    """

    def taken_back(ledger: Ledger) -> tuple[list[Move], tuple[tuple[str, int], ...]]:
        return [replace(ledger.undoing(entry), note=note)], ()

    return _changed(path, taken_back)


def use(
    path: Path, order: CountedOrder, *, part: bool = False, again: bool = False, note: str = ""
) -> Booking:
    """Book out what a job or an order takes, spares included.

    Parameters
    ----------
    part
        Take what is there where it does not suffice.
    again
        Also where the same layouts were booked out before.

    Raises
    ------
    CatalogueError
        Where stock does not suffice, or it was booked before.
    """
    target = target_of(order)
    alike: list[str] = []

    def taken(ledger: Ledger) -> tuple[list[Move], tuple[tuple[str, int], ...]]:
        before = ledger.booked(target)
        if before is not None and not again:
            raise CatalogueError(
                f"{target} was booked out already, as entry {before}",
                file=str(path),
                mend="Undo that entry, or add --again to take the same once more.",
            )
        alike.extend(_alike(ledger, target))
        # The stock as it is now, not as it was when the job was read.
        catalogue = with_stock(order.catalogue, ledger.held())
        lines = materials_of(order.order, order.designs, catalogue).lines
        short = tuple(
            (line.code, line.needed - line.from_stock)
            for line in lines
            if line.from_stock < line.needed
        )
        if short and not part:
            code, missing = short[0]
            more = f", and of {len(short) - 1} more codes" if len(short) > 1 else ""
            raise CatalogueError(
                f"{missing} more of {code} are needed than one lot in stock holds{more}",
                file=str(path),
                mend="Buy them and add them first, or take what is there with --part.",
            )
        moves = [
            Move(0, "use", line.code, lot, pieces, target, note)
            for line in lines
            for lot, pieces in line.taken
        ]
        return _numbered(ledger, moves), short

    return replace(_changed(path, taken), notes=tuple(alike))


_LAYOUTS = re.compile(r"× ([0-9a-f]{8}(?:\+[0-9a-f]{8})*)")
"""What `target_of` writes of each design, but for how many of it."""


def _alike(ledger: Ledger, target: str) -> Iterator[str]:
    """Yield what was booked out before of the same layouts: under another name, or another number.

    That may be another order of the same, or the same job under a new name: the maker knows.
    """
    mine = set(_LAYOUTS.findall(target))
    for entry, other in ledger.taken_for.items():
        if other != target and mine.intersection(_LAYOUTS.findall(other)):
            yield (
                f"the same layout was booked out before, as entry {entry} for {other}; if that was"
                f" this job under another name or number, take it back: embellish stock undo"
                f" {ledger.name} {entry}"
            )


def bought(order: CountedOrder) -> list[Move]:
    """Return rows that add the packs which a job or an order buys."""
    return [
        Move(0, "add", line.code, pack.lot, pack.pieces * pack.quantity, target_of(order))
        for line in order.materials.lines
        for pack in line.packs
    ]


def target_of(order: CountedOrder, garments: int | None = None) -> str:
    """Return what is made: the title, and the layouts with how many of each.

    Parameters
    ----------
    garments
        In place of the number asked for.
    """
    prints = ", ".join(
        f"{garments or design.quantity} × "
        + "+".join(side.plans.title.fingerprint for side in design.sides)
        for design in order.designs
    )
    return f"{order.title}: {prints}"[:2000]


def stock_of(order: CountedOrder, named: Path | None) -> Path:
    """Return the stock file to book in: the one named, else the job's or order's own.

    Raises
    ------
    JobError
        Where there is none.
    """
    path = named or order.stock
    if path is None:
        raise JobError(
            "no stock file is named",
            item="--stock",
            mend='Add --stock FILE, or stock = "FILE" under [materials] of the job.',
        )
    return path


def _numbered(ledger: Ledger, moves: Sequence[Move]) -> list[Move]:
    entry = ledger.last_entry + 1
    return [replace(move, entry=entry) for move in moves]


Decide = Callable[[Ledger], tuple[list[Move], tuple[tuple[str, int], ...]]]


def _changed(path: Path, decide: Decide, *, begins: bool = False) -> Booking:
    """Decide by what stands in a stock file, and write it; it may begin one, or not."""
    if not begins and not path.exists():
        raise CatalogueError("there is no such stock file", file=str(path), mend=_START)
    decided: list[tuple[list[Move], tuple[tuple[str, int], ...]]] = []

    def add_to(data: bytes, ledger: Ledger) -> bytes:
        decided.append(decide(ledger))
        moves = decided[-1][0]
        return with_rows(data, moves, str(path)) if moves else data

    ledger = change_list(path, read_ledger, Ledger(str(path)), add_to)
    moves, short = decided[-1]
    return Booking(ledger, tuple(moves), short)
