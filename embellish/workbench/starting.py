"""A first job from what is handed in at the page; nothing in the folder is written over."""

from __future__ import annotations

import contextlib
import posixpath
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from embellish.errors import EmbellishError, JobError
from embellish.job.files import named_files
from embellish.job.names import safe_names
from embellish.job.placing import create_file
from embellish.job.reading import read_job
from embellish.job.starting import start_job, start_words
from embellish.job.unbundling import opened_bundle, put_down
from embellish.workbench.handed import HandedFile

_EXAMPLE = "moth"


def drawing_job(
    shelf: Path, drawing: HandedFile, width_mm: float | None, catalogue: HandedFile | str
) -> Path:
    """Put a drawing into the folder and write a first job beside it.

    Parameters
    ----------
    shelf
        The folder.
    width_mm
        How wide it shall be, where it does not say itself or should be otherwise.
    catalogue
        The catalogue to begin with: a shipped one's name, or a file that is put there too.

    Raises
    ------
    EmbellishError
        Where the drawing cannot be read or has no size; the folder is then as it was.
    """
    with _putting(shelf) as put:
        path = put(drawing)
        return start_job(path, None, _named(catalogue, put), width_mm)[0]


def words_job(
    shelf: Path,
    text: str,
    font: HandedFile | str,
    cap_height_mm: float,
    catalogue: HandedFile | str,
) -> Path:
    """Write a first job for words, in a font file that is put beside it or single-line letters.

    Raises
    ------
    EmbellishError
        Where they cannot be set; the folder is then as it was.
    """
    with _putting(shelf) as put:
        path = shelf / f"{_free(shelf, safe_names([text])[0])}.toml"
        named = _named(font, put)
        return start_words(text, named, cap_height_mm, path, _named(catalogue, put))[0]


def brought_job(shelf: Path, files: Sequence[HandedFile]) -> Path:
    """Put a job from elsewhere into a folder of its own: a bundle, or a job with all it names.

    Raises
    ------
    EmbellishError
        Where there is no job among them, or a file that it names is not.
    """
    if len(files) == 1 and files[0].ending == "zip":
        name, held = opened_bundle(files[0].content, files[0].told)
        out = shelf / _free(shelf, files[0].stem)
        put_down(held, out)
        return out / name
    jobs = [file for file in files if file.ending == "toml" and _is_job(file)]
    if len(jobs) != 1:
        told = "there is no job among these files" if not jobs else "these are several jobs"
        raise JobError(told, mend="Choose one job (.toml) with the files it names, or a bundle.")
    job = jobs[0]
    named = named_files(read_job(job.content, job.told))
    given = {file.told: file.content for file in files}
    held = {job.name: job.content}
    for name in named:
        last = posixpath.basename(name)
        inside = posixpath.normpath(name)
        if last not in given or inside.startswith(("..", "/")) or ":" in inside:
            raise JobError(
                f"the job names '{name}', which was not chosen with it",
                file=job.told,
                mend=f"Choose {job.told} and {last} together.",
            )
        held[inside] = given[last]
    out = shelf / _free(shelf, job.stem)
    put_down(held, out)
    return out / job.name


def _is_job(file: HandedFile) -> bool:
    return b"[[lay]]" in file.content or b"[artwork]" in file.content


def _named(file: HandedFile | str, put: Callable[[HandedFile], Path]) -> str:
    return file if isinstance(file, str) else str(put(file))


@contextmanager
def _putting(shelf: Path) -> Iterator[Callable[[HandedFile], Path]]:
    """Put files into the folder, under names that are free; out again where what follows fails."""
    there: list[tuple[Path, HandedFile]] = []

    def put(file: HandedFile) -> Path:
        path = shelf / file.name
        if path.exists() and path.read_bytes() == file.content and _lasting(file):
            return path  # a font or list that stands there already, as it is
        path = place_beside(shelf, file)
        there.append((path, file))
        return path

    try:
        yield put
    except BaseException as wrong:
        for path, _ in there:
            with contextlib.suppress(OSError):
                path.unlink()
        if isinstance(wrong, EmbellishError):
            # The page knows each by the name it gave.
            told = next((file.told for path, file in there if str(path) == wrong.file), wrong.file)
            raise type(wrong)(wrong.message, file=told, item=wrong.item, mend=wrong.mend) from wrong
        raise


def place_beside(shelf: Path, file: HandedFile) -> Path:
    """Put a file into the folder under a name that is free there; return where."""
    path = shelf / f"{_free(shelf, file.stem)}.{file.ending}"
    create_file(path, file.content, "Choose it once more.")
    return path


def _lasting(file: HandedFile) -> bool:
    """Whether several jobs of a folder may share a file; each has a drawing of its own."""
    return file.ending in {"ttf", "otf", "woff", "woff2", "toml"}


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
