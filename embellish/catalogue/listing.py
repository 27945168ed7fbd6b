"""A piece as plain facts, for lists and JSON."""

from __future__ import annotations

from typing import Any

from embellish.catalogue.piece import Piece


def piece_facts(piece: Piece) -> dict[str, Any]:
    """Return everything known of a piece as JSON-ready facts; money as decimal text."""
    return piece.model_dump(mode="json")
