"""Did you mean: the nearest known word to one that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_SHOWN = 12


def close_to(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Return the known word nearest in spelling, whatever its case and dashes, or None."""
    by_folded: dict[str, str] = {}
    for name in sorted(set(known)):
        by_folded.setdefault(_folded(name), name)
    wanted = _folded(word)
    # A word whose unit was left out is meant with it: gap for gap_mm.
    whole = [name for name in by_folded if name.startswith(f"{wanted}-")]
    if len(whole) == 1:
        return by_folded[whole[0]]
    close = difflib.get_close_matches(wanted, by_folded, n=4, cutoff=cutoff)
    # Letters that changed places are the commonest slip: they go before letters that are wrong.
    close.sort(key=lambda name: sorted(name) != sorted(wanted))
    return by_folded[close[0]] if close else None


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a mend naming the nearest known word, or all of them ('' where there are none)."""
    names = sorted(set(known))
    close = close_to(word, names)
    if close:
        return f"Did you mean '{close}'?"
    shown = ", ".join(names[:_SHOWN])
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return f"Known are: {shown}{more}." if names else ""


def _folded(word: str) -> str:
    return word.casefold().replace("_", "-").replace(" ", "-")
