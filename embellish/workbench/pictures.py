"""Pictures dropped on the page: put beside the job under a safe name, and named in the job."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from embellish.errors import EmbellishError, JobError
from embellish.formats.photos import read_photo
from embellish.formats.tables import parsed_toml
from embellish.job.text.changes import SetValue
from embellish.workbench.desk import Desk
from embellish.workbench.handed import handed_file
from embellish.workbench.starting import place_beside

NOT_BESIDE_FADE: Final = ("density", "count", "sizes", "packing")
"""What says how dense a lay is: thinning out says that itself."""

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
    held = _table(job, use)
    picture = handed_file(name, content)
    read_photo(content, picture.told)
    there = _same(folder, content, [held.get("file"), held.get("picture")])
    file = there or place_beside(folder, picture).name
    if not use.lay:
        return _of_garment(held, file), "a photo of the garment"
    return _of_lay(job, use, held, file), f"a picture for {use.lay}"


def _table(job: dict[str, Any], use: PictureUse) -> dict[str, Any]:
    if not use.lay:
        return job.get("background") or {}
    return _lay(job, use).get(use.table) or {}


def _lay(job: dict[str, Any], use: PictureUse) -> dict[str, Any]:
    for lay in job["lay"]:
        if lay["id"] == use.lay:
            found: dict[str, Any] = lay
            return found
    raise JobError(f"there is no lay '{use.lay}' any more", mend="It was taken out.")


def _same(folder: Path, content: bytes, names: list[str | None]) -> str | None:
    """Return the name of the picture that the job has there already, where it is this one."""
    for name in filter(None, names):
        with contextlib.suppress(OSError):
            if (folder / name).read_bytes() == content:
                return name
    return None


def _of_garment(held: dict[str, Any], file: str) -> list[SetValue]:
    changes = [SetValue(do="set", at=["background", "file"], value=file)]
    if "width_mm" not in held and "points_px" not in held:
        changes.append(SetValue(do="set", at=["background", "width_mm"], value=_GARMENT_MM))
    return changes


def _of_lay(
    job: dict[str, Any], use: PictureUse, held: dict[str, Any], file: str
) -> list[SetValue]:
    """Return the changes that have a lay go by a picture; what it cannot have beside goes out."""
    lay = _lay(job, use)
    codes = list(lay["pieces"])

    def put(key: str, value: Any) -> SetValue:
        return SetValue(do="set", at=["lay", use.lay, key], value=value)

    if use.table == "mosaic":
        table = {**held, "picture": file}
    else:
        # The former course goes out: a picture has a place of its own, or none.
        table = {"kind": "picture", "picture": file}
        table |= {key: held[key] for key in ("reverse", "least", "mixes") if key in held}
    if use.table == "blend":
        table.setdefault("mixes", [{codes[0]: 1}, {codes[-1]: 1}])
    changes = [put(use.table, table)]
    if use.table == "fade":
        changes += [put(key, None) for key in NOT_BESIDE_FADE if key in lay]
    else:
        changes.append(put("pieces", codes))
    if use.table == "mosaic" and lay.get("symmetric", job.get("symmetric", False)):
        # Halves that are alike show no picture.
        changes.append(SetValue(do="set", at=["lay", use.lay, "symmetric"], value=False))
    return changes
