"""Pictures that lays go by and pieces named by a pattern, put in place as a job is opened."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fnmatch import fnmatchcase
from pathlib import Path

import numpy as np

from embellish.catalogue.catalogue import Catalogue
from embellish.errors import ArtworkError, JobError
from embellish.formats.nearest import nearest
from embellish.formats.photos import read_photo
from embellish.job.model import Job, LayTable
from embellish.job.reading_files import bytes_of
from embellish.layout.ways.pictures import Picture, PictureTable

_TABLES = ("mosaic", "fade", "blend")
"""Settings of ways that may go by a picture."""


def pictures_of(job: Job) -> tuple[str, ...]:
    """Return the files of the pictures that lays go by."""
    found = (table.picture for lay in job.lay for _, table in _tables(lay))
    return tuple(dict.fromkeys(picture.file for picture in found if picture is not None))


def with_pictures(path: Path, job: Job) -> Job:
    """Return a job with the pictures that its lays go by opened, each once.

    Raises
    ------
    ArtworkError
        Where one cannot be read.
    """
    held: dict[str, Picture] = {}

    def opened(picture: Picture) -> Picture:
        if picture.file not in held:
            file = path.parent / picture.file
            photo = read_photo(bytes_of(file, ArtworkError, "picture"), str(file))
            held[picture.file] = Picture.of(picture.file, np.asarray(photo.image))
        return held[picture.file]

    if not pictures_of(job):
        return job
    return job.model_copy(update={"lay": tuple(_lay_with(lay, opened) for lay in job.lay)})


def _lay_with(lay: LayTable, opened: Callable[[Picture], Picture]) -> LayTable:
    update = {
        name: table.model_copy(update={"picture": opened(table.picture)})
        for name, table in _tables(lay)
        if table.picture is not None
    }
    if not update:
        return lay
    return lay.model_copy(update={"settings": lay.settings.model_copy(update=update)})


def _tables(lay: LayTable) -> Iterator[tuple[str, PictureTable]]:
    for name in _TABLES:
        table = getattr(lay.settings, name, None)
        if isinstance(table, PictureTable) and table.picture is not None:
            yield name, table


def with_patterns(job: Job, catalogue: Catalogue) -> Job:
    """Return a job whose lays name each piece of a pattern, such as ``R-SS10-*``, by its code.

    Raises
    ------
    JobError
        Where no piece is called so.
    """
    return job.model_copy(update={"lay": tuple(_spelt(lay, catalogue) for lay in job.lay)})


def _spelt(lay: LayTable, catalogue: Catalogue) -> LayTable:
    if isinstance(lay.pieces, dict) or not any("*" in name for name in lay.pieces):
        return lay
    found: dict[str, None] = {}
    for name in lay.pieces:
        codes = [name]
        if "*" in name and name not in catalogue.pieces:
            codes = [code for code in catalogue.pieces if fnmatchcase(code, name)]
        if not codes:
            raise JobError(
                f"no piece of this job's catalogues is called like '{name}'",
                item=f"lay '{lay.id}'",
                mend=nearest(name, catalogue.pieces) or "Look with: embellish catalogue list.",
            )
        found.update(dict.fromkeys(codes))
    return lay.model_copy(update={"pieces": tuple(found)})
