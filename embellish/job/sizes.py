"""One job in several garment sizes: each laid afresh from the original, bought together."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from embellish.artwork.sizing import sized
from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding
from embellish.job.files import OpenJob, open_sized
from embellish.job.making import Made, made_files
from embellish.job.model import SizeTable
from embellish.job.names import safe_names
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.materials import guarded, materials_csv, materials_json
from embellish.plans.materials import MaterialsPlan, piece_counts, plan_counted


@dataclass(frozen=True, eq=False)
class MadeSizes:
    """Every size made, and the buying of all together."""

    sizes: tuple[tuple[str, Made], ...]
    materials: MaterialsPlan
    files: dict[str, bytes]

    @property
    def stopped(self) -> bool:
        """Whether an error stands in any size."""
        return any(made.checked.stopped for _, made in self.sizes)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed, each size's with its name in front, and of buying together."""
        return tuple(
            replace(finding, message=f"size {name}: {finding.message}")
            for name, made in self.sizes
            for finding in made.checked.findings
        )


def in_sizes(opened: OpenJob) -> list[OpenJob]:
    """Return the job once for each of its sizes, with the artwork at that size.

    Raises
    ------
    JobError, ArtworkError
        Where the job has no sizes, two of one name, or an outline of a size cannot be read.
    """
    job = opened.job
    if not job.size:
        raise JobError(
            "this job has no sizes",
            file=str(opened.path),
            mend='Add [[size]] tables, such as name = "M" and width_mm = 180.',
        )
    names = [size.name for size in job.size]
    for name in names:
        if names.count(name) > 1:
            raise JobError(
                f"two sizes are called '{name}'",
                file=str(opened.path),
                mend="Give each size a name of its own.",
            )
    return [_one(opened, size) for size in job.size]


def _one(opened: OpenJob, size: SizeTable) -> OpenJob:
    item = f"size '{size.name}'"
    try:
        if size.file is not None:
            artwork, noticed = open_sized(
                opened.path.parent / size.file,
                size.width_mm,
                None,
                f"Give width_mm for {item} in {opened.path.name}.",
            )
            findings = (*opened.findings, *noticed)
        elif size.width_mm is not None:
            artwork, findings = sized(opened.artwork, width_mm=size.width_mm), opened.findings
        else:
            assert size.percent is not None  # noqa: S101 - the table's own check says so
            artwork = sized(opened.artwork, scale=size.percent / 100.0)
            findings = opened.findings
    except EmbellishError as wrong:
        raise wrong.within(file=str(opened.path), item=item) from wrong
    quantity = opened.job.quantity if size.quantity is None else size.quantity
    job = opened.job.model_copy(update={"quantity": max(quantity, 1), "size": ()})
    return replace(opened, job=job, artwork=artwork, findings=findings, kept=None, size=size.name)


def made_sizes(
    opened: OpenJob,
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> MadeSizes:
    """Make every size of a job: a folder each, one table, one list to buy.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    jobs = in_sizes(opened)
    folders = safe_names(job.size for job in jobs)
    wanted = [
        opened.job.quantity if size.quantity is None else size.quantity for size in opened.job.size
    ]
    files: dict[str, bytes] = {}
    sizes: list[tuple[str, Made]] = []
    counts: dict[str, int] = {}
    rows: list[dict[str, Any]] = []
    for job, folder, quantity in zip(jobs, folders, wanted, strict=True):
        made = made_files(job, anyway=anyway, progress=progress)
        sizes.append((job.size, made))
        files |= {f"{folder}/{name}": content for name, content in made.files.items()}
        pieces = piece_counts(made.checked.layout)
        for code, number in pieces.items():
            counts[code] = counts.get(code, 0) + number * quantity
        rows.append(_row(job, folder, made, quantity, pieces))
    together = plan_counted(
        {code: number for code, number in counts.items() if number},
        1,
        opened.catalogue,
        opened.job.materials,
    )
    files["sizes.json"] = as_json_bytes({"format": "embellish-sizes", "version": 1, "sizes": rows})
    files["sizes.csv"] = _csv(rows, list(counts))
    files["materials-all.json"] = materials_json(together)
    files["materials-all.csv"] = materials_csv(together)
    return MadeSizes(tuple(sizes), together, files)


def _row(
    job: OpenJob, folder: str, made: Made, quantity: int, pieces: dict[str, int]
) -> dict[str, Any]:
    quote = made.checked.plans.quote
    bounds = job.artwork.page
    price = quote.price_per_garment
    return {
        "size": job.size,
        "folder": folder,
        "quantity": quantity,
        "width_mm": None if bounds is None else round(bounds[0], 3),
        "seats": len(made.checked.layout),
        "pieces": pieces,
        "price_per_garment": None if price is None else str(price),
        "currency": quote.currency,
        "stopped": made.checked.stopped,
    }


def _csv(rows: list[dict[str, Any]], codes: list[str]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    head = ["size", "quantity", "width mm", "seats", *codes, "price a garment", "currency"]
    writer.writerow([guarded(cell) for cell in head])
    for row in rows:
        writer.writerow(
            [
                guarded(row["size"]),
                row["quantity"],
                row["width_mm"],
                row["seats"],
                *(row["pieces"].get(code, 0) for code in codes),
                row["price_per_garment"],
                guarded(row["currency"]),
            ]
        )
    return text.getvalue().encode()
