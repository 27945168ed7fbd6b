"""The job file's text changed as a careful person would: comments, order and spacing stay."""

from __future__ import annotations

import copy
from collections.abc import Iterable, MutableMapping, MutableSequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Item, Table

from embellish.errors import JobError
from embellish.formats.toml_items import toml_item
from embellish.job.text.changes import (
    AddTable,
    Change,
    CopyLay,
    MoveLay,
    RemoveTable,
    RenameLay,
    SetValue,
)


def changed(text: str, changes: Iterable[Change], name: str) -> str:
    """Return a job file's text after changes; what it means is for the job's own reader to judge.

    Raises
    ------
    JobError
        Where the text is no TOML, or a change is of something that is not there.
    """
    changes = list(changes)
    if not changes:
        return text
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as wrong:
        raise JobError(f"this file is not TOML ({wrong})", file=name) from wrong
    try:
        for change in changes:
            _make(document, change)
    except TOMLKitError as wrong:
        raise JobError(f"this change cannot be written ({wrong})", file=name) from wrong
    if any(isinstance(change, (AddTable, CopyLay, MoveLay, RemoveTable)) for change in changes):
        for key in ("lay", "edit", "keep_out", "size"):
            _space_out(document.get(key))
    return tomlkit.dumps(document).rstrip("\n") + "\n"


def _space_out(tables: object) -> None:
    """Have an empty line after each table of a list."""
    if isinstance(tables, AoT):
        for table in tables:
            if not table.as_string().endswith("\n\n"):
                table.add(tomlkit.nl())


def _make(document: tomlkit.TOMLDocument, change: Change) -> None:
    match change:
        case SetValue():
            _set(document, change)
        case AddTable():
            _add(document, change)
        case RemoveTable():
            _remove(document, change)
        case MoveLay():
            _move(document, change)
        case CopyLay():
            _copy(document, change)
        case RenameLay():
            lays = _list(document, "lay")
            if any(each.get("id") == change.to for each in lays):
                raise JobError(f"there is a lay '{change.to}' already", mend="Take another id.")
            lays[_lay_number(document, change.id)]["id"] = change.to
            for edit in _list(document, "edit"):
                if edit.get("lay") == change.id:
                    edit["lay"] = change.to


def _set(document: tomlkit.TOMLDocument, change: SetValue) -> None:
    *path, key = change.at
    if not isinstance(key, str):
        raise JobError("a change leads to a key, not to a place in a list")
    holder = _holder(document, path, make=change.value is not None)
    if holder is None:
        return
    if change.value is None:
        holder.pop(key, None)
        _drop_empty(document, path)
        return
    old = holder.get(key)
    if old is not None and old == change.value and type(old) is type(change.value):
        return
    new = toml_item(change.value, tomlkit)
    if isinstance(old, Item) and isinstance(new, Item) and not isinstance(old, (AoT, Table)):
        new.trivia.comment_ws = old.trivia.comment_ws
        new.trivia.comment = old.trivia.comment
    holder[key] = new


def _holder(
    document: tomlkit.TOMLDocument, path: list[str | int], *, make: bool
) -> MutableMapping[str, Any] | None:
    """Return the table a path leads to, made where it is missing, or None."""
    here: Any = document
    for depth, part in enumerate(path):
        if isinstance(part, int):
            if not _is_list(here) or not 0 <= part < len(here):
                raise JobError(f"there is no entry {part + 1} of '{path[depth - 1]}'")
            here = here[part]
        elif _is_list(here):  # of lays, by id
            numbers = [n for n, each in enumerate(here) if each.get("id") == part]
            if not numbers:
                raise JobError(f"there is no lay '{part}' any more", mend="It was taken out.")
            here = here[numbers[0]]
        else:
            if part not in here:
                if not make:
                    return None
                new = tomlkit.table() if depth == 0 else tomlkit.inline_table()
                _append_table(here, part, new)
            here = here[part]
    if not isinstance(here, MutableMapping):
        raise JobError(f"'{path[-1]}' holds no keys")
    return here


def _append_table(holder: Any, key: str, table: Any) -> None:
    if holder and isinstance(table, Table):
        holder.add(tomlkit.nl())
    holder[key] = table


def _drop_empty(document: tomlkit.TOMLDocument, path: list[str | int]) -> None:
    """Take out a table of the job that a removal left without a key."""
    if len(path) == 1 and isinstance(path[0], str) and not document.get(path[0], {"": 0}):
        held = document[path[0]]
        # A comment in it is the maker's: it stays, with its table.
        if isinstance(held, Table) and "#" not in held.as_string():
            document.remove(path[0])


def _add(document: tomlkit.TOMLDocument, change: AddTable) -> None:
    tables = _list(document, change.to, make=True)
    table = _table(change.table, inline=not isinstance(tables, AoT))
    if change.after is None:
        tables.append(table)
    else:
        tables.insert(_lay_number(document, change.after) + 1, table)


def _remove(document: tomlkit.TOMLDocument, change: RemoveTable) -> None:
    tables = _list(document, change.of)
    if isinstance(change.which, str):
        number = _lay_number(document, change.which)
        edits = _list(document, "edit")
        for index in range(len(edits) - 1, -1, -1):
            if edits[index].get("lay") == change.which:
                del edits[index]
        if "edit" in document and not edits:
            document.remove("edit")
    else:
        number = change.which
        if number >= len(tables):
            raise JobError(f"there is no entry {number + 1} of '{change.of}' any more")
    del tables[number]
    if not tables and change.of in document:
        document.remove(change.of)


def _move(document: tomlkit.TOMLDocument, change: MoveLay) -> None:
    lays = _list(document, "lay")
    table = lays[_lay_number(document, change.id)]
    del lays[_lay_number(document, change.id)]
    at = len(lays) if change.before is None else _lay_number(document, change.before)
    lays.insert(at, table)


def _copy(document: tomlkit.TOMLDocument, change: CopyLay) -> None:
    lays = _list(document, "lay")
    number = _lay_number(document, change.id)
    taken = {str(each.get("id")) for each in lays}
    count = 2
    while (new := f"{change.id[:58]}-{count}") in taken:
        count += 1
    table = copy.deepcopy(lays[number])
    table["id"] = new
    if "name" in table:
        table["name"] = f"{table['name']} {count}"[:120]
    lays.insert(number + 1, table)


def _list(document: tomlkit.TOMLDocument, key: str, *, make: bool = False) -> MutableSequence[Any]:
    if key not in document:
        if not make:
            return []
        document.append(key, tomlkit.aot())
    tables: Any = document[key]
    if not isinstance(tables, MutableSequence):
        raise JobError(
            f"the tables [[{key}]] of this file stand apart, with others between them",
            mend="Put them one after the other in the file.",
        )
    return tables


def _is_list(held: object) -> bool:
    return isinstance(held, MutableSequence)


def _lay_number(document: tomlkit.TOMLDocument, wanted: str) -> int:
    for number, lay in enumerate(_list(document, "lay")):
        if lay.get("id") == wanted:
            return number
    raise JobError(f"there is no lay '{wanted}' any more", mend="It was taken out.")


def _table(values: dict[str, Any], *, inline: bool) -> Any:
    table = tomlkit.inline_table() if inline else tomlkit.table()
    for key, value in values.items():
        if value is not None:
            table[key] = toml_item(value, tomlkit)
    return table
