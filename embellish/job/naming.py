"""One job for each name of a list: made together, bought once, on one sheet to sign off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import tomli_w

from embellish.errors import EmbellishError, JobError, OutputError
from embellish.formats.csv_lists import list_bytes
from embellish.formats.nearest import close_to
from embellish.formats.tables import parsed_toml
from embellish.job.files import OpenJob, open_text
from embellish.job.making import proof_of
from embellish.job.name_list import NameRow, read_names, with_row
from embellish.job.names import safe_names
from embellish.job.partners import in_pair
from embellish.job.reading_files import bytes_of
from embellish.job.together import Garment, MadeGarment, MadeTogether, made_together
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.names_sheet import NameEntry, names_html
from embellish.outputs.proof import picture_png

_PICTURE_PX = 700


@dataclass(frozen=True, eq=False)
class NamedJob:
    """A row of the list and the job it makes."""

    row: NameRow
    folder: str
    opened: OpenJob


def in_names(path: Path, list_path: Path) -> list[NamedJob]:
    """Return the job once for each row of a list.

    Each folder's name follows from the whole list, so that a row made again has the same.

    Raises
    ------
    EmbellishError
        For the first row that cannot be made: file, line, name and mend.
    """
    data = bytes_of(path, JobError, "job file")
    table = parsed_toml(data, str(path), JobError)
    rows = read_names(bytes_of(list_path, JobError, "list of names"), str(list_path))
    folders = safe_names(row.name for row in rows)
    return [
        NamedJob(row, folder, _opened(path, table, row, str(list_path)))
        for row, folder in zip(rows, folders, strict=True)
    ]


def _opened(path: Path, table: dict[str, Any], row: NameRow, file: str) -> OpenJob:
    changed = with_row(table, row, file)
    changed.pop("size", None)
    try:
        opened = open_text(path, tomli_w.dumps(changed).encode(), thaw=True)
    except EmbellishError as wrong:
        raise wrong.inside(f"line {row.line}, '{row.name}'", file=file) from wrong
    return opened


def chosen(named: Sequence[NamedJob], only: Sequence[str]) -> list[NamedJob]:
    """Return the rows that are asked for: by name, folder, or line of the list; all for none.

    Raises
    ------
    JobError
        Where there is no such row.
    """
    if not only:
        return list(named)
    found: list[NamedJob] = []
    for wanted in only:
        these = [
            each for each in named if wanted in (each.row.name, each.folder, str(each.row.line))
        ]
        if not these:
            names = [each.row.name for each in named]
            close = close_to(wanted, names)
            raise JobError(
                f"there is no '{wanted}' in this list",
                item="--only",
                mend=f"Did you mean '{close}'?" if close else "Give a name or a line of the list.",
            )
        found += [each for each in these if each not in found]
    return found


def refuse_fewer(out: Path) -> None:
    """Raise where some names made again would take the place of all of them.

    Raises
    ------
    OutputError
        Where names were made in the folder before.
    """
    if (out / "names.json").exists():
        raise OutputError(
            "names were made in this folder, and only some would be left",
            file=str(out),
            mend="Name another folder with --out.",
        )


def made_names(
    path: Path,
    list_path: Path,
    *,
    only: Sequence[str] = (),
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> MadeTogether:
    """Make a job for each name of a list, or for some of them.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    named = chosen(in_names(path, list_path), only)
    garments = [
        (
            each,
            Garment(
                "name",
                f"{each.row.name} {side.side}".strip(),
                f"{each.folder}/{side.side}" if side.side else each.folder,
                side,
                side.job.quantity,
            ),
        )
        for each in named
        for side in in_pair(each.opened, thaw=True)
    ]
    made = made_together(
        [garment for _, garment in garments], named[0].opened, anyway=anyway, progress=progress
    )
    rows = [each.row for each, _ in garments]
    entries = [_entry(row, one) for row, one in zip(rows, made.garments, strict=True)]
    bought = [(line.code, line.piece.name, line.count) for line in made.materials.lines]
    title = str(parsed_toml(path.read_bytes(), str(path), JobError).get("title", path.stem))
    facts = [_facts(entry, one) for entry, one in zip(entries, made.garments, strict=True)]
    together = {
        "quantity": sum(entry.quantity for entry in entries),
        "pieces": {code: number for code, number in made.counts.items() if number},
        "cost": None if made.materials.total is None else str(made.materials.total),
        "currency": made.materials.currency,
    }
    files = {
        **made.files,
        "names.html": names_html(title, entries, bought),
        "names.csv": _csv(facts, list(made.counts)),
        "names.json": as_json_bytes(
            {"format": "embellish-names", "version": 1, "names": facts, "all": together}
        ),
    }
    return replace(made, files=files)


def _entry(row: NameRow, one: MadeGarment) -> NameEntry:
    checked = one.made.checked
    bounds = checked.layout.xy
    reach = float(checked.layout.reach_mm.max(initial=0.0))
    spread = (
        (bounds.max(axis=0) - bounds.min(axis=0) + 2.0 * reach).tolist()
        if len(bounds)
        else [
            0.0,
            0.0,
        ]
    )
    return NameEntry(
        one.garment.name,
        row.line,
        one.garment.quantity,
        len(checked.layout),
        (spread[0], spread[1]),
        one.garment.folder,
        checked.plans.title.fingerprint,
        row.note,
        checked.stopped,
        picture_png(proof_of(checked, alone=True), _PICTURE_PX),
    )


def _facts(entry: NameEntry, one: MadeGarment) -> dict[str, Any]:
    quote = one.made.checked.plans.quote
    return {
        "name": entry.name,
        "line": entry.line,
        "folder": entry.folder,
        "quantity": entry.quantity,
        "seats": entry.seats,
        "width_mm": round(entry.size_mm[0], 3),
        "height_mm": round(entry.size_mm[1], 3),
        "pieces": one.pieces,
        "price_per_garment": (
            None if quote.price_per_garment is None else str(quote.price_per_garment)
        ),
        "currency": quote.currency,
        "fingerprint": entry.fingerprint,
        "stopped": entry.stopped,
        "note": entry.note,
    }


def _csv(facts: Sequence[dict[str, Any]], codes: list[str]) -> bytes:
    head = ("line", "name", "folder", "quantity", "seats", "width mm", "height mm")
    rows = [
        (
            *(each[key] for key in ("line", "name", "folder", "quantity", "seats")),
            *(each["width_mm"], each["height_mm"]),
            *(each["pieces"].get(code, 0) for code in codes),
            *(each["price_per_garment"], each["note"]),
        )
        for each in facts
    ]
    return list_bytes((*head, *codes, "price a garment", "note"), rows)
