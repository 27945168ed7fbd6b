"""Findings as the page says them: a control by what stands on it, not by its key in the file."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, Final

from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.workbench.controls import controls
from embellish.workbench.order_controls import order_controls

_ONE: Final = r"'[^']*'|\"[^\"]*\"|[\w.-]*\w"
_SAID: Final = re.compile(
    r"(?<![\w'\"‘-])(?P<key>[a-z]+(?:_[a-z0-9]+)*)"
    rf"(?: = (?P<value>(?:{_ONE})(?:(?:, | or )'[^']*')*))?"
    r"(?P<under> under \[(?P<of>[a-z]+)\])?(?![\w'\"-])"
    r"|\[(?P<table>[a-z]+)\]"
)
_DRAWN_WIDE: Final = re.compile(r"width_mm(?: or scale)?(?: under \[artwork\]| in the job)?")
_OF_A_DRAWING: Final = ("scale", "[artwork]")
_OF_ANOTHER: Final = ("[[size]]", "at_mm", "percent", "length_mm")
"""What a sentence names beside ``width_mm`` where that is not how much a photo shows."""


_ON_THE_PAGE: Final = (
    ("Choose another folder you may write to, with --out.", "Make a zip instead."),
    ("choose another folder with --out.", "make a zip instead."),
    ("Name a folder of its own with --out, such as --out made.", "Make a zip instead."),
    (" Mend it, or use --anyway to have them stamped.", " Mend it."),
    ("Allow wider gaps with --most-wider-mm, name another --by, take", "Allow more, take"),
    ("give --width-mm.", "fill in ‘Its width’."),
    ("Look at them with look --picture", "Look at them in the picture"),
    (
        "See the codes there are with: embellish catalogue list, and the catalogue's name.",
        "Look for it in the tray, in Pieces.",
    ),
    ("Look with: embellish catalogue list.", "Look for it in the tray, in Pieces."),
)
"""What the command line tells to do, and how that is done on the page."""


def shown(what: Finding | EmbellishError) -> dict[str, Any]:
    """Return a finding, or what is wrong, for the page."""
    said = what.as_json()
    return {
        **said,
        "message": in_plain_words(what.message),
        "mend": in_plain_words(what.mend),
    }


def in_plain_words(text: str) -> str:
    """Return a sentence with keys and tables of the job file told as they stand on the page.

    What the page has no control for stands as it is: it is set in the file.
    """
    for told, here in _ON_THE_PAGE:
        text = text.replace(told, here)
    if "width_mm" in text and any(word in text for word in _OF_A_DRAWING):
        text = _DRAWN_WIDE.sub("‘Width of the drawing’ in Where", text)
    other = any(word in text for word in _OF_ANOTHER)

    def said(found: re.Match[str]) -> str:
        if found["table"] is not None:
            return _table(found["table"]) or found[0]
        return found[0] if other and found["key"] == "width_mm" else _key(found)

    return _SAID.sub(said, text)


def _key(found: re.Match[str]) -> str:
    """Return a key, with the value and the table named with it, as its control; else as it is."""
    key, value, table = found["key"], found["value"], found["of"]
    if "_" not in key and value is None:
        under = found["under"] and _table(table)
        return f"{key} under {under}" if under else found[0]
    for control in _controls().get(key, []):
        if table not in (None, control["table"]):
            continue
        told = "" if value is None else _value(control, value)
        if told is None and "_" not in key:
            continue
        words = f"‘{control['label']}’"
        if value is not None:
            words += f": {value.strip(chr(39)) if told is None else told}"
        return words + (f" under {_table(table)}" if table else "")
    return found[0]


def _value(control: dict[str, Any], value: str) -> str | None:
    """Return what stands on the page for a value, or None where the control has no such value."""
    words = {"true": "yes", "false": "no"} | {
        str(choice["value"]): choice["words"] for choice in control.get("choices", [])
    }
    parts = re.split(r"(, | or )", value)
    held = [words.get(part.strip("'\"")) for part in parts[::2]]
    if any(each is None for each in held):
        return None if "choices" in control else value.strip("'\"")
    return "".join(
        each or "" for pair in zip(held, [*parts[1::2], ""], strict=True) for each in pair
    )


def _table(key: str) -> str:
    """Return where a table's controls stand; empty where the page has none of it."""
    label = {each["key"]: each["label"] for each in order_controls()}.get(key)
    return "" if label is None else f"‘{label}’ in Order"


@lru_cache(maxsize=1)
def _controls() -> dict[str, list[dict[str, Any]]]:
    """Return controls by their key, those of lays before those of the order."""
    every = [
        *({**control, "table": ""} for way in controls()["ways"] for control in way["controls"]),
        *({**control, "table": ""} for control in controls()["common"]),
        *(
            {**control, "table": section["key"]}
            for section in order_controls()
            for control in section["controls"]
        ),
    ]
    found: dict[str, list[dict[str, Any]]] = {}
    for control in every:
        found.setdefault(control["key"], []).append(control)
    return found
