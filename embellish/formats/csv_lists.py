"""Lists for a spreadsheet, read and written: CSV (RFC 4180) with a head row, in UTF-8."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from embellish.errors import EmbellishError
from embellish.formats.nearest import nearest

MOST_ROWS: Final = 2_000
_MOST_LETTERS_A_ROW: Final = 1_000
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")

Cell = str | float | None


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row: its line, and what stands under each column; empty cells are left out."""

    line: int
    cells: dict[str, str]


def read_list(
    data: bytes,
    file: str,
    *,
    what: str,
    needed: str,
    known: Collection[str],
    error: type[EmbellishError],
    only_in: str = "",
    most_rows: int = MOST_ROWS,
) -> tuple[ListRow, ...]:
    """Read a list; cells are apart by comma, semicolon or tab.

    Parameters
    ----------
    what
        What the rows are, in the plural, for messages: names.
    needed
        The column that must be there and filled in.
    known
        Columns read whatever their case.
    only_in
        What has no other columns than the known, such as 'an order'; left out, others are read.

    Raises
    ------
    EmbellishError
        Of the kind given, where it is no such list; with the line that is wrong.
    """
    lines = csv_rows(data, file, what=what, error=error, most_rows=most_rows)
    if len(lines) - 1 > most_rows:
        raise error(
            f"there are more than {most_rows} {what} in this list", file=file, mend="Split it."
        )
    rows = _rows(lines, file, what, needed, known, error)
    other = next((column for row in rows for column in row.cells if column not in known), None)
    if only_in and other is not None:
        raise error(
            f"there is no column '{other}' in {only_in}", file=file, mend=nearest(other, known)
        )
    return rows


def csv_rows(
    data: bytes, file: str, *, what: str, error: type[EmbellishError], most_rows: int
) -> list[tuple[int, list[str]]]:
    """Return the rows that hold anything, each with its line; cells are stripped.

    Raises
    ------
    EmbellishError
        Of the kind given, where it is no CSV.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise error(
            "this list is not text in UTF-8",
            file=file,
            mend="Save it from the spreadsheet as 'CSV UTF-8'.",
        ) from wrong
    if len(text) > most_rows * _MOST_LETTERS_A_ROW or "\0" in text:
        raise error(f"this is no list of {what}", file=file, mend="Name a CSV file.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=apart_by(text), strict=True)
    lines: list[tuple[int, list[str]]] = []
    try:
        lines.extend(
            (reader.line_num, [cell.strip() for cell in cells])
            for cells in reader
            if any(cell.strip() for cell in cells)
        )
    except csv.Error as wrong:
        raise error(
            f"this line cannot be read ({wrong})",
            file=file,
            item=f"line {reader.line_num}",
            mend='A cell with quotes in it is written "so ""quoted"" so".',
        ) from wrong
    return lines


def list_bytes(head: Sequence[str], rows: Iterable[Sequence[Cell]], *, apart: str = ",") -> bytes:
    """Return a list as bytes, without a head where that is empty; no text becomes a formula.

    Parameters
    ----------
    head
        Names of the columns.
    rows
        Texts and numbers; None is an empty cell.
    apart
        What stands between the cells.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=apart, lineterminator="\r\n")
    for row in [head, *rows] if head else rows:
        writer.writerow([guarded(cell) if isinstance(cell, str) else cell for cell in row])
    return text.getvalue().encode()


def guarded(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula: an apostrophe before = + - @."""
    return f"'{cell}" if cell.startswith(_FORMULA) else cell


def unguarded(cell: str) -> str:
    """Return a cell without the apostrophe of `guarded`."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_FORMULA) else cell


def apart_by(text: str) -> str:
    """Return what stands between the cells of a list: comma, semicolon or tab."""
    head = text.lstrip().split("\n", 1)[0]
    return max(",;\t", key=head.count)


def _rows(
    lines: Sequence[tuple[int, list[str]]],
    file: str,
    what: str,
    needed: str,
    known: Collection[str],
    error: type[EmbellishError],
) -> tuple[ListRow, ...]:
    if not lines:
        raise error(
            "there is nothing in this list", file=file, mend=f"Write a row '{needed}' first."
        )
    head = [column.casefold() if column.casefold() in known else column for column in lines[0][1]]
    if needed not in head:
        raise error(
            f"no column is called '{needed}'",
            file=file,
            item=f"line {lines[0][0]}",
            mend=f"Write the columns' names in the first row: {needed}, and what else differs.",
        )
    for column in head:
        if column and head.count(column) > 1:
            raise error(f"two columns are called '{column}'", file=file, mend="Keep one of them.")
    rows = [_row(number, cells, head, file, needed, error) for number, cells in lines[1:]]
    if not rows:
        raise error(
            f"there are no {what} in this list", file=file, mend="Add a row for each of them."
        )
    return tuple(rows)


def _row(
    number: int,
    cells: list[str],
    head: list[str],
    file: str,
    needed: str,
    error: type[EmbellishError],
) -> ListRow:
    where = f"line {number}"
    extra = [cell for cell in cells[len(head) :] if cell]
    loose = [c for column, c in zip(head, cells, strict=False) if not column and c]
    if extra or loose:
        raise error(
            f"'{(extra or loose)[0]}' stands under no column",
            file=file,
            item=where,
            mend="Give its column a name, or put a cell with commas in it between quotes.",
        )
    held = {column: cell for column, cell in zip(head, cells, strict=False) if column and cell}
    if needed not in held:
        raise error(f"this row has no {needed}", file=file, item=where, mend="Fill it in.")
    return ListRow(number, held)
