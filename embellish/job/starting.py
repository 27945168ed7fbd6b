"""Write a first job file, never over one that stands."""

from __future__ import annotations

import os
from pathlib import Path

from embellish.artwork.lettering.settings import LetteringSettings
from embellish.errors import ArtworkError, JobError
from embellish.findings import Finding
from embellish.formats.fonts_single_line import PREFIX
from embellish.formats.tables import checked
from embellish.job.catalogue_files import open_catalogue
from embellish.job.files import open_wide
from embellish.job.lettering import with_lettering
from embellish.job.placing import create_file
from embellish.job.proposing import drawing_table, proposed_job, words_table
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
        drawing_table(_from_job(artwork_path, path), width_mm),
        catalogue,
        catalogue_name,
    ).encode()
    read_job(text, str(path))
    create_file(path, text, "Name another with --job.")
    return path, findings


def start_words(
    text: str, font: str, cap_height_mm: float, job_path: Path, catalogue_name: str
) -> tuple[Path, tuple[Finding, ...]]:
    """Write a proposed job for words set in a font, as `start_job` does for an artwork.

    Parameters
    ----------
    font
        A font file as the user names it, or ``single-line:NAME``.

    Raises
    ------
    EmbellishError
        Where they cannot be set, or a job stands there already.
    """
    named = font if font.startswith(PREFIX) else _from_job(Path(font), job_path)
    asked = {"text": text, "font": named, "cap_height_mm": cap_height_mm}
    words = checked(LetteringSettings, asked, file=None, item="--text", error=JobError)
    artwork, findings = with_lettering(None, [words], job_path.parent)
    catalogue = open_catalogue(catalogue_name)
    if not catalogue_name.startswith("shipped:"):
        catalogue_name = _from_job(Path(catalogue_name), job_path)
    drawn = words_table(text, named, cap_height_mm)
    title = text.replace("\n", " ")[:120]
    written = proposed_job(title, artwork, drawn, catalogue, catalogue_name).encode()
    read_job(written, str(job_path))
    create_file(job_path, written, "Name another with --job.")
    return job_path, findings


def _from_job(file: Path, job: Path) -> str:
    """Return the file as a job beside it names it, with forward slashes on every system."""
    try:
        return Path(os.path.relpath(file, job.parent)).as_posix()
    except ValueError:  # another drive
        return file.resolve().as_posix()
