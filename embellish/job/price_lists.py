"""Suppliers' lists and catalogue files: read, written, and put into a file that stands.

A file that is updated keeps its comments, its order, and every field the list does not have.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, get_args

import tomli_w

from embellish.catalogue.catalogue import read_catalogue
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.lists.columns import NUMBERS
from embellish.catalogue.lists.mapping import ListMap, guessed, read_map
from embellish.catalogue.lists.merging import merged
from embellish.catalogue.lists.reading import ListRead, read_pieces
from embellish.catalogue.lists.writing import rest_of, rows_of
from embellish.catalogue.piece import Fixing, Kind, ShapeName
from embellish.errors import CatalogueError, OutputError
from embellish.findings import few
from embellish.formats.csv_lists import list_bytes
from embellish.formats.extras import extra
from embellish.formats.nearest import nearest
from embellish.formats.sheet_rows import read_rows
from embellish.formats.toml_items import toml_item
from embellish.job.reading_files import bytes_of
from embellish.outputs.spreadsheet import list_xlsx

_SHOWN: Final = 6
ENDINGS: Final = (".csv", ".xlsx")


def open_list(path: Path, map_path: Path | None) -> tuple[ListRead, ListMap]:
    """Read a list of pieces by a map; without one its columns are called as ours.

    Raises
    ------
    CatalogueError
        Where list or map cannot be read, a column is not there, or a row is wrong.
    """
    by = ListMap()
    if map_path is not None:
        by = read_map(bytes_of(map_path, CatalogueError, "map"), str(map_path))
    data = bytes_of(path, CatalogueError, "list")
    rows = read_rows(data, str(path), CatalogueError, by.list.sheet)
    head = next((cells for line, cells in rows if line == by.list.head_row), None)
    if head is None:
        raise CatalogueError(
            f"there is nothing in row {by.list.head_row}, where the columns' names should stand",
            file=str(path),
            mend="Write head_row under [list] in the map.",
        )
    for wanted in (*by.columns.values(), *by.leave_out):
        if wanted not in head:
            mend = nearest(wanted, [each for each in head if each])
            raise CatalogueError(f"there is no column '{wanted}'", file=str(path), mend=mend)
    if not by.columns and "code" not in head:
        raise CatalogueError(
            "no column is called 'code'",
            file=str(path),
            mend="Name a map with --map; --write-map FILE.toml starts one.",
        )
    lines = [
        (line, dict(zip(head, cells, strict=False)))
        for line, cells in rows
        if line > by.list.head_row
    ]
    return read_pieces(lines, by, str(path)), by


def map_text(path: Path) -> str:
    """Return a map for a list, guessed from its columns' names, for a person to read through.

    Raises
    ------
    CatalogueError
        Where the list cannot be read.
    """
    rows = read_rows(bytes_of(path, CatalogueError, "list"), str(path), CatalogueError)
    # Above the names there may be a title: the first row with many cells is the head.
    most = max(sum(bool(cell) for cell in cells) for _, cells in rows[:40])
    line, head = next(
        (line, cells) for line, cells in rows if 2 * sum(bool(cell) for cell in cells) > most
    )
    below = [cells for number, cells in rows if number > line]
    tables = guessed(head)
    left = tables.pop("left")
    tables["list"]["head_row"] = line
    tables["list"]["decimal"] = _decimal(below)
    lines = [
        f"# How {path.name} is read. The columns were guessed from their names: read it through.",
        "# On the left what a catalogue calls it, on the right the list's column.",
        tomli_w.dumps(tables).rstrip("\n"),
    ]
    if left:
        lines.append(f"# Not used: {', '.join(repr(each) for each in left)}")
    for name, known in _FIXED_WORDS:
        strange = _strange(below, head, tables["columns"].get(name, ""), known)
        if strange:
            lines.append(f"[words.{name}]  # what the list writes = one of {', '.join(known)}")
            meant = json.dumps(known[0])
            lines.extend(f"{json.dumps(word, ensure_ascii=False)} = {meant}" for word in strange)
    lines += [
        "# [hex_of]                    # how colours of your own words are drawn",
        '# "Dusk" = "#5b5577"',
        "# [leave_out]                 # rows that are passed over",
        '# "Status" = ["discontinued"]',
    ]
    return "\n".join(lines) + "\n"


_MOST_WORDS: Final = 20
_FIXED_WORDS: Final = (
    ("kind", get_args(Kind)),
    ("shape", get_args(ShapeName)),
    ("fixing", get_args(Fixing)),
)


def _strange(
    rows: Sequence[Sequence[str]], head: Sequence[str], column: str, known: Sequence[str]
) -> list[str]:
    """Return what a column says that is not one of the words known here."""
    cells = (dict(zip(head, row, strict=False)).get(column, "") for row in rows)
    return [word for word in dict.fromkeys(cells) if word and word not in known][:_MOST_WORDS]


def _decimal(rows: Sequence[Sequence[str]]) -> str:
    """Return the decimal sign that more cells have."""
    cells = [cell for row in rows for cell in row]
    comma, point = (
        sum(re.search(rf"\d{re.escape(sign)}\d{{1,2}}(?!\d)", cell) is not None for cell in cells)
        for sign in ",."
    )
    return "," if comma > point else "."


def new_catalogue(read: ListRead, by: ListMap, name: str) -> bytes:
    """Return the file of a catalogue that holds a list's pieces.

    Raises
    ------
    CatalogueError
        For what one piece alone does not show.
    """
    kit = extra("tomlkit")
    document = kit.document()
    header = {"name": by.list.name, "currency": read.currency, "note": by.list.note}
    document.add("catalogue", _table({key: text for key, text in header.items() if text}, kit))
    pieces = kit.aot()
    for row in read.pieces:
        pieces.append(_table(row, kit))
    _put_terms(document, by, kit)
    document.add("piece", pieces)
    _put_units(document, by, kit)
    content: bytes = kit.dumps(document).encode()
    read_catalogue(content, name)
    return content


def _table(row: Mapping[str, Any], kit: Any) -> Any:
    table = kit.table()
    for key in sorted(row, key=_place):
        table.add(key, toml_item(_plain(row[key]), kit, apart=True))
    return table


def _place(key: str) -> int:
    return _ORDER.index(key) if key in _ORDER else len(_ORDER)


_ORDER: Final = ("code", "name", "kind", "shape", "size", "size_mm", "length_mm", "width_mm")
"""What a person looks for first; the rest as a piece has it."""


@dataclass(frozen=True)
class Updated:
    """A catalogue's file with a list put into it.

    Parameters
    ----------
    content
        The file.
    changed, new
        Codes whose fields changed, and those that were not there.
    not_listed
        Codes of the file that the list does not have: they stay as they are.
    terms, units
        Suppliers whose terms the map changed, and names of units that it set.
    """

    content: bytes
    changed: tuple[str, ...]
    new: tuple[str, ...]
    not_listed: tuple[str, ...]
    terms: tuple[str, ...] = ()
    units: tuple[str, ...] = ()


def updated_catalogue(before: bytes, read: ListRead, by: ListMap, name: str) -> Updated:
    """Return a catalogue's file with a list's pieces put into it, and what its map says beside.

    Raises
    ------
    CatalogueError
        Where the file is none, codes of the list come from its families, or the outcome is wrong.
    """
    held = read_catalogue(before, name)
    kit = extra("tomlkit")
    document = kit.parse(before.decode("utf-8-sig"))
    places = {str(table.get("code")): table for table in document.get("piece", ())}
    of_families = held.pieces.keys() - places.keys()
    family = [row["code"] for row in read.pieces if row["code"] in of_families]
    if family:
        raise CatalogueError(
            f"{len(family)} codes of the list come from families: {few(family, _SHOWN)}",
            file=name,
            mend="Import into a new file with --out, and name it after this one in the job.",
        )
    changed, new = [], []
    for row in read.pieces:
        table = places.get(row["code"])
        if table is None:
            new.append(row["code"])
            document.setdefault("piece", kit.aot()).append(_table(row, kit))
        elif _put(table, merged(_bare(table), _plain(row), grey=row["code"] in read.greys), kit):
            changed.append(row["code"])
    terms, units = _put_terms(document, by, kit), _put_units(document, by, kit)
    content = kit.dumps(document).encode()
    read_catalogue(content, name)
    listed = {row["code"] for row in read.pieces}
    return Updated(
        content,
        tuple(changed),
        tuple(new),
        tuple(code for code in held.pieces if code not in listed),
        terms,
        units,
    )


def _put_terms(document: Any, by: ListMap, kit: Any) -> tuple[str, ...]:
    """Set the terms of a map's suppliers; returns the names of those that had others."""
    changed = []
    for name, terms in by.suppliers.items():
        row = terms.model_dump(mode="json", exclude_defaults=True)
        if "suppliers" not in document:
            document.add("suppliers", kit.table(is_super_table=True))
        held = document["suppliers"].get(name)
        if held is None:
            document["suppliers"].add(name, _table(row, kit))
        elif not _put(held, row, kit):
            continue
        changed.append(name)
    return tuple(changed)


def _put_units(document: Any, by: ListMap, kit: Any) -> tuple[str, ...]:
    """Set a map's units; returns the names of those that were not there, or others."""
    changed = []
    there = {str(table.get("name")): table for table in document.get("unit", ())}
    for unit in by.unit:
        row = unit.model_dump(mode="json", exclude_defaults=True)
        held = there.get(unit.name)
        if held is None:
            document.setdefault("unit", kit.aot()).append(_table(row, kit))
        elif not _put(held, row, kit):
            continue
        changed.append(unit.name)
    return tuple(changed)


def _put(table: Any, row: Mapping[str, Any], kit: Any) -> bool:
    """Set a piece's fields to a list's; returns whether any was another."""
    changed = False
    for key, value in row.items():
        if key in table and _bare(table[key]) == value:
            continue
        for other in _SAME_SIZE.get(key, ()):
            table.pop(other, None)
        table[key] = toml_item(value, kit, apart=True)
        changed = True
    return changed


_SAME_SIZE: Final = {
    "size_mm": ("length_mm", "width_mm"),
    "length_mm": ("size_mm",),
    "width_mm": ("size_mm",),
    "lots": ("stock",),
}
"""What another way of saying the same takes the place of."""


def _bare(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _plain(value: Any) -> Any:
    """Return what TOML can say: money as text."""
    if isinstance(value, Mapping):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    return f"{value:f}" if isinstance(value, Decimal) else copy.copy(value)


def rest_text(catalogue: Catalogue, target: Path) -> str:
    """Return a map that says what the exported list does not, '' where that is nothing.

    Parameters
    ----------
    catalogue
        Whose pieces were exported.
    target
        The list.
    """
    tables = rest_of(catalogue)
    if not tables:
        return ""
    return f"# What {target.name} does not say of its catalogue.\n\n{tomli_w.dumps(tables)}"


def exported(catalogue: Catalogue, target: Path) -> bytes:
    """Return a catalogue's pieces as the list that the target's ending asks for.

    Raises
    ------
    OutputError
        For another ending.
    """
    head, rows = rows_of(catalogue)
    if target.suffix.lower() == ".csv":
        return list_bytes(head, rows)
    if target.suffix.lower() == ".xlsx":
        return list_xlsx("pieces", head, rows, NUMBERS)
    raise OutputError(
        f"a list has the ending {' or '.join(ENDINGS)}", file=str(target), mend="Name it so."
    )
