"""A list of names as a table: one row one garment, its cells in place of the job's own settings."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from embellish.errors import EmbellishError, JobError
from embellish.formats.csv_lists import read_list
from embellish.formats.nearest import close_to

NAME: Final = "name"
NOTE: Final = "note"
_PLAIN: Final = ("quantity", "title", "revision", "seed")
_TABLES: Final = ("artwork", "cloth", "template", "marks", "price", "hoop", "materials", "paper")


@dataclass(frozen=True)
class NameRow:
    """One row of a list.

    Parameters
    ----------
    line
        Its line in the file.
    name
        What is set in place of the job's words, and what it is called by.
    cells
        Column -> what stands there; empty cells are left out.
    note
        What stands under ``note``, for the sheet.
    """

    line: int
    name: str
    cells: Mapping[str, str]
    note: str = ""


def read_names(data: bytes, file: str) -> tuple[NameRow, ...]:
    """Read a list of names: CSV with a head row, cells apart by comma, semicolon or tab.

    Raises
    ------
    JobError
        Where it is no such list; with the line that is wrong.
    """
    rows = read_list(data, file, what="names", needed=NAME, known=(NAME, NOTE), error=JobError)
    return tuple(
        NameRow(row.line, row.cells.pop(NAME), row.cells, row.cells.pop(NOTE, "")) for row in rows
    )


def with_row(table: dict[str, Any], row: NameRow, file: str) -> dict[str, Any]:
    """Return a job's table with a row's name and cells in place.

    Columns are ``quantity``, ``title``, or lead to a key as the job writes it: ``cloth.colour``,
    ``lettering.cap_height_mm``, ``lay.edge.pieces`` (a lay by its id).

    Raises
    ------
    JobError
        Where a column leads nowhere, or a cell is no value for it; with file and line.
    """
    where = f"line {row.line}, '{row.name}'"
    try:
        changed = _named(table, row.name)
        for column, cell in row.cells.items():
            changed = _set(changed, column.split("."), column, cell)
    except EmbellishError as wrong:
        item = ", ".join(part for part in (where, wrong.item) if part)
        raise JobError(wrong.message, file=file, item=item, mend=wrong.mend) from wrong
    if "title" not in row.cells:
        changed["title"] = f"{table.get('title', '')} · {row.name}"[:120]
    return changed


def _named(table: dict[str, Any], name: str) -> dict[str, Any]:
    """Return the table with the name as the words of its lettering, where it has any."""
    words = table.get("lettering", [])
    if not isinstance(words, list) or not words:
        return dict(table)
    which = [n for n, each in enumerate(words) if each.get("id", NAME) == NAME]
    if not which and len(words) == 1:
        which = [0]
    if not which:
        raise JobError(
            "no [[lettering]] of this job is the name", mend='Give the one that is id = "name".'
        )
    changed = [dict(each) for each in words]
    changed[which[0]]["text"] = name.replace("\\n", "\n")
    return {**table, "lettering": changed}


def _set(table: dict[str, Any], path: list[str], column: str, cell: str) -> dict[str, Any]:
    if path[0] in ("lay", "lettering") and isinstance(table.get(path[0]), list):
        rows: list[dict[str, Any]] = [dict(each) for each in table[path[0]]]
        ids = [each.get("id", NAME) for each in rows]
        if len(path) == 2 and len(rows) == 1:
            number = 0
        elif len(path) == 3 and path[1] in ids:
            number = ids.index(path[1])
        else:
            shown = ", ".join(f"{path[0]}.{each}.KEY" for each in ids)
            raise JobError(
                f"the column '{column}' leads to no {path[0]} of this job", mend=f"Write {shown}."
            )
        rows[number][path[-1]] = _value(cell, rows[number].get(path[-1]))
        return {**table, path[0]: rows}
    if len(path) == 1 and path[0] in _PLAIN:
        return {**table, path[0]: _value(cell, "" if path[0] in ("title", "revision") else None)}
    if len(path) == 2 and path[0] in _TABLES:
        held = dict(table.get(path[0], {}))
        held[path[1]] = _value(cell, held.get(path[1]))
        return {**table, path[0]: held}
    known = [*_PLAIN, NOTE, *(f"{each}.KEY" for each in _TABLES), "lay.ID.KEY", "lettering.KEY"]
    close = close_to(column, [NAME, *known])
    raise JobError(
        f"the column '{column}' leads to no setting of a job",
        mend=f"Did you mean '{close}'?" if close else f"Columns are {', '.join(known)}.",
    )


def _value(cell: str, now: Any) -> Any:
    """Return what a cell says: text where the job has text there, else as TOML writes it."""
    if isinstance(now, str):
        return cell
    try:
        held: Any = tomllib.loads(f"v = {cell}")
    except tomllib.TOMLDecodeError:
        held = {}
    if set(held) == {"v"}:
        return held["v"]
    if isinstance(now, list):
        return [part.strip() for part in cell.replace(";", ",").split(",")]
    return cell
