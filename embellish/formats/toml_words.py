"""What the TOML parser finds wrong, in words for somebody who does not write programs."""

from __future__ import annotations

import re
import tomllib
from typing import Final

_SHOWN = 48
_QUOTES: Final = 'Text stands between two quotes, as in title = "Moth".'
_ONE: Final = "Keep one of them."

_WORDS: Final[tuple[tuple[str, str, str], ...]] = (
    (
        r"Expected '=' after a key",
        "there is a word without '=' and a value behind it",
        "Write it as key = value, or begin the line with # to make it a remark.",
    ),
    (r"Invalid value", "there is no value that can be read", _QUOTES),
    (r"Cannot declare \('(.*)',\) twice", "this table stands there twice", _ONE),
    (r"Cannot (declare|mutate|redefine)", "this table stands there twice", _ONE),
    (r"Cannot overwrite|Duplicate", "the same key or table stands there twice", _ONE),
    (r"Illegal character '\\[nr]'|Unterminated|Expected \"'", "a text is not closed", _QUOTES),
    (
        r"Illegal character|invalid character",
        "there is a character that cannot stand here",
        "Type the line anew.",
    ),
    (
        r"Expected newline or end of document",
        "something is left over behind the value",
        f"Give each key a line of its own. {_QUOTES}",
    ),
    (r"Unclosed array", "a list is not closed, or lacks a comma", "Close it with ]."),
    (
        r"Unclosed inline table|Invalid initial character for a key",
        "a table in braces is not closed, or lacks a comma",
        "Put commas between its keys and close it with }.",
    ),
    (
        r"Unescaped '\\|Invalid hex|Escaped character",
        "a backslash in a text stands for something else",
        "Write folders with /, or put the text between 'single quotes'.",
    ),
    (
        r"Expected '\]\]?' at the end of",
        "a table's name has no closing bracket",
        "Write [name], or [[name]] for what there may be several of.",
    ),
    (
        r"Invalid statement",
        "the line begins with something that is no key",
        "Write it as key = value, [table], or # remark.",
    ),
)
"""Pattern in the parser's message, what is wrong, what to do."""

_HINTS: Final[tuple[tuple[str, str], ...]] = (
    (r"[“”„‟‘’«»]", 'Use straight quotes, "like these".'),
    (r"=\s*[-+]?\d+,\d", "Write the number with a point, not a comma."),
    (r"=\s*(TRUE|FALSE|True|False|[Yy]es|[Nn]o|[Oo]n|[Oo]ff)\s*(#|$)", "Write true or false."),
    (r"=\s*[-+]?(\.\d|\d+\.\s*(#|$))", "Write a digit on both sides of the point."),
    (r"=\s*[-+]?[\d.]+\s*(mm|cm|in|deg|%|°|\")", "Write the number alone, without a unit."),
    (r"^\s*[\w-]+\s*:", "Write = in place of the colon."),
    (r"^[^\"'#=]*[^\x00-\x7f\"'#=][^=]*=", "Put a key with such letters in quotes."),
)
"""Pattern in the line itself, and the mend it calls for."""

_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)")


def toml_words(wrong: tomllib.TOMLDecodeError, text: str) -> tuple[str, str, str]:
    """Return place, words and mend of what the parser found in a text."""
    said = str(wrong)
    match = _PLACE.search(said)
    lines = text.splitlines()
    last = len(text.rstrip().splitlines())
    number = min(int(match[1]), last) if match and match[1] else last
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    shown = "".join(letter if letter.isprintable() else "·" for letter in line)
    shown = shown if len(shown) <= _SHOWN else shown[: _SHOWN - 1] + "…"
    words, mend = f"this is not TOML: {_PLACE.sub('', said)[:120].lower()}", "Mend that place."
    for pattern, found, cure in _WORDS:
        if re.search(pattern, said):
            words, mend = found, cure
            break
    for pattern, cure in _HINTS:
        if re.search(pattern, line):
            mend = cure
            break
    return f"line {number}", f"{words}, in ‘{shown}’" if shown else words, mend
