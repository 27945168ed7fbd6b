"""Work booked into the log: what was done is counted from the job, what it took is the maker's."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from embellish.catalogue.piece import Kind
from embellish.errors import JobError
from embellish.formats.nearest import nearest
from embellish.job.orders.counting import CountedOrder
from embellish.job.orders.stocking import target_of
from embellish.job.placing import change_list
from embellish.job.reading_files import bytes_of
from embellish.plans.rates.work_log import Did, WorkLog, WorkRow, read_work_log, with_work
from embellish.plans.stitching.sewing import Effort

_START = "Start one with: embellish log add FILE JOB."


@dataclass(frozen=True)
class Done:
    """What a job or an order takes to make.

    Parameters
    ----------
    name
        The job and its layouts.
    work
        Units by kind of work.
    pieces
        Kind and number set, by code.
    """

    name: str
    work: Mapping[str, Did]
    pieces: Mapping[str, tuple[Kind, int]]


@dataclass(frozen=True)
class Took:
    """What the maker says that it took.

    Parameters
    ----------
    minutes
        By kind of work; of ``setting`` those of all pieces.
    setting
        Or by a way of setting, or a kind of piece.
    broken
        Pieces that broke or were lost, by code; None where they were not counted.

    Raises
    ------
    JobError
        Where nothing is said.
    """

    minutes: Mapping[str, Decimal]
    setting: Mapping[str, Decimal]
    broken: Mapping[str, int] | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not self.minutes and not self.setting and self.broken is None:
            raise _nothing()


def open_work_log(path: Path) -> WorkLog:
    """Read a work log.

    Raises
    ------
    JobError
        Where it cannot be read, or is none.
    """
    return read_work_log(bytes_of(path, JobError, "work log"), str(path))


def done_of(order: CountedOrder, garments: int | None = None) -> Done:
    """Return what it takes to make all garments of a job or an order, or so many of a job.

    Raises
    ------
    JobError
        Where a number is given and there are several layouts.
    """
    if garments is not None and len(order.designs) > 1:
        raise JobError(
            "there are several layouts, each with its own number of garments",
            item="--garments",
            mend="Leave it out, or log the jobs one by one.",
        )
    setting: Did = {}
    pieces: dict[str, tuple[Kind, int]] = {}
    effort, passes, made = Effort(), 0, 0
    for design in order.designs:
        times = garments or design.quantity
        made += times
        for side in design.sides:
            amounts = side.plans.amounts
            passes += amounts.press_passes * times
            for (by, kind), number in amounts.pieces.items():
                unit = f"{by} {kind}"
                setting[unit] = setting.get(unit, 0) + number * times
            effort += side.plans.stitches.effort * times
        kinds = {piece.code: piece.kind for side in design.sides for piece in side.layout.pieces}
        for code, number in design.pieces.items():
            before = pieces[code][1] if code in pieces else 0
            pieces[code] = (kinds[code], before + number * times)
    turns = {"stitches": effort.stitches + effort.jumps, "trims": effort.trims}
    work = {
        "machine": {**turns, "stops": effort.stops} if turns["stitches"] else {},
        "setting": setting,
        "pressing": {"passes": passes} if passes else {},
        "setup": {"designs": len(order.designs)},
        "garments": {"garments": made},
    }
    return Done(target_of(order, garments), work, pieces)


def book(
    path: Path, done: Done, took: Took, *, more: bool = False, again: bool = False
) -> tuple[WorkLog, tuple[WorkRow, ...]]:
    """Write down what a job took; the log is begun where there is none.

    Parameters
    ----------
    more
        It is further time on, or breakage of, what was logged before.
    again
        As many garments were made once more.

    Raises
    ------
    JobError
        Where the job has no such work or piece, or it was logged before.
    OutputError
        Where the disk refuses, or another run holds the file for long.
    """
    rows = _rows(done, took, more=more)

    def decide(log: WorkLog) -> Sequence[WorkRow]:
        for row in rows:
            before = log.logged(row.what, done.name)
            if before is not None and not (more or again):
                raise JobError(
                    f"{row.what} of {done.name} was logged already, as entry {before}",
                    file=str(path),
                    mend="Add --more for further time on the same garments, --again for as many"
                    " more of them; or undo that entry.",
                )
        return [replace(row, entry=log.last_entry + 1) for row in rows]

    return _changed(path, decide)


def undo(path: Path, entry: int | None, note: str = "") -> tuple[WorkLog, tuple[WorkRow, ...]]:
    """Take an entry back, the last one where none is named.

    Raises
    ------
    JobError
        Where there is no such log or entry, or a later one adds to it.
    """
    if not path.exists():
        raise JobError("there is no such work log", file=str(path), mend=_START)
    return _changed(path, lambda log: [log.undoing(entry, note)])


def _changed(
    path: Path, decide: Callable[[WorkLog], Sequence[WorkRow]]
) -> tuple[WorkLog, tuple[WorkRow, ...]]:
    decided: list[Sequence[WorkRow]] = []

    def add_to(data: bytes, log: WorkLog) -> bytes:
        decided.append(decide(log))
        return with_work(data, decided[-1], str(path))

    log = change_list(path, read_work_log, WorkLog(str(path)), add_to)
    return log, tuple(decided[-1])


def _rows(done: Done, took: Took, *, more: bool) -> list[WorkRow]:
    rows = []
    for what, minutes in took.minutes.items():
        did = done.work[what]
        if not did:
            raise JobError(
                f"this job has no {_NONE[what]}, so that minutes of it tell nothing",
                item=f"--{what}-minutes",
                mend="Leave it out.",
            )
        rows.append(WorkRow(0, what, minutes, did, target=done.name, note=took.note))
    rows += _of_setting(done, took)
    rows += _broken(done, took, more=more)
    if not rows:
        raise _nothing()
    if more:
        return [replace(row, did=dict.fromkeys(row.did, 0)) for row in rows]
    return rows


def _nothing() -> JobError:
    return JobError(
        "nothing that it took is given",
        item="embellish log add",
        mend="Give minutes, such as --setting-minutes 62, or --broken CODE=3.",
    )


_NONE: Final = {
    "machine": "marks to sew",
    "setting": "pieces to set",
    "pressing": "passes of the press",
    "setup": "layout",
    "garments": "garment",
}


def _of_setting(done: Done, took: Took) -> list[WorkRow]:
    """Return rows of minutes of one way of setting, or one kind; no piece stands in two."""
    rows: list[WorkRow] = []
    counted = set(done.work["setting"]) if "setting" in took.minutes else set()
    for word, minutes in took.setting.items():
        did = {
            unit: number for unit, number in done.work["setting"].items() if word in unit.split(" ")
        }
        words = dict.fromkeys(part for unit in done.work["setting"] for part in unit.split(" "))
        if not did:
            raise JobError(
                f"nothing of this job is '{word}'",
                item="--setting-minutes",
                mend=nearest(word, list(words)),
            )
        if counted & did.keys():
            raise JobError(
                f"minutes of '{word}' are among others that are given",
                item="--setting-minutes",
                mend="Give minutes of all pieces, or apart for each way or each kind.",
            )
        counted |= did.keys()
        rows.append(WorkRow(0, "setting", minutes, did, target=done.name, note=took.note))
    return rows


def _broken(done: Done, took: Took, *, more: bool) -> list[WorkRow]:
    """Return a row for each code, also where none broke: shares are of all that was set."""
    if took.broken is None:
        return []
    for code in took.broken:
        if code not in done.pieces:
            raise JobError(
                f"this job sets no '{code}'", item="--broken", mend=nearest(code, done.pieces)
            )
    return [
        WorkRow(
            0,
            "broken",
            did={kind: number},
            code=code,
            broken=took.broken.get(code, 0),
            target=done.name,
            note=took.note,
        )
        for code, (kind, number) in done.pieces.items()
        if number and (code in took.broken or not more)
    ]
