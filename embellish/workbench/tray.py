"""The tray: every piece that can be put on a lay, searched as the maker types."""

from __future__ import annotations

from typing import Any, Final

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.workbench.facts import piece_facts

MOST: Final = 200
"""Pieces shown at once; the search narrows them."""


def tray_rows(catalogue: Catalogue, query: str, kind: str = "", fixing: str = "") -> dict[str, Any]:
    """Return the pieces and units a search finds, in the catalogue's order.

    Every word must stand in the piece's code, name, size, colour, finish or kind.
    """
    words = query.casefold().split()
    found = [
        piece
        for piece in catalogue.pieces.values()
        if kind in ("", piece.kind)
        and fixing in ("", piece.fixing)
        and all(word in _text(piece) for word in words)
    ]
    units = [
        {"code": unit.name, "members": [member.piece for member in unit.members]}
        for unit in catalogue.units.values()
        if not kind and not fixing and all(word in unit.name.casefold() for word in words)
    ]
    return {
        "count": len(found),
        "pieces": [piece_facts(piece) for piece in found[:MOST]],
        "units": units[:MOST],
        "kinds": sorted({piece.kind for piece in catalogue.pieces.values()}),
        "fixings": sorted({piece.fixing for piece in catalogue.pieces.values()}),
    }


def _text(piece: Piece) -> str:
    parts = (piece.code, piece.name, piece.size, piece.colour, piece.finish, piece.kind)
    return " ".join((*parts, piece.shape, piece.fixing)).casefold()
