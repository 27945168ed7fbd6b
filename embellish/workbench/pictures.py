"""Pictures dropped on the page: put beside the job under a safe name, and named in the job."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from embellish.errors import EmbellishError, JobError
from embellish.formats.photos import read_photo
from embellish.formats.tables import parsed_toml
from embellish.workbench.changes import SetValue
from embellish.workbench.desk import Desk
from embellish.workbench.handed import handed_file
from embellish.workbench.starting import place_beside

_OF_LAYS: Final = ("mosaic", "fade", "blend")
_GARMENT_MM: Final = 400.0
"""How wide a piece of garment a photo shows, until it is said: about the front of a shirt."""


@dataclass(frozen=True)
class PictureUse:
    """What a picture is for: the garment (``background``), or a table of a lay."""

    table: str
    lay: str = ""


def picture_for(table: str, lay: str) -> PictureUse:
    """Return what a picture is asked to be for.

    Raises
    ------
    EmbellishError
        Where there is no such use.
    """
    if table == "background" and not lay:
        return PictureUse(table)
    if table in _OF_LAYS and lay:
        return PictureUse(table, lay)
    raise EmbellishError("there is no such use of a picture")


def placed_picture(
    desk: Desk, use: PictureUse, name: str, content: bytes
) -> tuple[list[SetValue], str]:
    """Put a picture beside a job; return the changes that make the job use it, and their words.

    Raises
    ------
    EmbellishError
        Where it is no picture, or the lay is not there; then nothing is put on disk.
    """
    folder = desk.path.parent
    job = parsed_toml(desk.text.encode(), desk.path.name, JobError)
    at, held = _table(job, use)
    picture = handed_file(name, content)
    read_photo(content, picture.told)
    there = _same(folder, content, [held.get("file"), held.get("picture")])
    file = there or place_beside(folder, picture).name
    return _changes(at, held, use, file), "a photo of the garment" if not use.lay else (
        f"a picture for {use.lay}"
    )


def _table(job: dict[str, Any], use: PictureUse) -> tuple[list[str | int], dict[str, Any]]:
    if not use.lay:
        return ["background"], job.get("background") or {}
    for lay in job.get("lay", ()):
        if lay.get("id") == use.lay:
            return ["lay", use.lay, use.table], lay.get(use.table) or {}
    raise JobError(f"there is no lay '{use.lay}' any more", mend="It was taken out.")


def _same(folder: Path, content: bytes, names: list[str | None]) -> str | None:
    """Return the name of the picture that the job has there already, where it is this one."""
    for name in filter(None, names):
        with contextlib.suppress(OSError):
            if (folder / name).read_bytes() == content:
                return name
    return None


def _changes(
    at: list[str | int], held: dict[str, Any], use: PictureUse, file: str
) -> list[SetValue]:
    def put(key: str, value: Any) -> SetValue:
        return SetValue(do="set", at=[*at, key], value=value)

    if not use.lay:
        placed = "width_mm" in held or "points_px" in held
        return [put("file", file), *([] if placed else [put("width_mm", _GARMENT_MM)])]
    if use.table == "mosaic":
        return [put("picture", file)]
    # The former course goes out: a picture has a place of its own, or none.
    table: dict[str, Any] = {"kind": "picture", "picture": file}
    table |= {key: held[key] for key in ("reverse", "least", "mixes") if key in held}
    return [SetValue(do="set", at=at, value=table)]
