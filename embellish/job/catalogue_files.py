"""The edge where catalogues are read; whoever only searches one needs nothing of drawings."""

from __future__ import annotations

from pathlib import Path

from embellish.catalogue.catalogue import Catalogue, merged, shipped
from embellish.catalogue.shipped import PREFIX, shipped_names
from embellish.errors import CatalogueError
from embellish.job.catalogue_memory import remembered_catalogue
from embellish.job.reading_files import bytes_of


def open_catalogue(name: str, beside: Path | None = None) -> Catalogue:
    """Open ``shipped:NAME``, or a catalogue file, by a path from ``beside``.

    Raises
    ------
    CatalogueError
        Where there is none, or it cannot be read.
    """
    if name.startswith(PREFIX):
        return shipped(name.removeprefix(PREFIX))
    path = (beside or Path()) / name
    return remembered_catalogue(bytes_of(path, CatalogueError, "catalogue"), str(path))


def open_catalogues(name: str) -> Catalogue:
    """Open one catalogue, or all the shipped ones together where none is named."""
    if name:
        return open_catalogue(name)
    return merged([shipped(each) for each in shipped_names("pieces")])[0]
