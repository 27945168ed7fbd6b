"""Packs in words, as lists of materials have them."""

from __future__ import annotations

from itertools import groupby

from embellish.plans.materials import MaterialLine, PackCount


def packs_words(line: MaterialLine) -> str:
    """Return such as '2 of 1440 + 1 of 144, Harbour, lot 7'; '' where nothing is bought."""
    return "; ".join(
        ", ".join([" + ".join(f"{pack.quantity} of {pack_size(pack)}" for pack in packs), *source])
        for source, packs in groupby(line.packs, key=_source)
    )


def named(supplier: str) -> str:
    """Return a supplier's name; one that nobody named says so."""
    return supplier or "not named"


def pack_size(pack: PackCount) -> str:
    """Return what a pack is sold by: '1440' pieces, or such as '5 g (about 550)'."""
    return f"{pack.amount} (about {pack.pieces})" if pack.amount else str(pack.pieces)


def _source(pack: PackCount) -> list[str]:
    return [part for part in (pack.supplier, pack.lot and f"lot {pack.lot}") if part]
