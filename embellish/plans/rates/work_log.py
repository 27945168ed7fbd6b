"""The work log: a CSV of what jobs truly took in minutes, and of the pieces that broke.

Each row carries what was done in that time, so that it stays true when the job changes later. A
person may add rows in a spreadsheet as well::

    entry,what,code,broken,minutes,did,for,note
    1,setting,,,62.5,"412 sewn bead, 60 hand stone",Moth: 4 × 5d6eee28,
    1,machine,,,11,"4120 stitches, 12 trims, 3 stops",Moth: 4 × 5d6eee28,
    1,broken,B-11-RED,7,,412 bead,Moth: 4 × 5d6eee28,
    2,setting,,,20,"0 sewn bead, 0 hand stone",Moth: 4 × 5d6eee28,finished on Monday
    3,undo,,,,,2,

A row that did nothing new, all its numbers 0, adds to the row before it of the same job and work.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Final, Literal, get_args

from embellish.catalogue.piece import Kind
from embellish.errors import JobError
from embellish.formats import entries
from embellish.formats.csv_lists import read_list, unguarded
from embellish.formats.nearest import nearest
from embellish.layout.layout import SetBy
from embellish.plans.money import total

Work = Literal["machine", "setting", "pressing", "setup", "garments", "broken"]

COLUMNS: Final = ("entry", "what", "code", "broken", "minutes", "did", "for", "note")
_MOST_ROWS: Final = 50_000
_MOST_MINUTES: Final = 1_000_000

UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "machine": ("stitches", "trims", "stops"),
    "setting": tuple(f"{by} {kind}" for by in get_args(SetBy) for kind in get_args(Kind)),
    "pressing": ("passes",),
    "setup": ("designs",),
    "garments": ("garments",),
    "broken": get_args(Kind),
}
"""What each kind of work is counted in. A jump of the machine is one stitch: one turn."""

Did = dict[str, int]


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One row.

    Parameters
    ----------
    entry
        Rows written at once have the same number.
    what
        A kind of work, ``broken``, or ``undo``, which takes back the entry under ``target``.
    minutes
        That it took.
    did
        What was done in them, by unit; of ``broken`` the pieces set of that code, by kind.
    code, broken
        Which piece broke or was lost, and how often.
    target
        The job and its layout; of an ``undo`` the entry.
    """

    entry: int
    what: str
    minutes: Decimal = Decimal(0)
    did: Did = field(default_factory=dict)
    code: str = ""
    broken: int = 0
    target: str = ""
    note: str = ""
    line: int = 0

    @property
    def adds_to(self) -> tuple[object, ...]:
        """What a row must share with the one it adds to."""
        return self.what, self.target, self.code, frozenset(self.did)

    @property
    def is_more(self) -> bool:
        """Whether it adds to an earlier row."""
        return not any(self.did.values())


@dataclass(frozen=True)
class WorkLog:
    """All rows, in their order."""

    name: str
    rows: tuple[WorkRow, ...] = ()

    @property
    def last_entry(self) -> int:
        """The highest number so far."""
        return entries.last_entry(self.rows)

    @property
    def undone(self) -> frozenset[int]:
        """Entries that were taken back."""
        return entries.undone(self.rows)

    def logged(self, what: str, target: str) -> int | None:
        """Return the last entry that tells of this work on this job, unless it was undone."""
        mine = (row for row in self.told() if row.what == what and row.target == target)
        return max((row.entry for row in mine), default=None)

    def told(self) -> tuple[WorkRow, ...]:
        """Return what holds, each further row added to the one it belongs to.

        Raises
        ------
        JobError
            Where there is none that it could belong to, with the line.
        """
        whole: list[WorkRow] = []
        for row in entries.standing(self.rows):
            if not row.is_more:
                whole.append(row)
                continue
            places = [n for n, each in enumerate(whole) if each.adds_to == row.adds_to]
            if not places:
                raise JobError(
                    f"nothing of this {row.what} stands before it, so that it adds to no work",
                    file=self.name,
                    item=f"line {row.line}" if row.line else f"entry {row.entry}",
                    mend="Write under did what was done, such as 412 sewn bead; or undo this entry,"
                    " before the one that it adds to.",
                )
            old = whole[places[-1]]
            whole[places[-1]] = replace(
                old, minutes=total((old.minutes, row.minutes)), broken=old.broken + row.broken
            )
        return tuple(whole)

    def undoing(self, entry: int | None, note: str = "") -> WorkRow:
        """Return the row that takes an entry back, the last one where none is named.

        Raises
        ------
        JobError
            Where there is no such entry, or it was taken back already.
        """
        which = entries.to_undo(
            self.rows, entry, file=self.name, see="embellish log show", error=JobError
        )
        return WorkRow(self.last_entry + 1, entries.UNDO, target=str(which), note=note)


def together(rows: Sequence[WorkRow]) -> list[WorkRow]:
    """Return rows to show: the codes of an entry of which none broke stand in one."""
    shown: list[WorkRow] = []
    for row in rows:
        last = shown[-1] if shown else None
        alike = (row.what, row.entry, row.broken) == ("broken", row.entry, 0)
        if last and alike and (last.what, last.entry, last.code) == ("broken", row.entry, ""):
            did = dict(last.did)
            for unit, number in row.did.items():
                did[unit] = did.get(unit, 0) + number
            shown[-1] = replace(last, did=did)
        else:
            shown.append(replace(row, code="") if alike else row)
    return shown


def read_work_log(data: bytes, name: str) -> WorkLog:
    """Read a work log.

    Raises
    ------
    JobError
        Where it is none, or a row is wrong; with the line.
    """
    listed = read_list(
        data, name, what="rows", needed="what", known=COLUMNS, error=JobError,
        only_in="a work log", most_rows=_MOST_ROWS,
    )  # fmt: skip
    rows: list[WorkRow] = []
    last = 0
    for each in listed:
        try:
            rows.append(_row(each.cells, each.line, last + 1))
        except JobError as wrong:
            raise wrong.within(file=name, item=f"line {each.line}") from wrong
        last = max(last, rows[-1].entry)
    log = WorkLog(name, tuple(rows))
    log.told()
    return log


def _row(cells: Mapping[str, str], line: int, following: int) -> WorkRow:
    what, known = cells["what"].casefold(), (*UNITS, entries.UNDO)
    if what not in known:
        raise JobError(f"'{what}' is no work that is logged", mend=nearest(what, known))
    # A row added by hand without a number is an entry of its own.
    entry = _number(cells.get("entry", str(following)), "entry")
    target, note = unguarded(cells.get("for", "")), unguarded(cells.get("note", ""))
    if what == entries.UNDO:
        _number(target, "for")
        return WorkRow(entry, what, target=target, note=note, line=line)
    did = read_did(cells.get("did", ""), what)
    if what != "broken":
        minutes = read_minutes(cells.get("minutes", ""), "minutes")
        return WorkRow(entry, what, minutes, did, target=target, note=note, line=line)
    code = unguarded(cells.get("code", ""))
    if not code or len(did) != 1:
        raise JobError(
            "what broke has one code, and one kind of piece under did",
            mend="Write such as: code B-11-RED, broken 7, did 412 bead.",
        )
    broken = _number(cells.get("broken", ""), "broken")
    return WorkRow(entry, what, did=did, code=code, broken=broken, target=target, note=note,
                   line=line)  # fmt: skip


def _number(cell: str, column: str) -> int:
    return entries.whole_number(cell, column, file="", where="", error=JobError)


def read_minutes(cell: str, item: str) -> Decimal:
    """Return minutes written as 62.5, or as hours and minutes, 1:02.

    Raises
    ------
    JobError
        Where it is neither, or none at all.
    """
    clock = re.fullmatch(r"(\d{1,4}):([0-5]\d)", cell, re.ASCII)
    plain = re.fullmatch(r"\d{1,7}(?:\.\d{1,6})?", cell, re.ASCII)
    minutes = Decimal(0)
    if clock:
        minutes = Decimal(int(clock[1]) * 60 + int(clock[2]))
    elif plain:
        minutes = Decimal(cell)
    if not 0 < minutes <= _MOST_MINUTES:
        raise JobError(
            f"{item} must be above 0, not '{cell[:40]}'", mend="Write 62.5, or 1:02 for hours."
        )
    return minutes


def read_did(cell: str, what: str) -> Did:
    """Return what was done, written such as ``412 sewn bead, 60 hand stone``.

    Raises
    ------
    JobError
        Where it is not, or counts what this work is not counted in.
    """
    known = UNITS[what]
    example = f"Write under did such as: 412 {known[0]}."
    did: Did = {}
    for part in cell.split(","):
        found = re.fullmatch(r"\s*(\d{1,9})\s+(\S.*?)\s*", part, re.ASCII)
        if found is None:
            raise JobError(f"'{part.strip()[:40]}' does not say what was done", mend=example)
        unit = " ".join(found[2].casefold().split())
        if unit not in known:
            raise JobError(
                f"{what} is not counted in '{unit[:40]}'", mend=nearest(unit, known) or example
            )
        did[unit] = did.get(unit, 0) + int(found[1])
    return did


def did_words(did: Did) -> str:
    """Return what was done as it is written in the file."""
    return ", ".join(f"{number} {unit}" for unit, number in did.items())


def with_work(data: bytes, rows: Iterable[WorkRow], name: str) -> bytes:
    """Return the file with rows at its end; what stands there stays as it is.

    Raises
    ------
    JobError
        Where the file has no column for something that must be said.
    """
    cells = (
        {
            "entry": str(row.entry),
            "what": row.what,
            "code": row.code,
            "broken": str(row.broken) if row.what == "broken" else "",
            "minutes": f"{row.minutes:f}" if row.minutes else "",
            "did": did_words(row.did),
            "for": row.target,
            "note": row.note,
        }
        for row in rows
    )
    return entries.with_rows(data, COLUMNS, cells, file=name, what="work log", error=JobError)
