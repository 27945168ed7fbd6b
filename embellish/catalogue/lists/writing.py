"""A catalogue's pieces as a list: rows that `reading` reads back without a map, losing nothing.

What is not of one piece (the catalogue's name and note, suppliers' terms, units) is no row of a
list: `rest_of` says it as a map, with which the list is the whole catalogue again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

from embellish.catalogue.contents import Catalogue
from embellish.catalogue.lists.columns import COLUMNS, CURRENCY
from embellish.catalogue.offers import Pack
from embellish.catalogue.piece import Piece, Span
from embellish.catalogue.reading import tables_of
from embellish.catalogue.strung import Strung


def rows_of(catalogue: Catalogue) -> tuple[tuple[str, ...], list[list[str]]]:
    """Return the head and the rows of a list, a row for each pack; empty columns are left out.

    Numbers are text with a decimal point, so that no digit is lost.
    """
    rows = [row for piece in catalogue.pieces.values() for row in _of(piece)]
    for row in rows:
        row[CURRENCY] = catalogue.currency if "price" in row else ""
    head = tuple(name for name in COLUMNS if any(row.get(name) for row in rows))
    return head, [[row.get(name, "") for name in head] for row in rows]


def rest_of(catalogue: Catalogue) -> dict[str, Any]:
    """Return what the rows of a list do not say, as the tables of a map; {} where that is nothing.

    The currency stands in the rows where they have prices; suppliers' terms need it too.
    """
    tables = tables_of(replace(catalogue, pieces={}))
    beyond = {key: tables[key] for key in ("suppliers", "unit") if tables.get(key)}
    says = catalogue.title or catalogue.note or beyond
    return {"list": tables["catalogue"], **beyond} if says else {}


def _of(piece: Piece) -> Iterator[dict[str, str]]:
    care = piece.care.model_dump(exclude_none=True)
    own = {
        "code": piece.code,
        "name": piece.name,
        "kind": piece.kind,
        "shape": piece.shape,
        "size": piece.size,
        **_spans(piece),
        "height_mm": "" if piece.height_mm is None else _number(piece.height_mm),
        "outline_mm": "; ".join(" ".join(map(_number, each)) for each in piece.outline_mm),
        "colour": piece.colour,
        "hex": piece.hex,
        "finish": piece.finish,
        "fixing": piece.fixing,
        "holes": "; ".join(
            f"{_number(each.x_mm)} {_number(each.y_mm)} {_number(each.diameter_mm)} {each.axis}"
            for each in piece.holes
        ),
        "count_tolerance_percent": _percent(piece.count_tolerance),
        "weight_g": "" if piece.weight_g is None else _number(piece.weight_g),
        "per_gram": "" if piece.per_gram is None else _number(piece.per_gram),
        "per_strand": "" if piece.per_strand is None else str(piece.per_strand),
        **{name: _word(value) for name, value in care.items()},
        **({} if piece.strung is None else _strung(piece.strung)),
        "supplier": piece.supplier,
        "lot": piece.lot,
        "stock": str(piece.stock) if piece.stock else "",
        "lots": "; ".join(f"{each.lot}: {each.pieces}" for each in piece.lots),
        "source": piece.source,
    }
    for pack in piece.packs:
        yield {**own, **_pack(pack)}
    if not piece.packs:
        yield own


def _spans(piece: Piece) -> dict[str, str]:
    if piece.length_mm == piece.width_mm:
        return _span("size", piece.length_mm)
    return _span("length", piece.length_mm) | _span("width", piece.width_mm)


def _span(what: str, span: Span) -> dict[str, str]:
    return {
        f"{what}_mm": _number(span.nominal),
        f"{what}_min_mm": _number(span.min),
        f"{what}_max_mm": _number(span.max),
    }


def _strung(strung: Strung) -> dict[str, str]:
    return {name: _number(value) for name, value in strung.model_dump().items()}


def _pack(pack: Pack) -> dict[str, str]:
    breaks = (
        f"{each.packs}: {_percent(each.off)} %" if each.off else f"{each.packs}: {each.price:f}"
        for each in pack.breaks
    )
    return {
        "pack_pieces": str(pack.pieces),
        "pack_length_m": "" if pack.length_m is None else _number(pack.length_m),
        "pack_grams": "" if pack.grams is None else _number(pack.grams),
        "pack_strands": "" if pack.strands is None else str(pack.strands),
        "price": f"{pack.price:f}",
        "breaks": "; ".join(breaks),
        "pack_supplier": pack.supplier,
        "pack_lot": pack.lot,
        # Nought is not nothing here: a pack that is never short, of a piece whose others are.
        "pack_tolerance_percent": (
            "" if pack.count_tolerance is None else _percent(pack.count_tolerance) or "0"
        ),
        "invented": "yes" if pack.invented else "",
    }


def _number(value: float) -> str:
    return f"{value:.17g}" if float(f"{value:g}") != value else f"{value:g}"


def _percent(share: float) -> str:
    # In decimals, so that the same share comes back.
    return f"{(Decimal(repr(share)) * 100).normalize():f}" if share else ""


def _word(value: Any) -> str:
    return str(value) if not isinstance(value, bool) else ("yes" if value else "no")
