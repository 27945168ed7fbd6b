"""Lists that are only ever added to (CSV): numbered entries, of which some take others back.

What holds follows from the rows. Nothing is struck out: to undo an entry is one more row.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, Protocol, TypeVar

from embellish.errors import EmbellishError
from embellish.formats.csv_lists import apart_by, list_bytes

UNDO: Final = "undo"
_MOST: Final = 1_000_000_000


class Row(Protocol):
    """What every row has."""

    @property
    def entry(self) -> int:
        """Its number; rows written at once have the same."""

    @property
    def what(self) -> str:
        """What it tells; ``undo`` takes back the entry whose number stands under ``target``."""

    @property
    def target(self) -> str:
        """What it is for."""


R = TypeVar("R", bound=Row)


def last_entry(rows: Iterable[Row]) -> int:
    """Return the highest number so far."""
    return max((row.entry for row in rows), default=0)


def undone(rows: Iterable[Row]) -> frozenset[int]:
    """Return the entries that were taken back."""
    return frozenset(int(row.target) for row in rows if row.what == UNDO)


def standing(rows: Sequence[R]) -> tuple[R, ...]:
    """Return the rows that hold: those that were not taken back."""
    gone = undone(rows)
    return tuple(row for row in rows if row.what != UNDO and row.entry not in gone)


def to_undo(
    rows: Sequence[Row], entry: int | None, *, file: str, see: str, error: type[EmbellishError]
) -> int:
    """Return the entry that is to be taken back: the one named, else the last that holds.

    Parameters
    ----------
    see
        The command that shows the entries.

    Raises
    ------
    EmbellishError
        Of the kind given, where there is none.
    """
    open_ = {row.entry for row in standing(rows)}
    which = max(open_, default=0) if entry is None else entry
    if which not in open_:
        raise error(
            f"there is no entry {which} to undo" if which else "there is nothing to undo",
            file=file,
            mend=f"See the entries with: {see}.",
        )
    return which


def whole_number(
    cell: str, column: str, *, file: str, where: str, error: type[EmbellishError]
) -> int:
    """Return a cell's whole number.

    Raises
    ------
    EmbellishError
        Of the kind given, where it is none.
    """
    if not cell.isascii() or not cell.isdecimal() or int(cell) > _MOST:
        raise error(
            f"{column} must be a whole number, not '{cell[:40]}'",
            file=file,
            item=where,
            mend="Write digits alone, such as 144.",
        )
    return int(cell)


def with_rows(
    data: bytes,
    columns: Sequence[str],
    rows: Iterable[Mapping[str, str]],
    *,
    file: str,
    what: str,
    error: type[EmbellishError],
) -> bytes:
    """Return a list with rows at its end; what stands there stays as it is.

    Parameters
    ----------
    data
        The list; it is begun where there is nothing.
    columns
        All that a row can have.
    rows
        Cells by column.
    what
        What the list is: stock file.

    Raises
    ------
    EmbellishError
        Of the kind given, where the list has no column for something that must be said.
    """
    start = data or list_bytes(columns, ())
    text = start.decode("utf-8-sig")
    head = next(csv.reader(io.StringIO(text), delimiter=apart_by(text)))
    there = [column.strip().casefold() for column in head]
    added = []
    for cells in rows:
        missing = [column for column, cell in cells.items() if cell and column not in there]
        if missing:
            raise error(
                f"this {what} has no column '{missing[0]}'",
                file=file,
                mend=f"Make its first row: {','.join(columns)}.",
            )
        added.append([cells.get(column, "") for column in there])
    ending = b"" if start.endswith(b"\n") else b"\r\n"
    return start + ending + list_bytes((), added, apart=apart_by(text))
