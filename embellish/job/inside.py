"""Names of files that lie in a job's folder."""

from __future__ import annotations

import os
from pathlib import Path, PurePosixPath


def inside(name: str) -> str | None:
    """Return a name with its path from the job's folder, or None where it lies elsewhere."""
    plain = os.path.normpath(name).replace(os.sep, "/")
    path = PurePosixPath(plain)
    if Path(name).is_absolute() or path.is_absolute() or ".." in path.parts:
        return None
    return None if any(sign in plain for sign in "\\:") else plain


def leads_inside(folder: Path, name: str) -> bool:
    """Tell whether a name leads to a place in a folder, also through links."""
    plain = inside(name)
    if plain is None or "\0" in plain:
        return False
    return (folder / plain).resolve().is_relative_to(folder.resolve())
