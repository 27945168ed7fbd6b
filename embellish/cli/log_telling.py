"""How ``embellish log`` tells its entries, and the rates that follow from them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from embellish.cli.telling import print_json, print_table

if TYPE_CHECKING:
    from embellish.plans.rates.correcting import Corrected
    from embellish.plans.rates.rate import Rate
    from embellish.plans.rates.work_log import WorkRow

_TABLES = (
    ("price",),
    ("price", "minutes_per_piece"),
    ("price", "minutes_per_piece_of_kind"),
    ("marks",),
    ("materials", "by_kind"),
)
"""In which order rates are told."""


def print_entries(
    rows: Sequence[WorkRow], undone: frozenset[int] = frozenset(), *, as_json: bool
) -> None:
    """Print entries as a table, or as JSON."""
    from embellish.plans.rates.work_log import did_words, together

    if as_json:
        print_json(
            {
                "entries": [
                    {"entry": row.entry, "what": row.what, "minutes": f"{row.minutes:f}",
                     "did": row.did, "code": row.code, "broken": row.broken, "for": row.target,
                     "note": row.note, "undone": row.entry in undone}
                    for row in rows
                ]
            }
        )  # fmt: skip
        return
    cells = [
        [str(row.entry), f"{row.what}{' (undone)' if row.entry in undone else ''}",
         f"{row.minutes:f}" if row.minutes else "",
         (f"{row.broken} × {row.code}" if row.code else "none") if row.what == "broken" else "",
         did_words(row.did), row.target, row.note]
        for row in together(rows)
    ]  # fmt: skip
    head = ["entry", "what", "minutes", "broken", "did", "for", "note"]
    print_table(head, cells, right={0, 2})


def print_rates(
    found: Corrected, written: Path | None, left: Sequence[Rate] = (), *, as_json: bool
) -> None:
    """Print rates as the lines of a job, each with its sum, and what was held against them.

    ``left`` are those that the file has no table of its own for.
    """
    if as_json:
        print_json(
            {
                "rates": [
                    {"at": list(rate.at), "value": rate.value, "sums": rate.sums,
                     "jobs": rate.jobs, "caution": rate.caution or None}
                    for rate in found.rates
                ],
                "held": [
                    {"entry": each.entry, "for": each.job, "what": each.what,
                     "logged_min": each.logged, "expected_min": round(each.expected, 2),
                     "far": each.far}
                    for each in found.held
                ],
                "written": str(written) if written else None,
                "left": [list(rate.at) for rate in left],
            }
        )  # fmt: skip
        return
    table: tuple[str, ...] = ()
    said = ""
    for rate in sorted(found.rates, key=lambda rate: _TABLES.index(rate.at[:-1])):
        if rate.at[:-1] != table:
            print(f"[{'.'.join(rate.at[:-1])}]")
            table, said = rate.at[:-1], ""
        words = "\n".join(f"# {each}." for each in (rate.sums, rate.caution) if each)
        if words != said:
            print(words)
        said = words
        print(f"{rate.at[-1]} = {_toml(rate.value)}")
    if found.held:
        print()
    rows = [
        [str(each.entry), each.what, f"{each.logged:g}", f"{each.expected:.1f}",
         "far from the others: look at it, undo it if it is wrong" if each.far else "", each.job]
        for each in found.held
    ]  # fmt: skip
    if rows:
        head = ["entry", "work", "min logged", "by these rates", "", "for"]
        print_table(head, rows, right={0, 2, 3})
    if written is not None:
        print(f"Wrote these into {written}.")
    if left:
        names = ", ".join(".".join(rate.at) for rate in left)
        print(f"But not {names}: the order says nothing of these, its jobs do. Write them there.")


def plain(value: float | dict[str, float | int]) -> Any:
    """Return a value as a person enters it: no decimals where they say nothing."""
    if isinstance(value, dict):
        return {key: plain(each) for key, each in value.items()}
    return int(value) if float(value).is_integer() else value


def _toml(value: float | dict[str, float | int]) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
    return str(plain(value))
