"""A short name for a layout: equal layouts have equal names, on every output."""

from __future__ import annotations

import hashlib

import numpy as np

from embellish.layout.layout import Layout
from embellish.units import ROUND_DECIMALS


def fingerprint(layout: Layout) -> str:
    """Return eight hex digits over what stands where, to the millionth of a millimetre."""
    digest = hashlib.blake2b(digest_size=4)
    grid = 10**ROUND_DECIMALS
    for names in (
        [piece.code for piece in layout.pieces],
        [unit.model_dump_json() for unit in layout.units],
    ):
        digest.update("\x00".join(names).encode() + b"\x01")
    digest.update(np.rint(layout.xy * grid).astype("<i8").tobytes())
    digest.update(np.rint(layout.angle_deg * grid).astype("<i8").tobytes())
    for column in (layout.piece, layout.unit, layout.lay):
        digest.update(column.astype("<i8").tobytes())
    for piece in layout.pieces:
        digest.update(f"{piece.length_mm!r}{piece.width_mm!r}".encode())
    return digest.hexdigest()
