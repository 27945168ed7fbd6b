"""A piece as plain facts, for lists and JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from embellish.catalogue.piece import Piece, Span


def piece_facts(piece: Piece) -> dict[str, Any]:
    """Return everything known of a piece as JSON-ready facts; money as decimal text."""
    return piece.model_dump(mode="json")


def piece_lines(piece: Piece) -> Iterator[tuple[str, str]]:
    """Yield what is known of a piece, a name and words each; what is not known is left out."""
    yield "code", piece.code
    yield from _given(("name", piece.name), ("kind", piece.kind), ("shape", piece.shape))
    yield from _given(("size", piece.size))
    yield "length", _span(piece.length_mm)
    if piece.width_mm != piece.length_mm:
        yield "width", _span(piece.width_mm)
    if piece.height_mm is not None:
        yield "height", f"{piece.height_mm:g} mm"
    yield "colour", f"{piece.colour} {piece.hex}".strip()
    yield from _given(("finish", piece.finish), ("fixing", piece.fixing))
    for hole in piece.holes:
        yield "hole", f"{hole.diameter_mm:g} mm at {hole.x_mm:g}, {hole.y_mm:g} mm, {hole.axis}"
    if piece.strung is not None:
        bend = f"round bends of {piece.strung.least_bend_mm:g} mm or wider"
        yield "strung", f"{piece.strung.pitch_mm:g} mm from link to link, {bend}"
    for pack in piece.packs:
        invented = " (an invented example)" if pack.invented else ""
        amount = f"{pack.amount}, about " if pack.amount else ""
        yield "pack", f"{amount}{pack.pieces} pieces for {pack.price}{invented}"
    if piece.count_tolerance:
        yield "packs short", f"by up to {piece.count_tolerance:.1%}"
    if piece.weight_g is not None:
        yield "weight", f"{piece.weight_g:g} g"
    yield from _given(("supplier", piece.supplier), ("lot", piece.lot))
    if piece.stock:
        yield "stock", str(piece.stock)
    yield from _given(("source", piece.source))


def _given(*pairs: tuple[str, str]) -> Iterator[tuple[str, str]]:
    yield from (pair for pair in pairs if pair[1])


def _span(span: Span) -> str:
    if span.min == span.max:
        return f"{span.nominal:g} mm"
    return f"{span.nominal:g} mm, from {span.min:g} to {span.max:g} mm"
