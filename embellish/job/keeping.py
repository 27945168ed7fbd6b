"""Keep a job as it was made, to make it again a year later.

`JOB.kept.toml` beside the job holds the catalogue rows used, versions, and the address and place
of each seat. While the job and its artwork are unchanged, places come from it; sizes of pieces
always do; prices, packs and stock come from the catalogue of today.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from importlib.metadata import version
from typing import Annotated, Any, Final, Literal

import numpy as np
import tomli_w
from pydantic import Field

from embellish import __version__
from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.catalogue.reading import catalogue_of_tables, tables_of
from embellish.catalogue.substitutes import substitute_for
from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding, Severity
from embellish.formats.fields import NoTruth
from embellish.formats.tables import checked, parsed_toml
from embellish.job.model import Job, Table
from embellish.layout.layout import Layout

LIBRARIES = ("numpy", "scipy", "shapely")
"""Those whose arithmetic decides where a seat stands."""

_LIVE = ("packs", "count_tolerance", "stock", "lots", "supplier", "lot")
"""What is always today's."""


_NOT_LAYING: Final[dict[str, Any]] = {
    **dict.fromkeys(("version", "title", "revision", "quantity", "catalogues", "size"), True),
    **dict.fromkeys(("garment", "cloth", "marks", "hoop", "base", "template", "paper"), True),
    **dict.fromkeys(("materials", "price", "background"), True),
    "lay": {"__all__": dict.fromkeys(("name", "set_by", "mark", "worked_from"), True)},
    # The artwork's own bytes are held against those kept, whatever its file is called.
    "artwork": {"file": True},
}
"""What does not decide where a piece stands; all that a job may come to say besides does."""


class KeptNotice(Table):
    """``[[noticed]]``: what laying noticed, told again with the places it gave."""

    code: str
    severity: Severity
    message: str
    where_mm: tuple[float, float] | None = None
    lay: str | None = None
    mend: str = ""


class KeptHead(Table):
    """``[kept]``: what it was made from and with."""

    version: Annotated[Literal[1], NoTruth]
    job: str
    artwork: str
    fingerprint: str
    made_with: dict[str, str]
    gaps_mm: dict[str, float]


class KeptSeats(Table):
    """``[seats]``: a column each, one entry a seat."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    angle_deg: tuple[float, ...]
    sort: tuple[Annotated[int, Field(ge=0)], ...]
    lay: tuple[Annotated[int, Field(ge=0)], ...]
    shape: tuple[Annotated[int, Field(ge=-1)], ...]
    row: tuple[int, ...]
    u: tuple[float, ...]


class KeptFile(Table):
    """A whole kept file, its rows as yet unread."""

    kept: KeptHead
    sorts: tuple[str, ...]
    shapes: tuple[str, ...]
    seats: KeptSeats
    rows: dict[str, Any]
    noticed: tuple[KeptNotice, ...] = ()


@dataclass(frozen=True, eq=False)
class Kept:
    """A kept layout as read back."""

    head: KeptHead
    sorts: tuple[str, ...]
    shape_ids: tuple[str, ...]
    seats: KeptSeats
    rows: Catalogue
    name: str
    findings: tuple[Finding, ...] = ()

    def holds_for(self, job: Job, artwork_sha256: str) -> bool:
        """Whether job and artwork are what they were."""
        return self.head.job == job_sha256(job) and self.head.artwork == artwork_sha256


def job_sha256(job: Job) -> str:
    """Return a hash over what decides where pieces stand; prices and numbers of garments do not.

    What is left as built in does not count, so that keys of later versions change no hash.
    """
    laying = job.model_dump(
        mode="json",
        exclude=_NOT_LAYING,
        exclude_defaults=True,
        serialize_as_any=True,
    )
    if job.cloth.narrowing:
        laying["narrowing"] = job.cloth.narrowing
    if not job.cloth.as_set.relaxed and any(lay.way == "chain" for lay in job.lay):
        laying["set"] = repr(job.cloth.as_set)
    return hashlib.sha256(json.dumps(laying, sort_keys=True).encode()).hexdigest()


def kept_toml(
    job: Job,
    artwork_sha256: str,
    catalogue: Catalogue,
    layout: Layout,
    fingerprint: str,
    findings: Sequence[Finding] = (),
) -> bytes:
    """Return the text of a kept file; ``findings`` are those of laying."""
    codes = {piece.code for piece in layout.pieces}
    names = {unit.name for unit in layout.units}
    rows = replace(
        catalogue,
        pieces={code: piece for code, piece in catalogue.pieces.items() if code in codes},
        units={name: unit for name, unit in catalogue.units.items() if name in names},
    )
    tables: dict[str, Any] = {
        "kept": {
            "version": 1,
            "job": job_sha256(job),
            "artwork": artwork_sha256,
            "fingerprint": fingerprint,
            "made_with": {"embellish": __version__, **{each: version(each) for each in LIBRARIES}},
            "gaps_mm": {lay.id: lay.gap_mm for lay in layout.lays},
        },
        "sorts": [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units],
        "shapes": list(layout.shape_ids),
        "seats": {
            "x": layout.xy[:, 0].tolist(),
            "y": layout.xy[:, 1].tolist(),
            "angle_deg": layout.angle_deg.tolist(),
            "sort": layout.footprint.tolist(),
            "lay": layout.lay.tolist(),
            "shape": layout.shape.tolist(),
            "row": layout.row.tolist(),
            "u": layout.u.tolist(),
        },
        "noticed": [_without_none(asdict(finding)) for finding in findings],
        "rows": tables_of(rows),
    }
    head = (
        "# Written by 'embellish freeze'. It holds the layout as it was made; while the job and\n"
        "# its artwork are unchanged, places come from here. 'embellish make --thaw' lays anew.\n"
    )
    return (head + tomli_w.dumps(tables)).encode()


def read_kept(data: bytes, name: str) -> Kept:
    """Read a kept file.

    Raises
    ------
    JobError
        Where it is not one, or was cut short or changed by hand so that it does not fit together.
    """
    tables = parsed_toml(data, name, JobError)
    for key in ("kept", "sorts", "shapes", "seats", "rows"):
        if key not in tables:
            raise JobError(
                f"this is not a kept layout: '{key}' is missing", file=name, mend=_FREEZE_AGAIN
            )
    try:
        whole = checked(KeptFile, tables, file=name, item=None, error=JobError)
        rows = catalogue_of_tables(tables["rows"], name)
    except EmbellishError as wrong:
        # Nobody wrote this file by hand, so that is not how to mend it.
        raise JobError(
            wrong.message, file=wrong.file, item=wrong.item, mend=_FREEZE_AGAIN
        ) from wrong
    seats = whole.seats
    lengths = {len(getattr(seats, column)) for column in KeptSeats.model_fields}
    bounds = (("sort", len(whole.sorts)), ("shape", len(whole.shapes)))
    if len(lengths) != 1 or any(
        index >= bound for column, bound in bounds for index in getattr(seats, column)
    ):
        raise JobError(
            "the columns of its seats do not fit together", file=name, mend=_FREEZE_AGAIN
        )
    noticed = tuple(Finding(**each.model_dump()) for each in whole.noticed)
    return Kept(whole.kept, whole.sorts, whole.shapes, seats, rows, name, noticed)


_FREEZE_AGAIN = "Freeze the job again, or move this file away."


def _without_none(facts: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in facts.items() if value is not None}


def with_kept_sizes(catalogue: Catalogue, kept: Kept) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Return the catalogue with the kept rows' sizes, and what has changed since.

    A piece withdrawn since then is a finding with a proposed substitute, not a refusal.
    """
    pieces = dict(catalogue.pieces)
    findings: list[Finding] = []
    for code, then in kept.rows.pieces.items():
        now = catalogue.pieces.get(code)
        if now is None:
            pieces[code] = then.model_copy(update={"packs": (), "stock": 0, "lots": ()})
            findings.append(_withdrawn(then, catalogue))
            continue
        live = {field: getattr(now, field) for field in _LIVE}
        pieces[code] = then.model_copy(update=live)
        if _sizes(now) != _sizes(then):
            findings.append(
                Finding(
                    "piece-changed",
                    "warning",
                    f"{code} is {_words(now)} in the catalogue today and was {_words(then)} when"
                    " this job was kept; the kept size holds",
                    mend="Measure what you have; lay anew with --thaw if it is the new size.",
                )
            )
    units = {**catalogue.units, **kept.rows.units}
    return replace(catalogue, pieces=pieces, units=units), tuple(findings)


def _withdrawn(piece: Piece, catalogue: Catalogue) -> Finding:
    other = substitute_for(piece, catalogue)
    mend = (
        f"{other.code} ({other.name or other.kind}) is the nearest: a sample card decides."
        if other is not None
        else "Nothing of its kind and size is in the catalogue: choose another and lay anew."
    )
    return Finding(
        "piece-withdrawn",
        "warning",
        f"{piece.code} is no longer in the catalogue; its kept row is used, without a price",
        mend=mend,
    )


def _sizes(piece: Piece) -> tuple[object, ...]:
    return piece.shape, piece.length_mm, piece.width_mm, piece.outline_mm


def _words(piece: Piece) -> str:
    return f"{piece.length_mm.nominal:g} × {piece.width_mm.nominal:g} mm"


def kept_layout(empty: Layout, kept: Kept) -> Layout:
    """Return the kept seats as a layout of the job's own pieces, lays and shapes.

    Raises
    ------
    JobError
        Where the kept file names a piece, lay or shape that the job has not.
    """
    names = [piece.code for piece in empty.pieces] + [unit.name for unit in empty.units]
    try:
        sort = np.array([names.index(name) for name in kept.sorts], dtype=np.int64)
        shape = np.array([empty.shape_ids.index(each) for each in kept.shape_ids], dtype=np.int64)
        gaps = [kept.head.gaps_mm[lay.id] for lay in empty.lays]
    except (ValueError, KeyError) as wrong:
        raise JobError(
            "the kept layout does not fit this job",
            file=kept.name,
            mend="Lay anew with --thaw, then freeze again.",
        ) from wrong
    seats = kept.seats
    of_seat = sort[np.array(seats.sort, dtype=np.int64)] if seats.sort else np.zeros(0, np.int64)
    at = np.array(seats.shape, dtype=np.int64)
    is_piece = of_seat < len(empty.pieces)
    lays = tuple(replace(lay, gap_mm=gap) for lay, gap in zip(empty.lays, gaps, strict=True))
    return replace(
        empty,
        lays=lays,
        xy=np.column_stack([seats.x, seats.y]).reshape(-1, 2),
        angle_deg=np.array(seats.angle_deg, dtype=np.float64),
        piece=np.where(is_piece, of_seat, -1),
        unit=np.where(is_piece, -1, of_seat - len(empty.pieces)),
        lay=np.array(seats.lay, dtype=np.int64),
        shape=np.where(at >= 0, shape[at], -1) if len(shape) else at,
        row=np.array(seats.row, dtype=np.int64),
        u=np.array(seats.u, dtype=np.float64),
    )
