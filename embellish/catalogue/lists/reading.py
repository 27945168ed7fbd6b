"""A list of pieces read by a map: the tables of a catalogue, each wrong row told by its line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from embellish.catalogue.lists.columns import CURRENCY, PACK_COLUMNS, pack_row, piece_row
from embellish.catalogue.lists.mapping import ListMap
from embellish.catalogue.reading import catalogue_of_tables
from embellish.errors import CatalogueError, UnfitError
from embellish.findings import Finding, few
from embellish.formats.colours import hex_of

_SHOWN: Final = 6
_GREY: Final = "#cccccc"

_SIZES: Final = {"size_mm", "length_mm", "width_mm", "outline_mm"}
_AMOUNTS: Final = {"pieces", "length_m", "grams", "strands"}

Line = tuple[int, dict[str, str]]
"""A row's line in its file, and its cells by the list's columns."""


@dataclass(frozen=True)
class ListRead:
    """What a list holds.

    Parameters
    ----------
    pieces
        The fields of each piece in a catalogue's words, packs among them.
    currency
        Of its prices, '' where there are none.
    passed_over
        How many rows the map leaves out.
    findings
        What was taken for granted.
    greys
        Codes of pieces whose colour cannot be drawn by the list's word for it.
    """

    pieces: tuple[dict[str, Any], ...]
    currency: str
    passed_over: int
    findings: tuple[Finding, ...]
    greys: frozenset[str] = frozenset()


def read_pieces(lines: Iterable[Line], by: ListMap, file: str) -> ListRead:
    """Read a list's rows as pieces.

    Parameters
    ----------
    lines
        Its rows.
    by
        The map.
    file
        The list as the user knows it.

    Raises
    ------
    CatalogueError
        With every row that cannot be read, the first few in words.
    """
    wrong: list[str] = []
    mend = ""
    found: dict[str, tuple[int, dict[str, Any]]] = {}
    passed, greys, halves = 0, dict[str, str](), dict[str, None]()
    currencies = {by.list.currency: 0} if by.list.currency else {}
    for line, cells in lines:
        placed = by.placed(cells)
        if placed is None:
            passed += 1
            continue
        if CURRENCY in placed:
            currencies.setdefault(placed[CURRENCY], line)
        try:
            row, pack = _row(placed, by, greys, halves)
            _taken(found, line, row, pack)
        except UnfitError as one:
            wrong.append(f"line {line}: {one.message}")
            mend = mend or one.mend
            continue
    currency = _one_currency(currencies, any("packs" in row for _, row in found.values()), file)
    for line, row in found.values():
        fault = _fault(row, currency)
        if fault is not None:
            wrong.append(f"line {line}: {fault.item}: {fault.message}" if fault.item else str(line))
            mend = mend or fault.mend
    if wrong:
        wrong.sort(key=lambda each: int(each.split(":")[0].removeprefix("line ")))
        rows = "1 row" if len(wrong) == 1 else f"{len(wrong)} rows"
        more = f"; and {len(wrong) - _SHOWN} more" if len(wrong) > _SHOWN else ""
        raise CatalogueError(
            f"{rows} cannot be read: {'; '.join(wrong[:_SHOWN])}{more}", file=file, mend=mend
        )
    if not found:
        raise CatalogueError("there is no piece in this list", file=file, mend="Look at the map.")
    pieces = tuple(row for _, row in found.values())
    told = (*_told(greys, by), *_told_halves(halves), *_told_twice(pieces))
    return ListRead(pieces, currency, passed, told, frozenset(greys))


def _row(
    placed: dict[str, str], by: ListMap, greys: dict[str, str], halves: dict[str, None]
) -> tuple[dict[str, Any], dict[str, Any]]:
    if "code" not in placed:
        raise UnfitError("it has no code", "Name the column with the codes in the map.")
    row = piece_row(placed, by.style, by.list.size_spread_mm)
    if not row.keys() & _SIZES:
        raise UnfitError(
            f"'{row['code']}' has no size",
            "Fill it in, name its column in the map, or pass such rows over with [leave_out].",
        )
    if "source" in row:
        # A brace would be read as a place for one of a catalogue's sources.
        row["source"] = row["source"].replace("{", "(").replace("}", ")")
    pack = pack_row(placed, by.style)
    if not ("price" in pack and _AMOUNTS & pack.keys()):
        # A list may leave the price open; half a pack is none, and told.
        if pack.keys() & {"price", *_AMOUNTS}:
            halves[row["code"]] = None
        pack = {}
    colour = row.get("colour", "")
    if colour and "hex" not in row and hex_of(colour) is None:
        row["hex"] = _GREY
        greys[row["code"]] = colour
    return row, pack


def _taken(
    found: dict[str, tuple[int, dict[str, Any]]],
    line: int,
    row: dict[str, Any],
    pack: dict[str, Any],
) -> None:
    """Add a row: another pack of a piece, or a piece."""
    code = row["code"]
    if code not in found:
        found[code] = (line, {**row, "packs": [pack]} if pack else row)
        return
    first, held = found[code]
    other = next((key for key in row if row[key] != held.get(key)), None)
    other = other or next((key for key in held if key != "packs" and key not in row), None)
    if other is not None:
        raise UnfitError(
            f"'{code}' stands in line {first} too, with another {other}",
            "Rows of one code are its packs, and alike in all else.",
        )
    if not pack:
        raise UnfitError(f"'{code}' stands in line {first} too", "Take one of them out.")
    held.setdefault("packs", []).append(pack)


def _one_currency(found: dict[str, int], priced: bool, file: str) -> str:
    """Return the one currency of a list."""
    if len(found) > 1:
        one, other = list(found)[:2]
        raise CatalogueError(
            f"prices in {one} and in {other} stand in one list",
            file=file,
            item=f"line {found[other]}",
            mend="Keep a list, and a catalogue, for each currency.",
        )
    if priced and not found:
        raise CatalogueError(
            "there are prices, but no currency",
            file=file,
            mend='Write currency = "EUR" under [list] in the map, or add a column currency.',
        )
    return next(iter(found), "")


def _fault(row: dict[str, Any], currency: str) -> CatalogueError | None:
    """Return what a catalogue would say against a piece."""
    header = {"currency": currency} if currency else {}
    try:
        catalogue_of_tables({"catalogue": header, "piece": [row]}, "")
    except CatalogueError as wrong:
        return wrong
    return None


def _told(greys: dict[str, str], by: ListMap) -> Iterable[Finding]:
    if greys:
        names = list(dict.fromkeys(greys.values()))
        yield Finding(
            "colours-unknown",
            "note",
            f"words for colours that cannot be drawn are shown grey: {few(names, _SHOWN)}",
            mend='Write them in the map: [hex_of] "WORD" = "#rrggbb".',
        )
    sizes = {f"{what}_{bound}_mm" for what in ("size", "length") for bound in ("min", "max")}
    if not sizes & {*by.columns, *by.same} and not by.list.size_spread_mm and by.columns:
        yield Finding(
            "no-size-range",
            "note",
            "the list says no least and greatest size, so every piece is taken to be just its size",
            mend="Measure some, and write size_spread_mm in the map: holes go by the greatest.",
        )
    if not PACK_COLUMNS.keys() & by.columns.keys() and by.columns:
        yield Finding(
            "no-packs",
            "note",
            "the map names no packs and prices",
            mend="Name pack_pieces and price under [columns], or what to buy has no cost.",
        )


def _told_halves(halves: Iterable[str]) -> Iterable[Finding]:
    codes = list(halves)
    if codes:
        yield Finding(
            "half-packs",
            "warning",
            "rows with a price but not how many pieces it is for, or without a price, are taken"
            f" without their pack: {few(codes, _SHOWN)}",
            mend="Mend those rows, or name pack_pieces in the map; what it costs is not known.",
        )


def _told_twice(pieces: Iterable[dict[str, Any]]) -> Iterable[Finding]:
    """Tell packs that a list has at two prices: one of them is likely old, and the less counts."""
    codes = []
    for row in pieces:
        packs = [{**pack, "price": None} for pack in row.get("packs", ())]
        if any(pack in packs[:number] for number, pack in enumerate(packs)):
            codes.append(row["code"])
    if codes:
        yield Finding(
            "packs-twice",
            "warning",
            f"the same pack stands there twice, and the lower price is taken: {few(codes, _SHOWN)}",
            mend="Take the row that does not hold out of the list.",
        )
