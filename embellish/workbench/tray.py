"""The tray: every piece that can be put on a lay, searched as the maker types, a page at a time."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, Final, get_args

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.finding import Found, found_pieces, unit_price, wanted_of
from embellish.catalogue.piece import Kind, Piece
from embellish.errors import EmbellishError
from embellish.workbench.facts import piece_facts
from embellish.workbench.sprites import sprite_half_mm

PAGE: Final = 60
"""Pieces sent at once; the page asks for more as the maker goes down."""

ORDERS: Final = ("listed", "price", "size", "stock")
_LONGEST: Final = 200


def tray_rows(catalogue: Catalogue, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return a page of the pieces and units that a search finds.

    Parameters
    ----------
    asked
        What the page asks, all of it text and none of it needed: ``q`` words, ``kind``, ``fixing``,
        ``from_mm``, ``to_mm``, ``near`` a screen colour, ``stock`` (any text: only what is there),
        ``most_each`` the highest price of one, ``order`` and ``start``.

    Raises
    ------
    EmbellishError
        Where a number is none, or there is no such kind, fixing, colour or order.
    """
    held = {key: value.strip()[:_LONGEST] for key, value in asked.items()}
    words, kind, fixing = (held.get(key, "") for key in ("q", "kind", "fixing"))
    most = _number(held, "most_each")
    least_mm, most_mm = _number(held, "from_mm"), _number(held, "to_mm")
    wanted = wanted_of(
        words,
        kind,
        fixing,
        (float(least_mm or 0), float("inf") if most_mm is None else float(most_mm)),
        held.get("near", ""),
        in_stock=bool(held.get("stock")),
        most_each=most,
    )
    found = _ordered(list(found_pieces(catalogue, wanted)), held.get("order") or "listed")
    start = int(_number(held, "start") or 0)
    narrowed = any(value for key, value in held.items() if key not in ("q", "order", "start"))
    units = [] if narrowed or start else _units(catalogue, words)
    every = catalogue.pieces.values()
    return {
        "count": len(found),
        "start": start,
        "pieces": [_row(each) for each in found[start : start + PAGE]],
        "units": units,
        "currency": catalogue.currency,
        "kinds": [each for each in get_args(Kind) if any(piece.kind == each for piece in every)],
        "fixings": sorted({piece.fixing for piece in every}),
    }


def _row(found: Found) -> dict[str, Any]:
    piece = found.piece
    each = unit_price(piece)
    return {
        **piece_facts(piece),
        "half_mm": sprite_half_mm(piece),
        "each": None if each is None else f"{each:.4f}",
        "delta_e": found.delta_e,
    }


def _ordered(found: list[Found], order: str) -> list[Found]:
    if order not in ORDERS:
        raise EmbellishError(f"there is no order '{order}'", item="order")
    if order == "price":
        # What has no price comes last.
        prices = {each.piece.code: unit_price(each.piece) for each in found}
        found.sort(key=lambda each: _last_if_none(prices[each.piece.code]))
    elif order == "size":
        found.sort(key=lambda each: _size(each.piece))
    elif order == "stock":
        found.sort(key=lambda each: -each.piece.stock)
    return found


def _last_if_none(price: Decimal | None) -> tuple[bool, Decimal]:
    return price is None, price or Decimal(0)


def _size(piece: Piece) -> tuple[float, float]:
    return piece.length_mm.nominal, piece.width_mm.nominal


def _units(catalogue: Catalogue, words: str) -> list[dict[str, Any]]:
    wanted = words.casefold().split()
    return [
        {"code": unit.name, "members": [member.piece for member in unit.members]}
        for unit in catalogue.units.values()
        if all(word in unit.name.casefold() for word in wanted)
    ][:PAGE]


def _number(held: Mapping[str, str], key: str) -> Decimal | None:
    text = held.get(key, "")
    if not text:
        return None
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not 0 <= value <= 1_000_000:
        raise EmbellishError(f"'{text[:20]}' is no number that can be looked for", item=key)
    return value
