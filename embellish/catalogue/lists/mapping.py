"""The map: which column of a supplier's list is which of ours, and what its words mean here."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any, Final, Literal

from pydantic import Field, model_validator

from embellish.catalogue.fields import Strict
from embellish.catalogue.lists.columns import COLUMNS, Style
from embellish.catalogue.offers import Supplier
from embellish.catalogue.piece import Unit
from embellish.errors import CatalogueError, UnfitError
from embellish.formats.fields import Colour, Currency
from embellish.formats.nearest import nearest
from embellish.formats.tables import checked, parsed_toml


class ListHead(Strict):
    """The ``[list]`` table of a map."""

    name: str = ""
    currency: Currency = ""
    note: str = ""
    decimal: Literal[".", ","] = "."
    """The decimal sign of the list's numbers."""
    unit: Literal["mm", "cm", "inch"] = "mm"
    """What its lengths are in, where the cell does not say."""
    pack_unit: Literal["piece", "dozen", "gross"] = "piece"
    """What its packs are counted in."""
    sheet: str = ""
    """Which sheet of a spreadsheet; left out, the first."""
    head_row: Annotated[int, Field(ge=1, le=1000)] = 1
    """The row that holds the columns' names."""
    size_spread_mm: Annotated[float, Field(ge=0, le=10)] = 0.0
    """How far pieces may be off their size to either side, where the list does not say."""


class ListMap(Strict):
    """How a list is read.

    Parameters
    ----------
    list
        What holds for all of it.
    columns
        For each of our columns the name of the list's; none given: they are called alike.
    same
        Cells, by our columns, that every row has and the list does not.
    words
        For one of our columns what the list writes, and what that is here.
    hex_of
        For colours by the list's words the screen colour, ``#rrggbb`` or an English name.
    leave_out
        For columns of the list the cells whose rows are passed over.
    suppliers, unit
        What no list says, as a catalogue writes it: suppliers' terms, pieces set together.
    """

    list: ListHead = ListHead()
    columns: dict[str, str] = Field(default_factory=dict)
    same: dict[str, str] = Field(default_factory=dict)
    words: dict[str, dict[str, str]] = Field(default_factory=dict)
    hex_of: dict[str, Colour] = Field(default_factory=dict)
    leave_out: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    suppliers: dict[str, Supplier] = Field(default_factory=dict)
    unit: tuple[Unit, ...] = ()

    @model_validator(mode="after")
    def _known(self) -> ListMap:
        for table in ("columns", "same", "words"):
            for name in getattr(self, table):
                if name not in COLUMNS:
                    raise UnfitError(
                        f"[{table}] has '{name}', which is no column of a catalogue",
                        nearest(name, COLUMNS),
                    )
        twice = sorted(set(self.columns) & set(self.same))
        if twice:
            raise UnfitError(
                f"'{twice[0]}' is both a column and the same in every row", "Take one of them out."
            )
        return self

    @property
    def style(self) -> Style:
        """How the list writes numbers."""
        return Style(self.list.decimal, self.list.unit, self.list.pack_unit)

    def placed(self, cells: dict[str, str]) -> dict[str, str] | None:
        """Return a row's cells by our columns, or None where the row is passed over."""
        for column, passed in self.leave_out.items():
            if cells.get(column, "") in passed:
                return None
        named = (
            {ours: cells.get(theirs, "") for ours, theirs in self.columns.items()}
            if self.columns
            else {name: cell for name, cell in cells.items() if name in COLUMNS}
        )
        named |= self.same
        for name, words in self.words.items():
            if name in named:
                named[name] = words.get(named[name], named[name])
        named = {name: cell for name, cell in named.items() if cell}
        colour = named.get("colour")
        if colour is not None and "hex" not in named and colour in self.hex_of:
            named["hex"] = self.hex_of[colour]
        return named


def read_map(data: bytes, name: str) -> ListMap:
    """Read the bytes of a map.

    Raises
    ------
    CatalogueError
        For the first thing that is wrong.
    """
    table = parsed_toml(data, name, CatalogueError)
    return checked(ListMap, table, file=name, item=None, error=CatalogueError)


_GUESSES: Final[tuple[tuple[str, str], ...]] = (
    (
        "code",
        r"code|article|art\.?|item|sku|ref(erence)?|no\.?|number|art(ikel)?[-.\s]*(nr|nummer)\.?",
    ),
    ("name", r"name|description|product|title|bezeichnung"),
    ("kind", r"kind|type|category"),
    ("shape", r"shape|form"),
    ("size_mm", r"diameter|size.*\bmm\b.*|ø|dia\.?|durchmesser|grösse.*\bmm\b.*"),
    ("size", r"size( label)?|ss|stone size|grösse"),
    ("length_mm", r"length"),
    ("width_mm", r"width"),
    ("height_mm", r"height|thickness|depth|höhe"),
    ("hole_mm", r"hole"),
    ("colour", r"colou?r( name)?|farbe"),
    ("hex", r"hex|rgb|screen colou?r"),
    ("finish", r"finish|coating|effect"),
    ("fixing", r"fixing|fixation|fix|how fixed|back(ing)?|setting"),
    ("stock", r"stock|on hand|quantity in stock|lager|bestand"),
    ("weight_g", r"weight"),
    ("pack_pieces", r"pack|pieces|pcs|quantity|qty|per pack|pack size|vpe|stück|packung"),
    ("price", r"price|cost|net|unit price|preis"),
    ("lot", r"lot|batch|dye lot|charge"),
    ("supplier", r"supplier|vendor|seller|lieferant"),
    ("currency", r"currency|währung"),
)
"""Words that price lists use in English and German, case-folded (so ss for ß): common practice, no
source."""


def guessed(head: Sequence[str]) -> dict[str, Any]:
    """Return a map for a list's columns as plain tables, guessed from their names.

    Parameters
    ----------
    head
        Names of the list's columns.

    Returns
    -------
    dict
        ``[list]``, ``[columns]`` and ``[same]`` as a person goes on to fill them in.
    """
    left = [column for column in head if column]
    found = {name: name for name in COLUMNS if name in left}
    left = [column for column in left if column not in found.values()]
    for exact in (True, False):
        for ours, words in _GUESSES:
            if ours in found:
                continue
            for column in left:
                whole = column.strip().casefold()
                plain = re.sub(r"\s*[(\[].*?[)\]]", "", whole).strip()
                match = (
                    re.fullmatch(words, plain) or re.fullmatch(words, whole)
                    if exact
                    else re.search(rf"\b({words})", plain)
                )
                if match:
                    found[ours] = column
                    left.remove(column)
                    break
    same = {name: words for name, words in _MISSING.items() if name not in found}
    packs = _counted_in(found.get("pack_pieces", ""))
    if "pack_pieces" not in found and "price" in found:
        # A price per gross is that of a pack of one.
        packs = _counted_in(found["price"])
        same |= {"pack_pieces": "1"} if packs != "piece" else {}
    if not {"size_mm", "length_mm"} & found.keys():
        same["size_mm"] = "2.8"
    return {
        "list": {"name": "", "currency": "", "decimal": ".", "unit": "mm"}
        | ({} if packs == "piece" else {"pack_unit": packs}),
        "columns": {name: found[name] for name in COLUMNS if name in found},
        "same": same,
        "left": left,
    }


def _counted_in(column: str) -> str:
    """Return what packs are counted in, by the name of their column."""
    if re.search(r"\bgros(s|sen?)?\b", column.casefold()):
        return "gross"
    return "dozen" if re.search(r"\b(dozens?|dutzend)\b", column.casefold()) else "piece"


_MISSING: Final = {"kind": "stone", "fixing": "heat-set"}
"""What a piece must say, as an example where the list does not."""
