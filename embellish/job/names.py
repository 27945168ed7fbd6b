"""Names that people give, made safe as names of files and folders, each once."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import Final

_RESERVED: Final = frozenset(
    {"con", "prn", "aux", "nul"}
    | {f"com{n}" for n in range(1, 10)}
    | {f"lpt{n}" for n in range(1, 10)}
)
"""Names that one widespread system keeps for devices."""
_LONGEST: Final = 60


def safe_names(names: Iterable[str]) -> list[str]:
    """Return a file name for each name: letters, digits, dots and dashes, no two alike.

    Accents are dropped, anything else becomes a dash; what is left with nothing is called
    'name'; the second of two alike gets '-2', also where they differ in case alone.
    """
    taken: set[str] = set()
    safe: list[str] = []
    for name in names:
        plain = unicodedata.normalize("NFKD", name)
        kept = "".join(
            c if c.isascii() and (c.isalnum() or c in "-_.") else "-"
            for c in plain
            if not unicodedata.combining(c)
        )
        stem = (
            "-".join(part for part in kept.split("-") if part).strip("-.")[:_LONGEST].rstrip("-.")
        )
        if not stem or stem.split(".")[0].lower() in _RESERVED:
            stem = f"name-{stem}".rstrip("-")
        chosen, number = stem, 1
        while chosen.lower() in taken:
            number += 1
            chosen = f"{stem}-{number}"
        taken.add(chosen.lower())
        safe.append(chosen)
    return safe
