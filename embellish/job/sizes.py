"""One job in several garment sizes: each laid afresh from the original, bought together."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from embellish.artwork.artwork import Artwork
from embellish.artwork.sizing import sized
from embellish.errors import EmbellishError, JobError
from embellish.formats.csv_lists import list_bytes
from embellish.formats.nearest import nearest
from embellish.job.files import OpenJob, as_job_takes, kept_path, open_sized, with_kept
from embellish.job.lettering import with_lettering
from embellish.job.model import Job, SizeTable
from embellish.job.names import safe_names
from embellish.job.partners import in_pair
from embellish.job.together import Garment, MadeGarment, MadeTogether, made_together
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.layout import as_json_bytes


def in_sizes(opened: OpenJob, *, thaw: bool = False) -> list[OpenJob]:
    """Return the job once for each of its sizes, with the artwork at that size.

    Parameters
    ----------
    thaw
        Leave layouts kept of the sizes aside.

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
    every = [_one(opened, size) for size in job.size]
    if thaw:
        return every
    kept = [kept_path(opened.path, folder) for folder in safe_names(names)]
    return [with_kept(each, beside) for each, beside in zip(every, kept, strict=True)]


def _one(opened: OpenJob, size: SizeTable) -> OpenJob:
    item = f"size '{size.name}'"
    sha256 = opened.artwork_sha256
    try:
        if size.file is not None:
            path = opened.path.parent / size.file
            artwork, noticed = open_sized(
                path,
                size.width_mm,
                None,
                f"Give width_mm for {item} in {opened.path.name}.",
                opened.job.artwork.picture,
            )
            artwork = as_job_takes(artwork, opened.job, opened.path)
            if opened.job.lettering:
                artwork, told = with_lettering(artwork, opened.job.lettering, opened.path.parent)
                noticed = (*noticed, *told)
            findings = (*opened.findings, *noticed)
            sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
        elif size.width_mm is not None:
            artwork, findings = sized(opened.artwork, width_mm=size.width_mm), opened.findings
        else:
            assert size.percent is not None  # noqa: S101 - the table's own check says so
            artwork = sized(opened.artwork, scale=size.percent / 100.0)
            findings = opened.findings
        job = _with_own_distances(opened.job, size)
    except EmbellishError as wrong:
        raise wrong.within(file=str(opened.path), item=item) from wrong
    if job.background is not None:
        # The photo is of the garment that the drawing fits: both grow together.
        grown = _width(artwork) / _width(opened.artwork)
        job = job.model_copy(update={"background": job.background.grown(grown)})
    quantity = opened.job.quantity if size.quantity is None else size.quantity
    job = job.model_copy(update={"quantity": max(quantity, 1), "size": ()})
    # The same drawing at another size is another artwork to whoever kept its layout.
    drawn = f"{sha256} {size.width_mm} {size.percent} {size.file is None}"
    return replace(
        opened,
        job=job,
        artwork=artwork,
        findings=findings,
        artwork_sha256=hashlib.sha256(drawn.encode()).hexdigest(),
        kept=None,
        size=size.name,
    )


def _width(artwork: Artwork) -> float:
    """Return the page's width, or that of all shapes where there is none."""
    if artwork.page is not None:
        return artwork.page[0]
    x0, _, x1, _ = artwork.bounds() or (0.0, 0.0, 1.0, 1.0)
    return x1 - x0 or 1.0


def _with_own_distances(job: Job, size: SizeTable) -> Job:
    """Return the job with a size's own distances from seams and edges.

    Raises
    ------
    JobError
        Where one is given for a keep-out or lay that there is not.
    """
    changes: dict[str, Any] = {}
    if size.margin_mm is not None:
        names = [each.shapes for each in job.keep_out]
        own = _for_each(size.margin_mm, names, "margin_mm", "keep_out with the shapes")
        changes["keep_out"] = tuple(
            each.model_copy(update={"margin_mm": own[each.shapes]}) if each.shapes in own else each
            for each in job.keep_out
        )
    if size.edge_mm is not None:
        own = _for_each(size.edge_mm, [lay.id for lay in job.lay], "edge_mm", "lay with the id")
        changes["lay"] = tuple(
            lay.model_copy(update={"edge_mm": own[lay.id]}) if lay.id in own else lay
            for lay in job.lay
        )
    return job.model_copy(update=changes)


def _for_each(
    given: float | dict[str, float], names: list[str], key: str, what: str
) -> dict[str, float]:
    if not names:
        raise JobError(f"{key} is given, and this job has no keep_out", mend=f"Leave {key} out.")
    if not isinstance(given, dict):
        return dict.fromkeys(names, given)
    for name in given:
        if name not in names:
            raise JobError(
                f"{key} names '{name}', and there is no {what} '{name}'", mend=nearest(name, names)
            )
    return given


def made_sizes(
    opened: OpenJob,
    *,
    anyway: bool = False,
    thaw: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> MadeTogether:
    """Make every size of a job: a folder each, one table, one list to buy.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    jobs = in_sizes(opened, thaw=thaw)
    folders = safe_names(job.size for job in jobs)
    wanted = [
        opened.job.quantity if size.quantity is None else size.quantity for size in opened.job.size
    ]
    garments = [
        Garment(
            "size",
            f"{side.size} {side.side}".strip(),
            f"{folder}/{side.side}" if side.side else folder,
            side,
            quantity,
        )
        for job, folder, quantity in zip(jobs, folders, wanted, strict=True)
        for side in in_pair(job, thaw=thaw)
    ]
    made = made_together(garments, opened, anyway=anyway, progress=progress)
    rows = [_row(each) for each in made.garments]
    all_sizes = {
        "quantity": sum(wanted),
        "seats": sum(row["seats"] * row["quantity"] for row in rows),
        "pieces": {code: number for code, number in made.counts.items() if number},
        "cost": None if made.materials.total is None else str(made.materials.total),
        "currency": made.materials.currency,
    }
    files = {
        **made.files,
        "sizes.json": as_json_bytes(
            {"format": "embellish-sizes", "version": 1, "sizes": rows, "all": all_sizes}
        ),
        "sizes.csv": _csv(rows, all_sizes, list(made.counts)),
    }
    return replace(made, files=files)


def _row(each: MadeGarment) -> dict[str, Any]:
    garment, checked = each.garment, each.made.checked
    quote = checked.plans.quote
    bounds = garment.job.artwork.page
    price = quote.price_per_garment
    cost = checked.plans.materials.total if garment.quantity else None
    return {
        "size": garment.name,
        "folder": garment.folder,
        "quantity": garment.quantity,
        "width_mm": None if bounds is None else round(bounds[0], 3),
        "seats": len(checked.layout),
        "pieces": each.pieces,
        "cost_bought_alone": None if cost is None else str(cost),
        "price_per_garment": None if price is None else str(price),
        "currency": quote.currency,
        "stopped": checked.stopped,
    }


def _csv(rows: list[dict[str, Any]], together: dict[str, Any], codes: list[str]) -> bytes:
    """Return a line a size, pieces a garment, and a last line of all garments together."""
    head = ("size", "quantity", "width mm", "seats", *codes)
    cells = [
        (
            *(row[key] for key in ("size", "quantity", "width_mm", "seats")),
            *(row["pieces"].get(code, 0) for code in codes),
            *(row[key] for key in ("cost_bought_alone", "price_per_garment", "currency")),
        )
        for row in rows
    ]
    last = (
        *("all garments, bought together", together["quantity"], None, together["seats"]),
        *(together["pieces"].get(code, 0) for code in codes),
        *(together["cost"], None, together["currency"]),
    )
    return list_bytes(
        (*head, "materials, bought alone", "price a garment", "currency"), [*cells, last]
    )
