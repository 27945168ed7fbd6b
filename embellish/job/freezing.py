"""What is kept of a job: its own layout, and that of each of its sizes."""

from __future__ import annotations

from pathlib import Path

from embellish.job.files import OpenJob, kept_path
from embellish.job.keeping import kept_toml
from embellish.job.making import Checked
from embellish.job.names import safe_names
from embellish.job.partners import in_pair, kept_name
from embellish.job.sizes import in_sizes


def kept_jobs(opened: OpenJob, *, thaw: bool = False) -> list[tuple[Path, OpenJob]]:
    """Return each layout that is kept of a job, with the file that it is kept in.

    Raises
    ------
    JobError, ArtworkError
        Where a size cannot be opened.
    """
    kept = _sides(opened, "", thaw=thaw)
    if opened.job.size:
        sizes = in_sizes(opened, thaw=thaw)
        folders = safe_names(each.size for each in sizes)
        for folder, each in zip(folders, sizes, strict=True):
            kept += _sides(each, folder, thaw=thaw)
    return kept


def _sides(opened: OpenJob, folder: str, *, thaw: bool) -> list[tuple[Path, OpenJob]]:
    """Return a garment, or both sides of a pair, each with the file it is kept in."""
    return [
        (kept_path(opened.path, kept_name(side, folder)), side)
        for side in in_pair(opened, thaw=thaw)
    ]


def kept_text(checked: Checked) -> bytes:
    """Return the text of the kept file of a job that was laid and checked."""
    opened = checked.opened
    return kept_toml(
        opened.job,
        opened.artwork_sha256,
        opened.catalogue,
        checked.layout,
        checked.plans.title.fingerprint,
        checked.bedded.findings,
    )
