"""The catalogues that travel with the package: folders of TOML, no code."""

from __future__ import annotations

from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from embellish.catalogue.contents import Catalogue
from embellish.catalogue.reading import read_catalogue
from embellish.errors import CatalogueError
from embellish.formats.tables import nearest

PREFIX = "shipped:"
"""What a job file writes before the name of a shipped catalogue."""


def shipped_names(folder: str = "pieces") -> tuple[str, ...]:
    """Return the names of what is shipped in one folder, sorted."""
    there = _folder(folder)
    return tuple(
        sorted(each.name.removesuffix(".toml") for each in there.iterdir() if _is_toml(each))
    )


def shipped_bytes(name: str, folder: str = "pieces") -> bytes:
    """Return the bytes of one shipped file; ``name`` has no suffix.

    Raises
    ------
    CatalogueError
        There is none of that name; all there are are listed.
    """
    names = shipped_names(folder)
    if name not in names:
        close = nearest(name, names)
        every = f"Shipped are: {', '.join(names)}."
        raise CatalogueError(
            f"no catalogue '{name}' is shipped",
            item=f"{PREFIX}{name}",
            mend=f"{close} {every}" if close.startswith("Did") else every,
        )
    return (_folder(folder) / f"{name}.toml").read_bytes()


@cache
def shipped(name: str) -> Catalogue:
    """Return a shipped catalogue: ``shipped("stones")``, or ``shipped("shipped:stones")``.

    Read once: a workbench opens the job anew at every change.

    Raises
    ------
    CatalogueError
        There is none of that name.
    """
    plain = name.removeprefix(PREFIX)
    return read_catalogue(shipped_bytes(plain), f"{PREFIX}{plain}")


def _is_toml(each: Traversable) -> bool:
    return each.is_file() and each.name.endswith(".toml")


def _folder(folder: str) -> Traversable:
    try:
        there = resources.files("embellish.shipped") / folder
        if there.is_dir():
            return there
    except (ModuleNotFoundError, FileNotFoundError):
        pass
    # A checkout that is not installed: the data stands beside the package.
    beside = Path(__file__).resolve().parents[2] / "catalogues" / folder
    if not beside.is_dir():
        raise CatalogueError(
            f"the shipped {folder} are missing",
            mend="The installation is not whole: install embellish again.",
        )
    return beside
