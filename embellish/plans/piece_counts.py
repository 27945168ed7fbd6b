"""How many pieces a layout takes, by code and by lay; units member by member."""

from __future__ import annotations

import numpy as np

from embellish.layout.layout import Layout


def piece_counts(layout: Layout) -> dict[str, int]:
    """Return how many pieces of each code one garment takes, units counted member by member."""
    counts: dict[str, int] = {piece.code: 0 for piece in layout.pieces}
    for (_, code), number in pieces_by_lay(layout).items():
        counts[code] = counts.get(code, 0) + number
    return {code: number for code, number in counts.items() if number}


def pieces_by_lay(layout: Layout) -> dict[tuple[int, str], int]:
    """Return how many pieces of each code each lay takes, units counted member by member."""
    members = [[piece.code] for piece in layout.pieces]
    members += [[member.piece for member in unit.members] for unit in layout.units]
    each = np.bincount(layout.lay * len(members) + layout.footprint)
    counts: dict[tuple[int, str], int] = {}
    for key in np.flatnonzero(each).tolist():
        lay, sort = divmod(key, len(members))
        for code in members[sort]:
            counts[lay, code] = counts.get((lay, code), 0) + int(each[key])
    return counts
