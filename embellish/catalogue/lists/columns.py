"""The columns of a list of pieces: what each is called, and how its cells are read.

A row is a pack of a piece; a piece of several packs has as many rows, which agree in all else.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from embellish.errors import UnfitError

MM_OF: Final = {"mm": Decimal(1), "cm": Decimal(10), "inch": Decimal("25.4")}
"""Units in which a list may give lengths. The inch is 25.4 mm (international yard and pound
agreement, 1959)."""

PIECES_OF: Final = {"piece": 1, "dozen": 12, "gross": 144}
"""In what a list may count its packs."""

_MOST_MM: Final = 1000
"""A length beyond this is a thousands sign taken for a decimal one, or the wrong unit."""

_YES: Final = ("yes", "y", "true", "1", "x")
_NO: Final = ("no", "n", "false", "0")


@dataclass(frozen=True, slots=True)
class Style:
    """How a list writes numbers: its decimal sign, and the units of its lengths and packs."""

    decimal: str = "."
    unit: str = "mm"
    pack_unit: str = "piece"

    def number(self, cell: str) -> Decimal:
        """Return the number in a cell.

        Raises
        ------
        UnfitError
            Where there is none.
        """
        thousands = "." if self.decimal == "," else ","
        text = re.sub(r"[\s\u00a0\u202f'’]", "", cell)
        if text.count(self.decimal) <= 1:
            whole, sign, rest = text.partition(self.decimal)
            # No thousands begin with nought: 0,280 is a decimal comma.
            if re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}(?:{re.escape(thousands)}\d{{3}})+", whole):
                whole = whole.replace(thousands, "")
            text = whole + ("." if sign else "") + rest
        try:
            found = Decimal(text)
        except InvalidOperation:
            found = Decimal("NaN")
        if not found.is_finite():
            raise UnfitError(
                f"'{cell[:40]}' is no number with '{self.decimal}' as its decimal sign",
                "Mend the cell, or the map's decimal sign.",
            )
        return found

    def length(self, cell: str) -> float:
        """Return a length in mm; a unit written in the cell outranks the list's."""
        unit = self.unit
        named = re.fullmatch(r"(.*?)\s*(mm|cm|inch|in|\")", cell.strip(), re.IGNORECASE)
        if named is not None:
            cell, word = named[1], named[2].lower()
            unit = word if word in MM_OF else "inch"
        found = self.number(cell) * MM_OF[unit]
        if found > _MOST_MM:
            raise UnfitError(
                f"'{cell[:40]}' would be {found:f} mm, and no piece is so large",
                "Look at the map's unit and decimal sign.",
            )
        return float(found)

    def whole(self, cell: str) -> int:
        """Return a whole number."""
        found = self.number(cell)
        if found != found.to_integral_value():
            raise UnfitError(f"'{cell[:40]}' is no whole number", "Write how many pieces.")
        return int(found)

    def packed(self, cell: str) -> int:
        """Return the pieces of a pack that may be counted in dozens or gross."""
        found = self.number(cell) * PIECES_OF[self.pack_unit]
        if found != found.to_integral_value():
            raise UnfitError(
                f"'{cell[:40]}' is no whole number of pieces", "Write how many, or mend pack_unit."
            )
        return int(found)

    def money(self, cell: str) -> Decimal:
        """Return an amount; a currency's sign or letters beside it are passed over."""
        text = re.sub(r"^(?:[A-Z]{3}|[$€£¥])\s*|\s*(?:[A-Z]{3}|[$€£¥])$", "", cell.strip())
        return self.number(text)

    def share(self, cell: str) -> float:
        """Return a share of 1 from a number of per cent."""
        return float(self.number(cell.strip().removesuffix("%")) / 100)


def _yes(style: Style, cell: str) -> bool:
    del style
    word = cell.strip().casefold()
    if word not in (*_YES, *_NO):
        raise UnfitError(f"'{cell[:40]}' is neither yes nor no", "Write yes or no.")
    return word in _YES


def _plain(style: Style, cell: str) -> float:
    return float(style.number(cell))


def _text(style: Style, cell: str) -> str:
    del style
    return cell


def _holes(style: Style, cell: str) -> list[dict[str, Any]]:
    found = []
    for each in cell.split(";"):
        words = each.split()
        if len(words) not in (3, 4):
            raise UnfitError(
                f"'{each.strip()[:40]}' is no hole", "Write 'x y diameter' in mm, or none."
            )
        x, y, wide = (float(style.number(word)) for word in words[:3])
        hole: dict[str, Any] = {"x_mm": x, "y_mm": y, "diameter_mm": wide}
        found.append({**hole, "axis": words[3]} if len(words) == 4 else hole)
    return found


def _outline(style: Style, cell: str) -> list[list[float]]:
    corners = [[float(style.number(word)) for word in each.split()] for each in cell.split(";")]
    if any(len(each) != 3 for each in corners):
        raise UnfitError("an outline is 'x y bulge; x y bulge; …'", "Write three numbers each.")
    return corners


def _lots(style: Style, cell: str) -> list[dict[str, Any]]:
    found = []
    for each in cell.split(";"):
        lot, sign, count = each.rpartition(":")
        if not sign:
            raise UnfitError(f"'{each.strip()[:40]}' is no lot", "Write 'L7: 120; L8: 40'.")
        found.append({"lot": lot.strip(), "pieces": style.whole(count)})
    return found


def _breaks(style: Style, cell: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for each in cell.split(";"):
        packs, sign, price = each.partition(":")
        if not sign:
            raise UnfitError(
                f"'{each.strip()[:40]}' is no price break",
                "Write '5: 0.95; 20: 10 %': from 5 packs on 0.95 each, from 20 on 10 % less.",
            )
        step: dict[str, Any] = {"packs": style.whole(packs)}
        if price.strip().endswith("%"):
            step["off"] = style.share(price)
        else:
            step["price"] = style.money(price)
        found.append(step)
    return found


Reader = Callable[[Style, str], Any]

_LENGTHS: Final = tuple(
    f"{what}{bound}_mm" for what in ("size", "length", "width") for bound in ("", "_min", "_max")
)
"""``size_mm`` stands for both length and width; a bound left out is the size itself, or as far off
as the map's spread."""

PIECE_COLUMNS: Final[dict[str, Reader]] = {
    "code": _text,
    "name": _text,
    "kind": _text,
    "shape": _text,
    "size": _text,
    **dict.fromkeys(_LENGTHS, Style.length),
    "height_mm": Style.length,
    "outline_mm": _outline,
    "colour": _text,
    "hex": _text,
    "finish": _text,
    "fixing": _text,
    "hole_mm": Style.length,
    "holes": _holes,
    "count_tolerance_percent": Style.share,
    "weight_g": _plain,
    "per_gram": _plain,
    "per_strand": Style.whole,
    "wash_c": Style.whole,
    "hand_wash": _yes,
    "tumble_dry": _yes,
    "dry_clean": _yes,
    "iron_c": Style.whole,
    "pitch_mm": Style.length,
    "least_bend_mm": Style.length,
    "least_links": Style.whole,
    "lost_links": Style.whole,
    "supplier": _text,
    "lot": _text,
    "stock": Style.whole,
    "lots": _lots,
    "source": _text,
}
PACK_COLUMNS: Final[dict[str, Reader]] = {
    "pack_pieces": Style.packed,
    "pack_length_m": _plain,
    "pack_grams": _plain,
    "pack_strands": Style.whole,
    "price": Style.money,
    "breaks": _breaks,
    "pack_supplier": _text,
    "pack_lot": _text,
    "pack_tolerance_percent": Style.share,
    "invented": _yes,
}
CURRENCY: Final = "currency"
"""Of the prices, the same in every row that has one."""
COLUMNS: Final = (*PIECE_COLUMNS, *PACK_COLUMNS, CURRENCY)
NUMBERS: Final = frozenset(
    name
    for name, reader in (PIECE_COLUMNS | PACK_COLUMNS).items()
    if reader in (Style.length, Style.whole, Style.packed, Style.money, Style.share, _plain)
)
"""Columns whose cells are numbers."""
_STRUNG: Final = ("pitch_mm", "least_bend_mm", "least_links", "lost_links")
_CARE: Final = ("wash_c", "hand_wash", "tumble_dry", "dry_clean", "iron_c")
_PACK_KEYS: Final = {
    "pack_pieces": "pieces",
    "pack_length_m": "length_m",
    "pack_grams": "grams",
    "pack_strands": "strands",
    "pack_supplier": "supplier",
    "pack_lot": "lot",
    "pack_tolerance_percent": "count_tolerance",
}


def piece_row(cells: dict[str, str], style: Style, spread_mm: float = 0.0) -> dict[str, Any]:
    """Return the fields of a piece, in a catalogue's words, from the cells of a row.

    Parameters
    ----------
    cells
        By our columns; empty ones are left out.
    style
        How numbers are written.
    spread_mm
        How far a size lies off its nominal to either side where the list does not say.

    Raises
    ------
    UnfitError
        For a cell that cannot be read; ``column`` names it.
    """
    held = {
        name: _read(reader, style, name, cells[name])
        for name, reader in PIECE_COLUMNS.items()
        if name in cells
    }
    row: dict[str, Any] = {}
    care = {name: held.pop(name) for name in _CARE if name in held}
    strung = {name: held.pop(name) for name in _STRUNG if name in held}
    for what in ("size", "length", "width"):
        span = [held.pop(f"{what}{bound}_mm", None) for bound in ("_min", "", "_max")]
        if any(each is not None for each in span):
            row[f"{what}_mm"] = _span(span, spread_mm)
    if "hole_mm" in held:
        held.setdefault("holes", []).append({"diameter_mm": held.pop("hole_mm")})
    if "count_tolerance_percent" in held:
        held["count_tolerance"] = held.pop("count_tolerance_percent")
    row |= held
    row |= {"strung": strung} if strung else {}
    return {**row, "care": care} if care else row


def pack_row(cells: dict[str, str], style: Style) -> dict[str, Any]:
    """Return the fields of the pack of a row, {} where it has none.

    Raises
    ------
    UnfitError
        As `piece_row`.
    """
    return {
        _PACK_KEYS.get(name, name): _read(reader, style, name, cells[name])
        for name, reader in PACK_COLUMNS.items()
        if name in cells
    }


def _read(reader: Reader, style: Style, name: str, cell: str) -> Any:
    try:
        return reader(style, cell)
    except UnfitError as wrong:
        raise UnfitError(f"{name}: {wrong.message}", wrong.mend) from wrong


def _span(span: list[float | None], spread_mm: float) -> list[float]:
    least, nominal, most = span
    if nominal is None:
        known = [each for each in (least, most) if each is not None]
        nominal = sum(known) / len(known)
    return [
        round(nominal - spread_mm, 6) if least is None else least,
        nominal,
        round(nominal + spread_mm, 6) if most is None else most,
    ]
