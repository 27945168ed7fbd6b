"""A first job from what is dropped on the page; nothing in the folder is written over."""

from __future__ import annotations

import contextlib
from pathlib import Path, PurePosixPath

from embellish.errors import ArtworkError, EmbellishError, OutputError
from embellish.job.names import safe_names
from embellish.job.placing import create_file
from embellish.job.starting import start_job

_TRIES = 1000


def new_job(shelf: Path, name: str, content: bytes, width_mm: float | None, catalogue: str) -> Path:
    """Put a drawing into the folder and write a first job beside it.

    Parameters
    ----------
    shelf
        The folder.
    name
        The drawing's name as the page knows it; only its last part counts, made safe.
    content
        Its bytes.
    width_mm
        How wide it shall be, where it does not say itself or should be otherwise.
    catalogue
        The catalogue to begin with.

    Raises
    ------
    EmbellishError
        Where the drawing cannot be read or has no size; the folder is then as it was.
    """
    drawing = _placed(shelf, name, content)
    try:
        job, _ = start_job(drawing, None, catalogue, width_mm)
    except BaseException as wrong:
        with contextlib.suppress(OSError):
            drawing.unlink()
        if isinstance(wrong, EmbellishError):
            # The page knows it by the name it gave.
            raise type(wrong)(
                wrong.message, file=PurePosixPath(name).name, item=wrong.item, mend=wrong.mend
            ) from wrong
        raise
    return job


def _placed(shelf: Path, name: str, content: bytes) -> Path:
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    stem, dot, ending = last.rpartition(".")
    if not dot or not ending.isascii() or not ending.isalnum() or len(ending) > 8:
        raise ArtworkError(
            "this drawing's name has no ending that tells its kind",
            file=last,
            mend="Name it .svg, .dxf, or by the machine format or picture it is.",
        )
    (safe,) = safe_names([stem])
    for number in range(1, _TRIES):
        tried = safe if number == 1 else f"{safe}-{number}"
        path = shelf / f"{tried}.{ending.lower()}"
        if path.exists() or path.with_suffix(".toml").exists():
            continue
        with contextlib.suppress(OutputError):
            create_file(path, content, "")
            return path
        if not path.exists():  # the disk refuses: say so in its own words
            create_file(path, content, "")
    raise OutputError("there are too many drawings of this name", file=last, mend="Rename it.")
