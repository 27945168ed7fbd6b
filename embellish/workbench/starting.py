"""A first job from what is dropped on the page; nothing in the folder is written over."""

from __future__ import annotations

import contextlib
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path, PurePosixPath

from embellish.errors import ArtworkError, EmbellishError
from embellish.job.names import safe_names
from embellish.job.placing import create_file
from embellish.job.starting import start_job, start_words

_LETTERS = "single-line:futural"
_EXAMPLE = "moth"


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
    path = shelf / f"{_free(shelf, safe_names([stem])[0])}.{ending.lower()}"
    create_file(path, content, "Choose it once more.")
    return path


def words_job(shelf: Path, text: str, cap_height_mm: float, catalogue: str) -> Path:
    """Write a first job for words in letters of single lines.

    Raises
    ------
    EmbellishError
        Where they cannot be set.
    """
    path = shelf / f"{_free(shelf, safe_names([text])[0])}.toml"
    return start_words(text, _LETTERS, cap_height_mm, path, catalogue)[0]


def example_job(shelf: Path) -> Path:
    """Put the example's drawing and job into the folder, or return the job that is there already.

    Raises
    ------
    EmbellishError
        Where the disk refuses.
    """
    folder = _examples() / _EXAMPLE
    drawing, job = ((folder / f"{_EXAMPLE}{end}").read_bytes() for end in (".svg", ".toml"))
    there = [shelf / f"{_EXAMPLE}{end}" for end in (".svg", ".toml")]
    if all(path.exists() for path in there) and there[0].read_bytes() == drawing:
        return there[1]
    stem = _free(shelf, _EXAMPLE)
    create_file(shelf / f"{stem}.svg", drawing, "")
    path = shelf / f"{stem}.toml"
    create_file(path, job.replace(f"{_EXAMPLE}.svg".encode(), f"{stem}.svg".encode()), "")
    return path


def _free(shelf: Path, stem: str) -> str:
    """Return a name that no job or drawing of the folder has."""
    taken = {path.stem.casefold() for path in shelf.iterdir()}
    number, tried = 1, stem
    while tried.casefold() in taken:
        number += 1
        tried = f"{stem}-{number}"
    return tried


def _examples() -> Traversable:
    try:
        there = resources.files("embellish.examples")
        if (there / _EXAMPLE).is_dir():
            return there
    except ModuleNotFoundError:
        pass
    # A checkout that is not installed: the demos stand beside the package.
    return Path(__file__).resolve().parents[2] / "demos"
