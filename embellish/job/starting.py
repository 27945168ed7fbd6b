"""Write a first job file, never over one that stands."""

from __future__ import annotations

import os
from pathlib import Path

from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.job.files import open_catalogue, open_wide
from embellish.job.placing import create_file
from embellish.job.proposing import proposed_job
from embellish.job.reading import read_job


def start_job(
    artwork_path: Path, job_path: Path | None, catalogue_name: str, width_mm: float | None
) -> tuple[Path, tuple[Finding, ...]]:
    """Write a proposed job for an artwork and return where, with what the reader noticed.

    Raises
    ------
    EmbellishError
        Where the artwork or catalogue cannot be read, has no size, or a job stands there already.
    """
    artwork, findings = open_wide(artwork_path, width_mm)
    if not artwork.sized:
        raise ArtworkError(
            "this drawing has no physical size",
            file=str(artwork_path),
            mend="Measure how wide it shall be and give --width-mm.",
        )
    path = job_path or artwork_path.with_suffix(".toml")
    catalogue = open_catalogue(catalogue_name)
    if not catalogue_name.startswith("shipped:"):
        catalogue_name = _from_job(Path(catalogue_name), path)
    text = proposed_job(
        artwork_path.stem,
        artwork,
        _from_job(artwork_path, path),
        catalogue,
        catalogue_name,
        width_mm,
    ).encode()
    read_job(text, str(path))
    create_file(path, text, "Name another with --job.")
    return path, findings


def _from_job(file: Path, job: Path) -> str:
    """Return the file as a job beside it names it, with forward slashes on every system."""
    try:
        return Path(os.path.relpath(file, job.parent)).as_posix()
    except ValueError:  # another drive
        return file.resolve().as_posix()
