"""What requests hold, read strictly: nothing is taken that was not asked for in just this form."""

from __future__ import annotations

import json
import math
from typing import Any, Final

from starlette.requests import Request

from embellish.errors import EmbellishError

TOUCH: Final[dict[str, Any]] = {
    "number": int,
    "rows": [int],
    "do": ("move", "turn", "swap", "delete", "pin", "free"),
    "dx_mm": 0.0,
    "dy_mm": 0.0,
    "turn_deg": 0.0,
    "piece": None,
    "words": "",
}
ADD: Final[dict[str, Any]] = {
    "number": int,
    "lay": str,
    "piece": str,
    "x_mm": float,
    "y_mm": float,
    "angle_deg": 0.0,
}
LOOK_WORDS: Final[dict[str, Any]] = {"text": str, "font": str, "cap_height_mm": float}
LOOK_DRAWING: Final[dict[str, Any]] = {"drawing": str, "width_mm": 0.0}
BEGIN_WORDS: Final[dict[str, Any]] = {**LOOK_WORDS, "catalogue": "shipped:stones"}
BEGIN_DRAWING: Final[dict[str, Any]] = {**LOOK_DRAWING, "catalogue": "shipped:stones"}
BRING: Final[dict[str, Any]] = {"files": [str]}
TRY: Final[dict[str, Any]] = {
    "number": int,
    "rows": [int],
    "dx_mm": 0.0,
    "dy_mm": 0.0,
    "turn_deg": 0.0,
    "snap_mm": 0.0,
}
PLACE: Final[dict[str, Any]] = {"number": int, "seen_mm": [float], "wanted_mm": [float]}
FIT: Final[dict[str, Any]] = {
    "number": int,
    "what": ("count", "cost", "minutes", "stitches"),
    "most": str,
}
"""What a request holds: a type it must have, a choice, or what holds where it is left out."""

_FARTHEST: Final = 100_000.0
_LONGEST: Final = 200


def read_asked(body: bytes, form: dict[str, Any]) -> dict[str, Any]:
    """Read a request's JSON strictly: just these keys, of these types, numbers that are finite.

    Raises
    ------
    EmbellishError
        Where it is otherwise.
    """
    try:
        held = json.loads(body)
    except (ValueError, RecursionError) as wrong:
        raise EmbellishError("this request cannot be read") from wrong
    if not isinstance(held, dict) or set(held) - set(form):
        raise EmbellishError("this request asks for something that there is not")
    return {key: _fitting(key, held, wanted) for key, wanted in form.items()}


def _fitting(key: str, held: dict[str, Any], wanted: Any) -> Any:
    value = held.get(key)
    fits = False
    if isinstance(wanted, tuple):
        fits = value in wanted
    elif isinstance(wanted, list):
        fits = isinstance(value, list) and all(_of_list(each, wanted[0]) for each in value)
    elif isinstance(wanted, type):
        if wanted is float and type(value) is int:
            value = float(value)
        fits = type(value) is wanted
    elif value is None:
        return wanted
    elif isinstance(wanted, float):
        fits = type(value) in (int, float)
        value = float(value) if fits else value
    else:
        fits = isinstance(value, str)
    if isinstance(value, float):
        fits = fits and _finite(value)
    if isinstance(value, str):
        fits = fits and len(value) <= _LONGEST
    if not fits:
        raise EmbellishError("this request cannot be read", item=key)
    return value


def _of_list(value: Any, wanted: type) -> bool:
    return _finite(value) if wanted is float else type(value) is wanted


def _finite(value: Any) -> bool:
    return type(value) in (int, float) and abs(value) <= _FARTHEST


def asked_whole(request: Request, key: str) -> int:
    """Return a whole number of the query, -1 where there is none."""
    value = request.query_params.get(key, "")
    return int(value) if value.isascii() and value.isdigit() and len(value) < 12 else -1


def asked_number(request: Request, key: str, default: float) -> float:
    """Return a number of the query, or the default."""
    try:
        value = float(request.query_params.get(key, default))
    except ValueError:
        return default
    return value if math.isfinite(value) and abs(value) <= _FARTHEST else default
