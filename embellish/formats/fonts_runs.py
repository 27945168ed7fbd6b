"""Lines cut into runs of one direction and script, in the order they are seen."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from embellish.formats.extras import extra

_ANY_SCRIPT = ("Zyyy", "Zinh", "Zzzz")


@dataclass(frozen=True, slots=True)
class Run:
    """Letters ``start`` to ``stop`` of a line, read leftward or rightward."""

    start: int
    stop: int
    leftward: bool


def runs_of(line: str) -> list[Run]:
    """Return the runs of one line, leftmost first (Unicode's bidirectional algorithm, rule L2)."""
    if not line:
        return []
    levels, scripts = _levels(line), _scripts(line)
    keys = list(zip(levels, scripts, strict=True))
    runs: list[tuple[int, Run]] = []
    at = 0
    for (level, _), group in groupby(keys):
        stop = at + len(list(group))
        runs.append((level, Run(at, stop, bool(level % 2))))
        at = stop
    for level in range(max(levels), 0, -1):
        runs = _reversed_from(runs, level)
    return [run for _, run in runs]


def _reversed_from(runs: list[tuple[int, Run]], level: int) -> list[tuple[int, Run]]:
    """Return the runs with every stretch of at least this level turned round."""
    found: list[tuple[int, Run]] = []
    for high, group in groupby(runs, key=lambda each: each[0] >= level):
        stretch = list(group)
        found += stretch[::-1] if high else stretch
    return found


def _levels(line: str) -> list[int]:
    """Return the embedding level of each letter; marks of direction take their neighbour's."""
    bidi = extra("bidi.algorithm")
    storage = bidi.get_empty_storage()
    base = bidi.get_base_level(line)
    storage["base_level"], storage["base_dir"] = base, "LR"[base]
    bidi.get_embedding_levels(line, storage)
    kept = [i for i, each in enumerate(storage["chars"]) if each["orig"] not in bidi.X9_REMOVED]
    bidi.explicit_embed_and_overrides(storage)
    bidi.resolve_weak_types(storage)
    bidi.resolve_neutral_types(storage, debug=False)
    bidi.resolve_implicit_levels(storage, debug=False)
    levels = [base] * len(line)
    for index, each in zip(kept, storage["chars"], strict=True):
        levels[index] = each["level"]
    return levels


def _scripts(line: str) -> list[str]:
    """Return the script of each letter; signs of every script take that of the letter before."""
    script = extra("fontTools.unicodedata").script
    own = [script(letter) for letter in line]
    here = next((each for each in own if each not in _ANY_SCRIPT), "Zyyy")
    found = []
    for each in own:
        here = here if each in _ANY_SCRIPT else each
        found.append(here)
    return found
