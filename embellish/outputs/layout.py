"""layout.json and findings.json: the layout and what was noticed, for other programs to read."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from embellish.catalogue.piece import Piece, Unit
from embellish.findings import Finding
from embellish.layout.layout import Layout


def layout_json(layout: Layout, quantity: int, least_gap_mm: float | None, side: str = "") -> bytes:
    """Return the layout as layout.json.

    ``least_gap_mm`` is None below two seats; ``side`` is LEFT or RIGHT of a pair.
    """
    count = len(layout)
    if count:
        reach = layout.reach_mm[:, None]
        low = (layout.xy - reach).min(axis=0)
        high = (layout.xy + reach).max(axis=0)
        bounds: list[float] | None = [*np.round(low, 6).tolist(), *np.round(high, 6).tolist()]
    else:
        bounds = None
    counts = np.bincount(layout.lay, minlength=len(layout.lays)) if count else [0] * 1000
    facts: dict[str, Any] = {
        "format": "embellish-layout",
        "version": 1,
        "units": "mm",
        "quantity": quantity,
        **({"side": side} if side else {}),
        "pieces": [_piece_facts(piece) for piece in layout.pieces],
        "units_of_pieces": [_unit_facts(unit) for unit in layout.units],
        "lays": [
            {
                "id": lay.id,
                "name": lay.name,
                "way": lay.way,
                "set_by": lay.set_by,
                "mark": lay.mark,
                "gap_mm": lay.gap_mm,
                "lapped": lay.lapped,
                **({"lap_mm": lay.lap_mm} if lay.lap_mm else {}),
                **({"pitch_mm": lay.pitch_mm} if lay.pitch_mm else {}),
                "worked_from": lay.worked_from,
                "count": int(counts[index]),
            }
            for index, lay in enumerate(layout.lays)
        ],
    }
    summary = {"count": count, "min_gap_mm": least_gap_mm, "bounds_mm": bounds}
    # One key a line, but a column whole on its line: else the encoder takes ten times as long.
    columns = {
        "x": layout.xy[:, 0],
        "y": layout.xy[:, 1],
        "angle_deg": layout.angle_deg,
        "piece": layout.piece,
        "unit": layout.unit,
        "lay": layout.lay,
    }
    seats = ",\n".join(
        f'  "{name}": {json.dumps(values.tolist(), allow_nan=False)}'
        for name, values in columns.items()
    )
    head = as_json_bytes(facts).removesuffix(b"\n}\n")
    tail = as_json_bytes({"summary": summary}).removeprefix(b"{\n")
    return b"".join([head, b',\n "seats": {\n', seats.encode(), b"\n },\n", tail])


def _piece_facts(piece: Piece) -> dict[str, Any]:
    return {
        "code": piece.code,
        "kind": piece.kind,
        "shape": piece.shape,
        "fixing": piece.fixing,
        "length_mm": piece.length_mm.nominal,
        "width_mm": piece.width_mm.nominal,
        "max_length_mm": piece.length_mm.max,
        "max_width_mm": piece.width_mm.max,
        "colour": piece.colour,
    }


def _unit_facts(unit: Unit) -> dict[str, Any]:
    return {
        "name": unit.name,
        "members": [
            {
                "piece": member.piece,
                "dx": member.dx_mm,
                "dy": member.dy_mm,
                "angle_deg": member.angle_deg,
            }
            for member in unit.members
        ],
    }


def findings_json(findings: Sequence[Finding]) -> bytes:
    """Return findings.json."""
    return as_json_bytes([finding.as_json() for finding in findings])


def as_json_bytes(facts: Any) -> bytes:
    """Return facts as JSON text with one key a line, ending in a newline; NaN is refused."""
    text = json.dumps(facts, indent=1, ensure_ascii=False, allow_nan=False)
    return text.encode() + b"\n"
