"""Values in a maker's words: how one is named in a message, and how one out of range is told."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

import annotated_types

_SHOWN = 60
_MANY_DIGITS: Final = 10**15


def shown(value: Any) -> str:
    """Return a value as a maker would name it."""
    for kind, words in _KINDS:
        if isinstance(value, kind):
            return words(value)
    return f"{value}"


def _text(value: str) -> str:
    return f"'{value}'" if len(value) <= _SHOWN else f"'{value[: _SHOWN - 1]}…'"


_KINDS: Final[tuple[tuple[Any, Callable[[Any], str]], ...]] = (
    (bool, lambda value: "true" if value else "false"),
    (int, lambda value: f"{value}" if abs(value) < _MANY_DIGITS else "a number of so many digits"),
    (float, lambda value: f"{value:.10g}"),
    (str, _text),
    ((dt.date, dt.time), lambda value: f"the date or time {value}"),
    (Mapping, lambda value: "a table" if value else "an empty table"),
    ((list, tuple), lambda value: "a list" if value else "an empty list"),
)
"""A truth is a whole number to Python, so the order matters."""


def either_of(words: Iterable[str]) -> str:
    """Return words as a choice: 'a, b or c', each once."""
    every = list(dict.fromkeys(words))
    return " or ".join(filter(None, [", ".join(every[:-1]), *every[-1:]]))


def number_cure(value: str, key: str = "", *, whole: bool = False) -> str:
    """Return what to write instead of a text where a number stands."""
    start = f"{key} = " if key else ""
    match = re.fullmatch(r"\s*([-+]?\d+)(?:[.,](\d+))?\s*(.*?)\s*", value[:_SHOWN])
    if match is None:
        return (
            f"Write a {'whole ' * whole}number without quotes, as in {start}{1 if whole else 1.5}."
        )
    number = match[1] + (f".{match[2]}" if match[2] else "")
    without = "without quotes and unit" if match[3] else "without quotes"
    return f"Write {start}{number}, {without}."


def limit_words(kind: str, context: Mapping[str, Any], given: Any) -> tuple[str, str]:
    """Return what is wrong with a value of the right kind, and a mend ('' where limits tell it)."""
    if kind in _LIMITS:
        name, words = _LIMITS[kind]
        return f"must be {words} {_number(context[name])}, not {shown(given)}", ""
    if kind in _LENGTHS:
        return _LENGTHS[kind](context, given)
    if kind == "finite_number":
        return f"must be a plain number, not {shown(given)}", ""
    return f"cannot be {shown(given)}", "Correct it."


_LIMITS: Final = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}
_LENGTHS: Final[dict[str, Callable[[Mapping[str, Any], Any], tuple[str, str]]]] = {
    "too_long": lambda context, given: (
        f"takes at most {_entries(context['max_length'])}, not {len(given)}",
        "Leave out what is too much.",
    ),
    "too_short": lambda context, given: (
        f"takes at least {_entries(context['min_length'])}, not {len(given)}",
        "Add what is missing.",
    ),
    "string_too_short": lambda *_: ("must not be empty", "Write something between the quotes."),
    "string_too_long": lambda context, given: (
        f"has {len(given)} letters; at most {context['max_length']} are taken",
        "Shorten it.",
    ),
    "decimal_max_places": lambda context, _: (
        f"has more than {context['decimal_places']} digits behind the point",
        "Round it.",
    ),
}


def _entries(count: int) -> str:
    return "one entry" if count == 1 else f"{count} entries"


def _number(limit: Any) -> str:
    return f"{float(limit):.10g}"


def range_mend(parts: list[Any]) -> str:
    """Return which numbers a field takes, by the limits among the parts of its annotation."""
    low = {p for p in parts if isinstance(p, (annotated_types.Ge, annotated_types.Gt))}
    high = {p for p in parts if isinstance(p, (annotated_types.Le, annotated_types.Lt))}
    kind = "whole number" if int in parts and float not in parts else "number"
    if len(low) != 1 or len(high) > 1:
        return f"Give a {kind}."
    least = low.pop()
    if isinstance(least, annotated_types.Ge):
        bounds, to, below = f"from {_number(least.ge)}", " to", " to below"
    else:
        bounds, to, below = f"above {_number(least.gt)}", ", up to", " and below"
    for most in high:
        if max(float(getattr(most, "le", 0)), float(getattr(most, "lt", 0))) >= _MANY_DIGITS:
            continue
        if isinstance(most, annotated_types.Le):
            bounds += f"{to} {_number(most.le)}"
        else:
            bounds += f"{below} {_number(most.lt)}"
    return f"Give a {kind} {bounds}."
