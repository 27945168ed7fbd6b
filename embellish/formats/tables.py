"""TOML tables read into checked values, with one clear sentence for whatever is wrong."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from embellish.errors import EmbellishError

Model = TypeVar("Model", bound=BaseModel)


def parsed_toml(data: bytes, name: str, error: type[EmbellishError]) -> dict[str, Any]:
    """Parse TOML bytes; ``name`` is the file as the user knows it.

    Raises
    ------
    EmbellishError
        Of the type given: not UTF-8, or not TOML (with line and column).
    """
    try:
        # A byte-order mark is what some editors leave at the start of a file.
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as wrong:
        line = data[: wrong.start].count(b"\n") + 1
        raise error(
            "this is not UTF-8 text", file=name, item=f"line {line}", mend="Save it as UTF-8."
        ) from wrong
    except RecursionError as wrong:
        raise error("this is nested too deep", file=name, mend="Write it flat.") from wrong
    except tomllib.TOMLDecodeError as wrong:
        words = str(wrong)[:200].replace("at end of document", f"at line {_lines(data)}, the end")
        raise error(f"this is not TOML: {words}", file=name, mend="Mend that place.") from wrong


def _lines(data: bytes) -> int:
    return data.rstrip().count(b"\n") + 1


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a mend naming the nearest known word, or all of them."""
    names = sorted(set(known))
    close = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    if close:
        return f"Did you mean '{close[0]}'?"
    shown = ", ".join(names[:12]) + (", …" if len(names) > 12 else "")
    return f"Known are: {shown}." if names else ""


def checked(
    model: type[Model],
    table: Mapping[str, Any],
    *,
    file: str | None,
    item: str | None,
    error: type[EmbellishError],
    known: Iterable[str] = (),
) -> Model:
    """Return the table as a value of the model.

    Parameters
    ----------
    known
        Further keys to propose where an unknown one is met (keys read elsewhere).

    Raises
    ------
    EmbellishError
        Of the type given, for the first thing that is wrong: file, item, field and mend.
    """
    try:
        return model.model_validate(dict(table))
    except ValidationError as wrong:
        first = min(wrong.errors(include_url=False), key=lambda each: each["type"] != _EXTRA)
        field = ".".join(str(step) for step in first["loc"])
        inside = ", ".join(part for part in (item, field) if part) or None
        if first["type"] == _EXTRA:
            key = str(first["loc"][-1])
            keys = known_keys(model, first["loc"][:-1]) or [*model.model_fields, *known]
            raise error(
                f"unknown key '{key}'", file=file, item=item, mend=nearest(key, keys)
            ) from wrong
        raise error(_words(first), file=file, item=inside, mend=_mend(first)) from wrong


_EXTRA = "extra_forbidden"


def known_keys(model: type[BaseModel], steps: tuple[int | str, ...]) -> list[str]:
    """Return the keys of the table found by following field names from a model ([] if lost)."""
    for step in steps:
        if isinstance(step, int):
            continue
        field = model.model_fields.get(step)
        inner = [
            each
            for each in _parts_of(field.annotation if field else None)
            if isinstance(each, type) and issubclass(each, BaseModel)
        ]
        if not inner:
            return []
        model = inner[0]
    return list(model.model_fields) if steps else []


def _parts_of(annotation: Any) -> list[Any]:
    parts = [annotation]
    for part in getattr(annotation, "__args__", ()):
        parts.extend(_parts_of(part))
    return parts


def _words(first: Any) -> str:
    given = repr(first["input"])
    given = given if len(given) <= 60 else given[:57] + "…"
    if first["type"] == "missing":
        return "this key is missing"
    message = str(first["msg"]).removeprefix("Value error, ")
    message = message[:1].lower() + message[1:]
    if first["type"] == "value_error":
        return message
    return f"{message} (it is {given})"


def _mend(first: Any) -> str:
    if first["type"] == "missing":
        return "Add it."
    if first["type"] in ("greater_than", "greater_than_equal", "finite_number"):
        return "Give a number in that range."
    return ""
