"""What was handed over: a record beside the job, for repairs and for garments that match.

`JOB.delivered.toml` only ever grows. Dates and lots are as the maker enters them; no clock is read.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import tomli_w
from pydantic import Field

from embellish.errors import JobError
from embellish.findings import Finding, counted
from embellish.formats.nearest import nearest
from embellish.formats.tables import checked, parsed_toml
from embellish.job.model import Table
from embellish.layout.layout import Layout
from embellish.plans.piece_counts import piece_counts

_HEAD: Final = (
    "# Written by 'embellish deliver': what was handed over, an entry a delivery.\n"
    "# Nothing here is computed again; keep it with the job.\n"
)


class Delivery(Table):
    """``[[delivered]]``: one delivery of one size."""

    date: dt.date
    size: str = ""
    side: Literal["", "LEFT", "RIGHT"] = ""
    revision: str = ""
    fingerprint: Annotated[str, Field(pattern=r"^[0-9a-f]{8}$")]
    quantity: Annotated[int, Field(ge=1)]
    to: Annotated[str, Field(max_length=200)] = ""
    note: Annotated[str, Field(max_length=2000)] = ""
    pieces: dict[str, int] = Field(default_factory=dict)
    """Of one garment, by code."""
    lots: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    """As entered, by code."""

    @property
    def words(self) -> str:
        """One line for lists."""
        many = counted(self.quantity, "garment")
        size = f"size {self.size}, " if self.size else ""
        size += f"{self.side}, " if self.side else ""
        rest = "".join(f", {each}" for each in (self.to and f"to {self.to}", self.note) if each)
        lots = "; ".join(f"{code} lot {' and '.join(lot)}" for code, lot in self.lots.items())
        return (
            f"{self.date.isoformat()}: {many}, {size}rev. {self.revision}, layout"
            f" {self.fingerprint}{rest}{f' ({lots})' if lots else ''}"
        )


def delivered_path(job: Path) -> Path:
    """Return where deliveries of a job are written: JOB.delivered.toml beside it."""
    return job.with_name(f"{job.stem}.delivered.toml")


def read_deliveries(data: bytes, name: str) -> tuple[Delivery, ...]:
    """Read a record.

    Raises
    ------
    JobError
        Where it is not one.
    """
    entries = parsed_toml(data, name, JobError).get("delivered")
    if not isinstance(entries, list):
        raise JobError(
            "this is not a record of deliveries", file=name, mend="Move it away, or mend it."
        )
    return tuple(
        checked(Delivery, each, file=name, item=f"delivery {number}", error=JobError)
        for number, each in enumerate(entries, 1)
    )


def refuse_unfit(findings: Sequence[Finding], job: Path) -> None:
    """Raise where a check has found an error: such a garment cannot have been made from this job.

    Raises
    ------
    JobError
        With the first of them.
    """
    wrong = next((finding for finding in findings if finding.severity == "error"), None)
    if wrong is not None:
        raise JobError(
            f"this job has an error and is not the one that was made: {wrong.message}",
            file=str(job),
            mend=f"{wrong.mend} If it was made all the same, add --anyway.".strip(),
        )


def with_delivery(record: bytes, delivery: Delivery) -> bytes:
    """Return the record with one more entry after what stands there, which stays as it is."""
    facts = {key: value for key, value in delivery.model_dump().items() if value not in ("", {})}
    tables = {key: facts.pop(key) for key in ("pieces", "lots") if key in facts}
    # Headers of our own: another entry can follow only where none is written as one value.
    entry = f"[[delivered]]\n{tomli_w.dumps(facts)}"
    for key, table in tables.items():
        entry += f"\n[delivered.{key}]\n{tomli_w.dumps(table)}"
    return (record or _HEAD.encode()).rstrip(b"\n") + b"\n\n" + entry.encode()


def delivery_of(
    layout: Layout,
    *,
    date: str,
    fingerprint: str,
    quantity: int,
    lots: Sequence[str],
    **more: Any,
) -> Delivery:
    """Return an entry for a layout.

    Parameters
    ----------
    date
        As entered: year-month-day.
    lots
        As entered: CODE=LOT, several for a code where it came from several lots. For a code left
        out, the lot that the catalogue names counts.
    more
        Size, side, revision, whom it went to, a note.

    Raises
    ------
    JobError
        For a date that is none, or a lot of a piece that the layout does not have.
    """
    try:
        when = dt.date.fromisoformat(date)
    except ValueError as wrong:
        raise JobError(
            f"'{date}' is no date", item="--date", mend="Write year-month-day, as in 2026-11-20."
        ) from wrong
    pieces = piece_counts(layout)
    given: dict[str, list[str]] = {}
    for each in lots:
        code, sign, lot = each.partition("=")
        code, lot = code.strip(), lot.strip()
        if not (sign and code and lot):
            raise JobError(f"'{each}' is no lot", item="--lot", mend="Write CODE=LOT.")
        if code not in pieces:
            raise JobError(
                f"no piece '{code}' is set in this job", item="--lot", mend=nearest(code, pieces)
            )
        given.setdefault(code, []).append(lot)
    known = {piece.code: [piece.lot] for piece in layout.pieces if piece.lot}
    every = {code: tuple(given.get(code) or known.get(code) or ()) for code in pieces}
    facts = {
        "date": when,
        "fingerprint": fingerprint,
        "quantity": quantity,
        "pieces": pieces,
        "lots": {code: lot for code, lot in every.items() if lot},
    }
    return checked(Delivery, {**facts, **more}, file="", item="delivery", error=JobError)


def since_delivered(
    deliveries: Sequence[Delivery], size: str, side: str, layout: Layout, fingerprint: str
) -> tuple[Finding, ...]:
    """Return what differs between a layout and the last delivery of its size and side.

    Another layout is told where none like it was ever delivered; a lot, where the catalogue names
    one that the last delivery of this layout was not made from.
    """
    mine = [each for each in deliveries if (each.size, each.side) == (size, side)]
    if not mine:
        return ()
    same = [each for each in mine if each.fingerprint == fingerprint]
    if not same:
        last = mine[-1]
        return (
            Finding(
                "not-as-delivered",
                "warning",
                f"this layout ({fingerprint}) is not the one delivered on {last.date.isoformat()},"
                f" rev. {last.revision}, layout {last.fingerprint}: it will not match that garment",
                mend="To match it, bring back job, artwork and kept layout as they were then.",
            ),
        )
    return tuple(_lots_that_differ(same[-1], layout))


def _lots_that_differ(last: Delivery, layout: Layout) -> list[Finding]:
    used = piece_counts(layout)
    return [
        Finding(
            "lot-differs",
            "warning",
            f"{piece.code} is of lot {piece.lot} in the catalogue, and was of"
            f" {' and '.join(last.lots[piece.code])} in what was delivered on"
            f" {last.date.isoformat()}: colours differ from lot to lot",
            mend="Hold both beside each other in daylight before you set them.",
        )
        for piece in layout.pieces
        if piece.code in used
        and piece.lot
        and piece.lot not in last.lots.get(piece.code, (piece.lot,))
    ]
