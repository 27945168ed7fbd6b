"""The edge where files are read: a job with its artwork and catalogues."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Literal

from embellish.artwork.artwork import Artwork
from embellish.artwork.pictures.reading import without_specks
from embellish.artwork.pictures.settings import PictureSettings
from embellish.artwork.readers import is_picture, read_artwork
from embellish.artwork.sizing import sized
from embellish.artwork.strokes import as_painted
from embellish.catalogue.catalogue import Catalogue, merged
from embellish.catalogue.ledger import Ledger, read_ledger, with_stock
from embellish.catalogue.shipped import PREFIX
from embellish.errors import ArtworkError, CatalogueError, EmbellishError, JobError, OutputError
from embellish.findings import Finding
from embellish.formats.photos import Photo, read_photo
from embellish.formats.stitches import StitchDesign, decode, noticed_in
from embellish.job.catalogue_files import open_catalogue
from embellish.job.delivering import Delivery, delivered_path, read_deliveries
from embellish.job.keeping import Kept, read_kept, with_kept_sizes
from embellish.job.lay_pictures import pictures_of, with_patterns, with_pictures
from embellish.job.lettering import font_files, fonts_sha256, with_lettering
from embellish.job.model import Job
from embellish.job.reading import read_job_told
from embellish.job.reading_files import bytes_of


@dataclass(frozen=True, eq=False)
class OpenJob:
    """A job with all it names, read and sized."""

    path: Path
    job: Job
    artwork: Artwork
    catalogue: Catalogue
    findings: tuple[Finding, ...]
    artwork_sha256: str = ""
    kept: Kept | None = None
    """The layout kept beside the job, where there is one and it still holds."""
    size: str = ""
    """The garment size, where the job has several."""
    side: Literal["", "LEFT", "RIGHT"] = ""
    """Which of a pair it is."""
    mirrored: bool = False
    """Whether it is the side of a pair that the drawing does not show."""
    deliveries: tuple[Delivery, ...] = ()
    """What was handed over of it, the oldest first."""
    base: StitchDesign | None = None
    """The design that marks are sewn with, where the job names one."""
    photo: Photo | None = None
    """The photo of the garment for the proof, where the job names one."""


def open_job(path: Path, *, thaw: bool = False) -> OpenJob:
    """Read a job file, its catalogues, its artwork, and the layout kept beside it.

    Parameters
    ----------
    thaw
        Leave a kept layout aside, and lay anew.

    Raises
    ------
    EmbellishError
        For whatever the user must mend, with the file named.
    """
    if path.suffix.lower() == ".zip":
        raise JobError(
            "this is a zip, not a job", file=str(path), mend="Open it first: embellish unbundle."
        )
    return open_text(path, bytes_of(path, JobError, "job file"), thaw=thaw)


def open_text(path: Path, data: bytes, *, thaw: bool = False) -> OpenJob:
    """Open a job as if its file held these bytes; the rest is read as `open_job` reads it."""
    job, upgrades = read_job_told(data, str(path))
    try:
        _refuse_twins(job.catalogues, path)
        catalogue, noticed = merged([open_catalogue(name, path.parent) for name in job.catalogues])
    except EmbellishError as wrong:
        raise wrong.within(file=str(path)) from wrong
    try:
        job = with_patterns(with_pictures(path, job), catalogue)
    except JobError as wrong:
        raise wrong.within(file=str(path)) from wrong
    catalogue, told = _with_stock(path, job, catalogue)
    noticed = (*noticed, *told)
    artwork, findings, sha256 = _open_drawn(path, job)
    base, seen = _open_base(path, job)
    findings = (*upgrades, *noticed, *findings, *seen)
    opened = OpenJob(
        path,
        job,
        artwork,
        catalogue,
        findings,
        sha256,
        deliveries=_deliveries(path),
        base=base,
        photo=_open_photo(path, job),
    )
    return opened if thaw else with_kept(opened, kept_path(path))


def stock_path(path: Path, job: Job) -> Path | None:
    """Return the stock file that a job names, beside the job."""
    return None if job.materials.stock is None else path.parent / job.materials.stock


def _with_stock(
    path: Path, job: Job, catalogue: Catalogue
) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Put the stock file's numbers in place of the catalogue's."""
    stock = stock_path(path, job)
    if stock is None:
        return catalogue, ()
    if not stock.exists():
        told = Finding(
            "no-stock-file",
            "warning",
            f"there is no stock file {job.materials.stock}: all is counted as to be bought",
            mend=f"Start one with: embellish stock add {job.materials.stock} CODE PIECES.",
        )
        return with_stock(catalogue, {}), (told,)
    return with_stock(catalogue, open_ledger(stock).held()), ()


def open_ledger(path: Path) -> Ledger:
    """Read a stock file.

    Raises
    ------
    CatalogueError
        Where it cannot be read, or is none.
    """
    return read_ledger(bytes_of(path, CatalogueError, "stock file"), str(path))


def _open_drawn(path: Path, job: Job) -> tuple[Artwork, tuple[Finding, ...], str]:
    """Read a job's drawing and set its words; with what was noticed, and a hash of all files."""
    wanted, folder = job.artwork, path.parent
    drawing: Artwork | None = None
    noticed: tuple[Finding, ...] = ()
    sha256 = ""
    if wanted.file is not None:
        drawing, noticed = open_sized(
            folder / wanted.file,
            wanted.width_mm,
            wanted.scale,
            f"Give width_mm or scale under [artwork] in {path.name}.",
            wanted.picture,
        )
        drawing = as_job_takes(drawing, job, path)
        sha256 = hashlib.sha256((folder / wanted.file).read_bytes()).hexdigest()
    if not job.lettering:
        assert drawing is not None  # noqa: S101 - the job's own check says so
        return drawing, noticed, sha256
    try:
        artwork, told = with_lettering(drawing, job.lettering, folder)
    except EmbellishError as wrong:
        raise wrong.within(file=str(path)) from wrong
    fonts = fonts_sha256(job.lettering, folder)
    both = hashlib.sha256(f"{sha256} {fonts}".encode()).hexdigest()
    return artwork, (*noticed, *told), both


def as_job_takes(drawing: Artwork, job: Job, path: Path) -> Artwork:
    """Return a sized drawing with the shapes a job takes as painted made regions.

    Raises
    ------
    ArtworkError
        Where there is no such shape, or one that paints no line.
    """
    if job.artwork.as_painted is None:
        return drawing
    try:
        return as_painted(drawing, job.artwork.as_painted)
    except EmbellishError as wrong:
        raise wrong.within(file=str(path), item="artwork.as_painted") from wrong


def _refuse_twins(names: tuple[str, ...], path: Path) -> None:
    """Raise where two names of catalogues are one file, which would outrank itself."""
    seen: dict[Path | str, str] = {}
    for name in names:
        key = name if name.startswith(PREFIX) else (path.parent / name).absolute()
        key = Path(os.path.normpath(key)) if isinstance(key, Path) else key
        if key in seen:
            raise JobError(
                f"'{seen[key]}' and '{name}' are the same file",
                item="catalogues",
                mend="Keep one of them.",
            )
        seen[key] = name


def _open_base(path: Path, job: Job) -> tuple[StitchDesign | None, tuple[Finding, ...]]:
    """Read the design that marks are sewn with, where the job names one."""
    if job.base is None:
        return None, ()
    file = path.parent / job.base.file
    extension = file.suffix.lower().lstrip(".")
    design = decode(bytes_of(file, ArtworkError, "base design"), extension, file=str(file))
    return design, noticed_in(design, extension, file.name)


def _open_photo(path: Path, job: Job) -> Photo | None:
    """Read the photo that lies under the proof, where the job names one."""
    if job.background is None:
        return None
    file = path.parent / job.background.file
    return read_photo(bytes_of(file, ArtworkError, "photo"), str(file))


def _deliveries(path: Path) -> tuple[Delivery, ...]:
    record = delivered_path(path)
    if not record.exists():
        return ()
    return read_deliveries(bytes_of(record, JobError, "record"), str(record))


def bytes_of_bundle(path: Path) -> bytes:
    """Read a bundle.

    Raises
    ------
    JobError
        Where it cannot be read.
    """
    return bytes_of(path, JobError, "bundle")


def kept_path(path: Path, size: str = "") -> Path:
    """Return where the layout of a job is kept: JOB.kept.toml beside it.

    Parameters
    ----------
    size
        A garment size as a safe file name, which has a file of its own.
    """
    return path.with_name(f"{path.stem}.{size}.kept.toml" if size else f"{path.stem}.kept.toml")


def with_kept(opened: OpenJob, beside: Path) -> OpenJob:
    """Return a job with the layout that was kept of it, where there is one that still holds.

    Raises
    ------
    JobError
        Where the file is no kept layout.
    """
    if not beside.exists():
        return opened
    kept = read_kept(bytes_of(beside, JobError, "kept layout"), str(beside))
    catalogue, told = with_kept_sizes(opened.catalogue, kept)
    holds = kept.holds_for(opened.job, opened.artwork_sha256)
    if not holds:
        told = (*told, _no_longer(kept.name))
    return replace(
        opened,
        catalogue=catalogue,
        findings=(*told, *opened.findings),
        kept=kept if holds else None,
    )


def named_files(job: Job) -> tuple[str, ...]:
    """Return every file that a job names, as it names them, each once."""
    named = [job.artwork.file] if job.artwork.file else []
    named += [*font_files(job.lettering), *(size.file for size in job.size if size.file)]
    named += [job.base.file] if job.base else []
    named += [job.background.file] if job.background else []
    named += pictures_of(job)
    named += [name for name in job.catalogues if not name.startswith(PREFIX)]
    return tuple(dict.fromkeys(named))


def _no_longer(name: str) -> Finding:
    return Finding(
        "kept-passed-over",
        "warning",
        f"{name} was kept from another state of this job or its artwork: the job is laid anew,"
        " with the sizes kept",
        mend="Freeze it again when it is right, or bring back the job and artwork as they were.",
    )


def open_sized(
    path: Path,
    width_mm: float | None,
    scale: float | None,
    mend: str,
    picture: PictureSettings | None = None,
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read an artwork file at its size; ``mend`` says where to give one that is missing.

    Parameters
    ----------
    picture
        How a picture is traced.

    Raises
    ------
    ArtworkError
        Where it cannot be read, or neither it nor the job says how large it is.
    """
    artwork, findings = open_artwork(path, picture)
    if width_mm is not None or scale is not None:
        artwork = _sized(artwork, path, width_mm, scale)
        findings = tuple(each for each in findings if each.code != "no-physical-size")
        artwork, findings = _speckless(artwork, findings, path, picture)
    if not artwork.sized:
        raise ArtworkError("this drawing has no physical size", file=str(path), mend=mend)
    return artwork, findings


def open_wide(path: Path, width_mm: float | None) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read an artwork file at the width given, where one is; it may stay without a size.

    Raises
    ------
    ArtworkError
        Where it cannot be read, or cannot have this width.
    """
    artwork, findings = open_artwork(path)
    if width_mm is None:
        return artwork, findings
    artwork = _sized(artwork, path, width_mm, None)
    findings = tuple(each for each in findings if each.code != "no-physical-size")
    return _speckless(artwork, findings, path, None)


def _sized(artwork: Artwork, path: Path, width_mm: float | None, scale: float | None) -> Artwork:
    try:
        return _sized_once(artwork, width_mm, scale)
    except ArtworkError as wrong:
        raise wrong.within(file=str(path)) from wrong


def _speckless(
    artwork: Artwork, findings: tuple[Finding, ...], path: Path, picture: PictureSettings | None
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Drop the specks of a picture, whose size is known by now."""
    if not is_picture(path.name):
        return artwork, findings
    artwork, told = without_specks(artwork, (picture or PictureSettings()).specks_mm2)
    return artwork, (*findings, *told)


def open_artwork(
    path: Path, picture: PictureSettings | None = None
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read an artwork file; a picture is traced as its settings say.

    Raises
    ------
    ArtworkError
        Where it cannot be read.
    """
    try:
        return _read_once(bytes_of(path, ArtworkError, "artwork"), str(path), picture)
    except EmbellishError as wrong:
        raise wrong.within(file=str(path)) from wrong


# The same bytes are the same artwork: what is opened again is not read again.
_read_once = lru_cache(maxsize=4)(read_artwork)
_sized_once = lru_cache(maxsize=4)(sized)


def refuse_to_overwrite(target: Path, opened: OpenJob, *, over: bool) -> None:
    """Raise where a file would be lost: always what a job is made of, else unless ``over``.

    Raises
    ------
    OutputError
        Where the target stands and must not be written over.
    """
    own = [opened.path, *(opened.path.parent / name for name in named_files(opened.job))]
    refuse_over(target, own, "the job itself is made from this file", over=over)


def refuse_over(target: Path, own: Iterable[Path], why: str, *, over: bool) -> None:
    """Raise where a file would be lost: always one of ``own``, else unless ``over``.

    Raises
    ------
    OutputError
        Where the target stands and must not be written over; for ``own`` it says why.
    """
    if not target.exists():
        return
    if any(each.exists() and target.samefile(each) for each in own):
        raise OutputError(why, file=str(target), mend="Name another file.")
    if not over:
        raise OutputError(
            "there is a file of this name",
            file=str(target),
            mend="Name another file, or write over it with --over.",
        )
