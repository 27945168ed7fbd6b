"""Large catalogues remembered between one run and the next, in the user's cache folder.

Nothing depends on what is there: it may be deleted at any time, and what is missing, damaged, not
ours or cannot be written is passed over without a word.
"""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Final

from embellish.catalogue.catalogue import Catalogue, read_catalogue
from embellish.catalogue.stored import restored, stored, stored_name

FOLDER: Final = "EMBELLISH_CACHE"
"""The environment's word for another folder; empty for none."""
LEAST_BYTES: Final = 100_000
"""Smaller files are read as fast as they are remembered."""
_MOST_BYTES: Final = 64_000_000
_MOST_KEPT: Final = 12
_END: Final = ".catalogue"


def cache_folder() -> Path | None:
    """Return where this system keeps what can be made again, or None where there is no place."""
    named = os.environ.get(FOLDER)
    if named is not None:
        return Path(named) if named else None
    try:
        home = Path.home()
    except RuntimeError:
        return None
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        # The base directory rules of freedesktop.org: a path that is not absolute is passed over.
        base = Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache")
        base = base if base.is_absolute() else home / ".cache"
    return base / "embellish"


@lru_cache(maxsize=8)
def remembered_catalogue(data: bytes, name: str) -> Catalogue:
    """Return the catalogue of a file's bytes, from memory where these very bytes were read before.

    Raises
    ------
    CatalogueError
        As `read_catalogue`; only what could be read is remembered.
    """
    folder = cache_folder() if len(data) >= LEAST_BYTES else None
    if folder is None:
        return read_catalogue(data, name)
    path = folder / f"{stored_name(data)}{_END}"
    found = _recalled(path, name)
    if found is None:
        found = read_catalogue(data, name)
        _keep(path, stored(found))
    return found


def _recalled(path: Path, name: str) -> Catalogue | None:
    try:
        if path.stat().st_size > _MOST_BYTES:
            return None
        data = path.read_bytes()
        os.utime(path)
    except OSError:
        return None
    return restored(data, name)


def _keep(path: Path, content: bytes) -> None:
    """Write whole or not at all, and let the files longest unused go."""
    if len(content) > _MOST_BYTES:
        return
    with contextlib.suppress(OSError):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=path.parent, suffix=".new")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(beside).replace(path)
        finally:
            Path(beside).unlink(missing_ok=True)
        kept = sorted(path.parent.glob(f"*{_END}"), key=lambda each: -each.stat().st_mtime)
        for each in kept[_MOST_KEPT:]:
            each.unlink(missing_ok=True)
