"""Reading a catalogue from TOML. The format is our own.

A whole one, small::

    [catalogue]
    name = "my stock"
    currency = "EUR"
    note = "measured in spring"
    [catalogue.sources]
    caliper = "measured, ten of each"

    [sizes.ss]
    SS10 = { size_mm = [2.70, 2.80, 2.90], height_mm = 1.2, source = "{caliper}" }

    [colours.plain]
    CLEAR = { name = "clear", hex = "#e8f1f5", finish = "foiled", group = "clear" }

    [[family]]
    code = "R-{size}-{colour}"
    kind = "stone"
    fixing = "heat-set"
    sizes = "ss"
    colours = "plain"
    count_tolerance = 0.02
    [[family.pack]]
    pieces = 144
    prices.clear = { SS10 = "1.10" }

    [[piece]]
    code = "MY-DROP"
    kind = "stone"
    shape = "pear"
    fixing = "sew-on"
    length_mm = [9.8, 10.0, 10.2]
    width_mm = [5.8, 6.0, 6.2]

    packs = [
        { pieces = 12, price = "3.60", supplier = "Harbour", breaks = [{ packs = 9, off = 0.15 }] },
        { pieces = 99, price = "24.00", supplier = "Hillside", lot = "7", count_tolerance = 0.02 },
    ]

    [suppliers.Harbour]
    shipping = "4.90"
    free_from = "60.00"
    [suppliers.Hillside]
    least_order = "25.00"

    [[unit]]
    name = "drop with a stone"
    members = [{ piece = "MY-DROP" }, { piece = "R-SS10-CLEAR", dx_mm = 7.0 }]

A pack without supplier, lot or tolerance has the piece's. From 9 packs on each costs what its
break says. Suppliers without a table ship for nothing.

In a source, ``{key}`` stands for the text of that key in ``[catalogue.sources]``.
A piece's ``colour`` alone is one that can be drawn, ``#rrggbb`` or an English name; a word of one's
own, such as a trade name, stands beside its ``hex``.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, Field

from embellish.catalogue.contents import Catalogue
from embellish.catalogue.families import ColourEntry, Family, SizeEntry, expanded, filled
from embellish.catalogue.fields import Strict
from embellish.catalogue.offers import Supplier
from embellish.catalogue.piece import Piece, Unit
from embellish.catalogue.shapes import piece_outline
from embellish.errors import CatalogueError
from embellish.formats.colours import colour_mend, hex_of
from embellish.formats.fields import Currency
from embellish.formats.tables import checked, nearest, parsed_toml

Entry = TypeVar("Entry", bound=BaseModel)


class Header(Strict):
    """The ``[catalogue]`` table."""

    name: str = ""
    currency: Currency = ""
    note: str = ""
    prices_invented: bool = False
    """True for examples: a materials list made with such prices says so."""
    sources: dict[str, str] = Field(default_factory=dict)


_HOMES = {
    "hoop": "A catalogue holds pieces; a job says its hoop under [hoop].",
    "sheet": "A catalogue holds pieces; a job says its sheet under [template].",
    "press": "A catalogue holds pieces; a job says its press under [template].",
    "name": "It belongs in [catalogue].",
    "currency": "It belongs in [catalogue].",
    "pack": "It belongs in a [[family]], as [[family.pack]]; a [[piece]] has packs.",
}
_KEYS = ("catalogue", "suppliers", "sizes", "colours", "family", "piece", "unit")


def read_catalogue(data: bytes, name: str) -> Catalogue:
    """Read the bytes of a catalogue file; ``name`` is the file as the user knows it.

    Raises
    ------
    CatalogueError
        For the first thing that is wrong: file, entry, field, and what to do.
    """
    return catalogue_of_tables(parsed_toml(data, name, CatalogueError), name)


def catalogue_of_tables(tables: Mapping[str, Any], name: str) -> Catalogue:
    """Return the catalogue of an already parsed file (see `read_catalogue`)."""
    if "lay" in tables or {"version", "artwork"} <= tables.keys():
        raise CatalogueError(
            "this is a job, not a catalogue", file=name, mend="Name a catalogue's file."
        )
    for key in tables:
        if key not in _KEYS:
            mend = _HOMES.get(key) or nearest(key, _KEYS)
            raise CatalogueError(f"unknown key '{key}'", file=name, mend=mend)
    header = checked(
        Header, _a_table(tables, "catalogue", name), file=name, item="catalogue",
        error=CatalogueError,
    )  # fmt: skip
    sizes = _rows(tables, "sizes", SizeEntry, name)
    colours = _rows(tables, "colours", ColourEntry, name)
    taken: dict[str, tuple[Piece, str]] = {}
    for place, row in _entries(tables, "family", "code", name):
        family = checked(Family, row, file=name, item=place, error=CatalogueError)
        for piece in expanded(family, sizes, colours, file=name, item=place):
            _take(piece, place, taken, header, name)
    for place, row in _entries(tables, "piece", "code", name):
        spread = _spread(row, name, place)
        try:
            piece = checked(
                Piece, spread, file=name, item=place, error=CatalogueError, known=("size_mm",)
            )
        except CatalogueError as wrong:
            raise _as_written(wrong, row) from wrong
        _take(piece, place, taken, header, name)
    return Catalogue(
        name=name,
        pieces={code: piece for code, (piece, _) in taken.items()},
        units=_units(tables, taken, name),
        currency=header.currency,
        note=header.note,
        suppliers=_suppliers(tables, header, name),
        title=header.name,
    )


def _suppliers(tables: Mapping[str, Any], header: Header, file: str) -> dict[str, Supplier]:
    found: dict[str, Supplier] = {}
    for name, row in _a_table(tables, "suppliers", file).items():
        place = f"suppliers.{name}"
        if not isinstance(row, dict):
            raise CatalogueError(
                f"'{place}' must be a table", file=file, mend=f'Write [suppliers."{name}"].'
            )
        found[name] = checked(Supplier, row, file=file, item=place, error=CatalogueError)
    if found:
        _with_currency(header, file)
    return found


def _with_currency(header: Header, file: str) -> None:
    if not header.currency:
        raise CatalogueError(
            "there are prices, but no currency",
            file=file,
            item="catalogue, currency",
            mend='Add its three letters, such as currency = "EUR".',
        )


def _take(
    piece: Piece, place: str, taken: dict[str, tuple[Piece, str]], header: Header, file: str
) -> None:
    """Add a piece, with its source in full and what the header says of its prices."""
    if piece.code in taken:
        raise CatalogueError(
            f"code '{piece.code}' is already that of {taken[piece.code][1]}",
            file=file,
            item=place,
            mend="Give every piece of a file its own code.",
        )
    if piece.shape == "outline":
        _whole_outline(piece, file, place)
    if piece.packs:
        _with_currency(header, file)
    packs = tuple(
        pack.model_copy(update={"invented": pack.invented or header.prices_invented})
        for pack in piece.packs
    )
    source = filled(piece.source, header.sources, file, f"{place}, source")
    taken[piece.code] = (piece.model_copy(update={"source": source, "packs": packs}), place)


def _whole_outline(piece: Piece, file: str, place: str) -> None:
    """Raise where an outline of its own is none, before any job uses it."""
    try:
        piece_outline(piece)
    except CatalogueError as wrong:
        raise CatalogueError(
            wrong.message, file=file, item=f"{place}, outline_mm", mend=wrong.mend
        ) from wrong


def _units(tables: Mapping[str, Any], codes: Container[str], file: str) -> dict[str, Unit]:
    units: dict[str, Unit] = {}
    for place, row in _entries(tables, "unit", "name", file):
        unit = checked(Unit, row, file=file, item=place, error=CatalogueError)
        if unit.name in units or unit.name in codes:
            raise CatalogueError(
                f"the name '{unit.name}' is taken in this file",
                file=file,
                item=place,
                mend="Give every unit and piece of a file its own name.",
            )
        units[unit.name] = unit
    return units


def tables_of(catalogue: Catalogue) -> dict[str, Any]:
    """Return the catalogue as plain tables, families written out: what `catalogue_of_tables` reads.

    Holds only what TOML and JSON can say alike (text, numbers, lists, tables), so that rows can be
    kept beside a job.
    """
    header = {"name": catalogue.title, "currency": catalogue.currency, "note": catalogue.note}
    return {
        "catalogue": {key: text for key, text in header.items() if text},
        **(
            {"suppliers": {name: _plain(each) for name, each in catalogue.suppliers.items()}}
            if catalogue.suppliers
            else {}
        ),
        "piece": [_plain(piece) for piece in catalogue.pieces.values()],
        "unit": [_plain(unit) for unit in catalogue.units.values()],
    }


def _plain(entry: BaseModel) -> dict[str, Any]:
    row: dict[str, Any] = entry.model_dump(mode="json", exclude_defaults=True)
    # Without it the colour's name would have to be one that can be drawn.
    if isinstance(entry, Piece):
        row["hex"] = entry.hex
    for key in ("length_mm", "width_mm"):
        if key in row:
            span = row[key]
            row[key] = [span["min"], span["nominal"], span["max"]]
    # A brace would be read as a place for a source: texts are full by now.
    if "source" in row:
        row["source"] = row["source"].replace("{", "(").replace("}", ")")
    return row


def _spread(row: Mapping[str, Any], file: str, place: str) -> dict[str, Any]:
    """Let ``size_mm`` stand for both length and width, and a colour for its ``hex``."""
    spread = dict(row)
    if "size_mm" in spread:
        if "length_mm" in spread or "width_mm" in spread:
            raise CatalogueError(
                "size_mm stands for both length_mm and width_mm",
                file=file,
                item=f"{place}, size_mm",
                mend="Give size_mm, or length_mm and width_mm.",
            )
        spread["length_mm"] = spread["width_mm"] = spread.pop("size_mm")
    word = spread.get("colour")
    if isinstance(word, str) and word and "hex" not in spread:
        # Without a hex the word alone says how it looks, or pictures would show it grey.
        spread["hex"] = hex_of(word)
        if spread["hex"] is None:
            raise CatalogueError(
                f"'{word[:40]}' is no colour that can be drawn",
                file=file,
                item=f"{place}, colour",
                mend=f'{colour_mend(word)} A word of your own needs hex = "#rrggbb" beside it.',
            )
    return spread


def _as_written(wrong: CatalogueError, row: Mapping[str, Any]) -> CatalogueError:
    """Return an error that names the key as the row has it."""
    if "size_mm" not in row or wrong.item is None:
        return wrong
    item = wrong.item.replace("length_mm", "size_mm")
    return CatalogueError(wrong.message, file=wrong.file, item=item, mend=wrong.mend)


def _a_table(tables: Mapping[str, Any], key: str, file: str) -> Mapping[str, Any]:
    table = tables.get(key, {})
    if not isinstance(table, dict):
        raise CatalogueError(f"'{key}' must be a table", file=file, mend=f"Write [{key}].")
    return table


def _rows(
    tables: Mapping[str, Any], key: str, model: type[Entry], file: str
) -> dict[str, dict[str, Entry]]:
    read: dict[str, dict[str, Entry]] = {}
    for table_name, table in _a_table(tables, key, file).items():
        place = f"{key}.{table_name}"
        if not isinstance(table, dict):
            raise CatalogueError(f"'{place}' must be a table", file=file, mend=f"Write [{place}].")
        read[table_name] = {}
        for label, row in table.items():
            if not isinstance(row, dict):
                raise CatalogueError(
                    f"'{label}' must be a table",
                    file=file,
                    item=place,
                    mend=f"Write {label} = {{ … }}; known are {', '.join(model.model_fields)}.",
                )
            item = f"{place}.{label}"
            read[table_name][label] = checked(
                model, row, file=file, item=item, error=CatalogueError
            )
    return read


def _entries(
    tables: Mapping[str, Any], key: str, naming: str, file: str
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    rows = tables.get(key, [])
    if not isinstance(rows, list):
        raise CatalogueError(
            f"'{key}' must be a list of tables", file=file, mend=f"Write [[{key}]]."
        )
    for index, row in enumerate(rows, 1):
        if not isinstance(row, dict):
            raise CatalogueError(
                f"entry {index} is not a table", file=file, item=key, mend=f"Write [[{key}]]."
            )
        called = row.get(naming)
        yield (f"{key} '{called}'" if isinstance(called, str) and called else f"{key} {index}"), row
