"""TOML tables read into checked values, with one clear sentence for whatever is wrong.

Reading is strict: a number is a number and a text is a text. A whole number serves where a number
with a point may stand, and a list of TOML is a tuple here; nothing else is taken for another thing.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from embellish.errors import EmbellishError
from embellish.formats.nearest import close_to, nearest
from embellish.formats.table_words import (
    Steps,
    annotation_parts,
    annotation_parts_of,
    first_wrong,
    models_in,
)
from embellish.formats.toml_words import toml_words

__all__ = ["checked", "homes_of", "known_keys", "nearest", "parsed_toml"]

Model = TypeVar("Model", bound=BaseModel)

_SURE = 0.82
"""From this likeness on a word is taken for a slip of the pen."""

_SAVE = "Save it as plain text, UTF-8."


def parsed_toml(data: bytes, name: str, error: type[EmbellishError]) -> dict[str, Any]:
    """Parse TOML bytes; ``name`` is the file as the user knows it.

    Raises
    ------
    EmbellishError
        Of the type given: not UTF-8, or not TOML (with line and column).
    """
    # Every other byte of plain text in UTF-16 is zero.
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or data.count(0) > len(data) // 3:
        raise error("this is text of another encoding (UTF-16)", file=name, mend=_SAVE)
    if b"\x00" in data:
        raise error(
            "this is not text but a file of another kind", file=name, mend="Name a .toml file."
        )
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        raise error(
            "this is a drawing or a web page, not TOML", file=name, mend="Name a .toml file."
        )
    try:
        # A byte-order mark is what some editors leave at the start of a file.
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data[: wrong.start].count(b"\n") + 1
        raise error("this is not UTF-8 text", file=name, item=f"line {line}", mend=_SAVE) from wrong
    try:
        return tomllib.loads(text)
    except RecursionError as wrong:
        raise error("this is nested too deep", file=name, mend="Write it flat.") from wrong
    except tomllib.TOMLDecodeError as wrong:
        place, words, mend = toml_words(wrong, text)
        raise error(words, file=name, item=place, mend=mend) from wrong
    except ValueError as wrong:
        # What Python itself refuses to read: whole numbers of thousands of digits.
        raise error(
            "a number in it has too many digits", file=name, mend="Shorten the number."
        ) from wrong


def checked(
    model: type[Model],
    table: Mapping[str, Any],
    *,
    file: str | None,
    item: str | None,
    error: type[EmbellishError],
    known: Iterable[str] = (),
    homes: Mapping[str, str] | None = None,
) -> Model:
    """Return the table as a value of the model.

    Parameters
    ----------
    item
        What the table is called, None for a whole file.
    known
        Further keys to propose where an unknown one is met (keys read elsewhere).
    homes
        What to do with keys that belong elsewhere: a sentence a key (see `homes_of`).

    Raises
    ------
    EmbellishError
        Of the type given, for the first thing that is wrong: file, item, field and mend.
    """
    given = {key: _frozen(value) for key, value in table.items()}
    try:
        return model.model_validate(given, strict=True)
    except ValidationError as failed:
        within = item.split()[0].rstrip(",") if item else ""
        wrong = first_wrong(failed, given, model, within)
        place = _place(wrong.steps, given, item)
        if wrong.unknown is None:
            raise error(wrong.words, file=file, item=place, mend=wrong.mend) from failed
        keys = known_keys(model, wrong.steps) or [*model.model_fields, *known]
        mend = _mend_of_unknown(wrong.unknown, keys, homes or {})
        raise error(f"unknown key '{wrong.unknown}'", file=file, item=place, mend=mend) from failed


def _frozen(value: Any) -> Any:
    """Return a value with lists as tuples, which is what fields hold."""
    if isinstance(value, list):
        return tuple(_frozen(each) for each in value)
    if isinstance(value, dict):
        return {key: _frozen(each) for key, each in value.items()}
    return value


def _mend_of_unknown(key: str, keys: list[str], homes: Mapping[str, str]) -> str:
    if key in homes and close_to(key, keys, cutoff=_SURE) is None:
        return homes[key]
    close = close_to(key, keys)
    if close is None:
        # A word misspelt and misplaced at once must be nearer to be guessed.
        far = close_to(key, homes, cutoff=_SURE)
        if far is not None:
            return f"Did you mean '{far}'? {homes[far]}"
    return nearest(key, keys)


def _place(steps: Steps, given: Mapping[str, Any], item: str | None) -> str | None:
    """Return where steps lead to, as the file is written: ``[template.press], seconds``."""
    words = [item] if item else []
    path, is_table = "", False
    here: Any = given
    for step in steps:
        within = here[step] if _has(here, step) else None
        if isinstance(step, int):
            number = f"{step + 1}" if isinstance(within, Mapping) else f"entry {step + 1}"
            between = " " if isinstance(within, Mapping) else ", "
            words.append(f"{path}{between}{number}" if path else number)
            path, is_table = "", False
        elif not words and isinstance(within, Mapping):
            path, is_table = f"{path}.{step}" if path else step, True
        elif is_table:
            words.append(f"[{path}]")
            path, is_table = step, False
        else:
            path = f"{path}.{step}" if path else step
        here = within
    if path:
        words.append(f"[{path}]" if is_table else path)
    return ", ".join(words) or None


def _has(here: Any, step: int | str) -> bool:
    if isinstance(here, Mapping):
        return step in here
    return isinstance(here, tuple) and isinstance(step, int) and step < len(here)


def known_keys(model: type[BaseModel], steps: Steps) -> list[str]:
    """Return the keys of the table found by following field names from a model ([] if lost)."""
    inner = models_in(annotation_parts(model, steps)) if steps else []
    return list(inner[0].model_fields) if inner else []


@cache
def homes_of(model: type[BaseModel], leave_out: tuple[str, ...] = ()) -> Mapping[str, str]:
    """Return what to do with each key of a file that stands in the wrong place.

    It follows from the model alone, and is worked out once.

    Parameters
    ----------
    model
        The whole file.
    leave_out
        Names of fields that are no keys of the file.
    """
    places: dict[str, list[str]] = {}
    tables: dict[str, str] = {}
    for name, field in model.model_fields.items():
        _find_homes(name, field.annotation, tables, places, frozenset(leave_out))
    homes = {
        key: f"It belongs in {' or '.join(list(dict.fromkeys(where))[:3])}."
        for key, where in places.items()
    }
    for name in model.model_fields:
        if name not in tables:
            homes[name] = "It belongs at the top of the file, above the first [table]."
    return MappingProxyType({**homes, **tables})


def _find_homes(
    path: str,
    annotation: Any,
    tables: dict[str, str],
    places: dict[str, list[str]],
    leave_out: frozenset[str],
) -> None:
    parts = annotation_parts_of(annotation)
    inner = models_in(parts)
    if not inner:
        return
    many = any(getattr(part, "__origin__", None) is tuple for part in parts)
    shown = f"[[{path}]]" if many else f"[{path}]"
    tables.setdefault(path.rpartition(".")[2], f"Write it as {shown}.")
    for name, field in inner[0].model_fields.items():
        if name not in leave_out:
            places.setdefault(name, []).append(shown)
            _find_homes(f"{path}.{name}", field.annotation, tables, places, leave_out)
