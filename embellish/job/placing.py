"""Put a set of made files into a folder whole: a file there is the old one or the new one.

Everything is first written into a temporary folder inside the target (so on the same disk), then
moved into place one file at a time, made.json last. A kill at any moment leaves whole files, and
the next run tells its own from anybody else's by made.json and, where a run was cut short, by the
list of what that run was about to place.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from embellish.errors import OutputError
from embellish.job.disk import (
    folder_for,
    held,
    refusal,
    stopping_only_where_asked,
    sync_folder,
    write_through,
)

MADE = "made.json"
_PENDING = ".placing.json"
_BUILD = ".building"
_LOCK = ".lock"

_ELSEWHERE = "Choose another folder you may write to, with --out."
_ATTEMPTS = 20
_CUT_SHORT = (
    "; some files are of this run and the others of the last, each of them whole, and the same"
    " command once more will put it right"
)


def place(files: Mapping[str, bytes], out: Path, *, wait_s: float = 60.0) -> None:
    """Place files (relative POSIX name -> content) and made.json into the folder ``out``.

    Files of the last run that are unchanged and no longer made are removed. Where it raises,
    nothing was changed, unless the error says so; no lock and no temporary file stays, nor a
    folder that was not there.

    Raises
    ------
    OutputError
        Where another file is in the way, another run holds the folder, or the disk refuses;
        then every file in the folder is still a whole one.
    KeyboardInterrupt
        Where the user stops it: before a file was moved, or, with words, after all were.
    """
    moving = False
    try:
        with (
            stopping_only_where_asked(f"all files were already in {out}") as stop_here,
            _folder_held(out, wait_s, stop_here),
            contextlib.ExitStack() as folders,
        ):
            try:
                run = _build(files, out, stop_here)
                for name in run.new:
                    folders.enter_context(folder_for((out / name).parent))
                _announce(out)
                moving = True
                _move(run, out)
            finally:
                shutil.rmtree(out / _BUILD, ignore_errors=True)
    except OSError as wrong:
        left = _CUT_SHORT if moving else ""
        raise refusal(wrong, Path(wrong.filename or out), _ELSEWHERE, left=left) from wrong


def refuse_beside(out: Path, job: Path) -> None:
    """Raise where outputs would be mixed with the job and its artwork.

    Raises
    ------
    OutputError
        Where the folder is the job's own.
    """
    if out.resolve() == job.resolve().parent:
        raise OutputError(
            "this is the job's own folder",
            file=str(out),
            mend="Name a folder of its own with --out, such as --out made.",
        )


def replace_file(path: Path, content: bytes, *, wait_s: float = 60.0) -> None:
    """Write one file whole: on disk it is the old one or the new one.

    Raises
    ------
    OutputError
        Where the disk refuses; nothing was changed then.
    """
    with _written_beside(path, content, wait_s) as beside:
        beside.replace(path)


def change_file(path: Path, change: Callable[[bytes], bytes], *, wait_s: float = 60.0) -> None:
    """Write one file anew from what stands in it, with nobody else changing it in between.

    Parameters
    ----------
    change
        What stands there, nothing where there is no file, to what shall stand there.

    Raises
    ------
    OutputError
        Where the disk refuses or another run holds the file; nothing was changed then, nor where
        ``change`` raises.
    """
    with _one_writer(path, wait_s):
        content = change(path.read_bytes() if path.exists() else b"")
        with _beside(path, content) as beside:
            beside.replace(path)


T = TypeVar("T")


def change_list(
    path: Path,
    read: Callable[[bytes, str], T],
    nothing: T,
    add_to: Callable[[bytes, T], bytes],
) -> T:
    """Add to a list by what stands in it, with nobody else changing it in between.

    What was written is what the next run reads, or it is not written.

    Parameters
    ----------
    read
        Reads the list of this name.
    nothing
        What it is where there is none yet.
    add_to
        The bytes that stand there and what they mean, to the bytes that shall stand there.

    Returns
    -------
        What the list is then.

    Raises
    ------
    EmbellishError
        Where the list cannot be read, or the disk refuses; nothing was changed then.
    """
    read_back: list[T] = []

    def change(data: bytes) -> bytes:
        held = data if data.strip() else b""
        written = add_to(held, read(held, str(path)) if held else nothing)
        read_back.append(read(written, str(path)) if written else nothing)
        return written

    change_file(path, change)
    return read_back[-1]


def create_file(path: Path, content: bytes, mend: str, *, wait_s: float = 60.0) -> None:
    """Write one file whole where there is none: nothing on disk is ever written over.

    Parameters
    ----------
    mend
        What to do where there is a file of that name.

    Raises
    ------
    OutputError
        Where there is one, or the disk refuses; nothing was changed then.
    """
    there = OutputError("there is a file of this name", file=str(path), mend=mend)
    if os.path.lexists(path):
        raise there
    with _written_beside(path, content, wait_s) as beside:
        try:
            # Unlike a rename, a link is never made over a file that came in the meantime.
            path.hardlink_to(beside)
        except FileExistsError:
            raise there from None
        except OSError:  # no links on this disk
            if os.path.lexists(path):
                raise there from None
            beside.rename(path)


@contextlib.contextmanager
def _written_beside(path: Path, content: bytes, wait_s: float) -> Iterator[Path]:
    """Give the content as a file beside the one it is to become; it does not stay."""
    with _one_writer(path, wait_s), _beside(path, content) as beside:
        yield beside


@contextlib.contextmanager
def _one_writer(path: Path, wait_s: float) -> Iterator[None]:
    """Hold a file for one run at a time, and tell what the disk refuses in our words."""
    if not path.name:
        raise OutputError("this is a folder", file=str(path), mend="Name a file in it.")
    busy = OutputError(
        "another run is writing this file", file=str(path), mend="Wait for it to end."
    )
    try:
        with (
            stopping_only_where_asked(f"{path} was already written") as stop_here,
            folder_for(path.parent),
            held(path.with_name(f".{path.name}.lock"), wait_s, busy, stop_here),
        ):
            yield
    except OSError as wrong:
        raise refusal(wrong, path, "Choose another place you may write to.") from wrong


@contextlib.contextmanager
def _beside(path: Path, content: bytes) -> Iterator[Path]:
    beside = path.with_name(f".{path.name}.new")
    try:
        write_through(beside, content)
        yield beside
        sync_folder(path.parent)
    finally:
        beside.unlink(missing_ok=True)


@dataclass(frozen=True)
class _Run:
    """One placing: hashes of the files it makes, and by which files are known to be ours."""

    new: dict[str, str]
    ours: dict[str, set[str]]


def _build(files: Mapping[str, bytes], out: Path, stop_here: Callable[[], None]) -> _Run:
    """Write everything into the temporary folder; nothing of the user's is touched."""
    build = out / _BUILD
    if build.is_symlink():
        build.unlink()
    shutil.rmtree(build, ignore_errors=True)
    ours = _known(out)
    new = {name: _sha256(content) for name, content in files.items()}
    _refuse_strangers(new, ours, out)
    made = json.dumps(
        {
            "format": "embellish-made",
            "version": 1,
            "files": [{"name": name, "sha256": new[name]} for name in sorted(new)],
        },
        indent=1,
    )
    for name, content in {**files, MADE: made.encode() + b"\n"}.items():
        stop_here()
        write_through(build / name, content)
    pending = {name: sorted(ours.get(name, set()) | {new.get(name, "")}) for name in {*ours, *new}}
    write_through(build / _PENDING, json.dumps(pending, sort_keys=True).encode())
    return _Run(new, ours)


def _announce(out: Path) -> None:
    """Say which files are about to come, so that a run cut short from here on knows its own."""
    (out / _BUILD / _PENDING).replace(out / _PENDING)
    sync_folder(out)


def _move(run: _Run, out: Path) -> None:
    build = out / _BUILD
    for name in sorted(run.new):
        (build / name).replace(out / name)
    _remove_stale(run, out)
    for folder in {(out / name).parent for name in run.new}:
        sync_folder(folder)
    (build / MADE).replace(out / MADE)
    sync_folder(out)
    with contextlib.suppress(OSError):  # all is done; a list that stays does no harm
        (out / _PENDING).unlink()


@contextlib.contextmanager
def _folder_held(out: Path, wait_s: float, stop_here: Callable[[], None]) -> Iterator[None]:
    """Hold the folder for one run at a time."""
    busy = OutputError(
        "another run is writing into this folder",
        file=str(out),
        mend="Wait for it to end, or choose another folder with --out.",
    )
    for attempt in range(_ATTEMPTS):
        with contextlib.ExitStack() as stack:
            try:
                stack.enter_context(folder_for(out))
                stack.enter_context(held(out / _LOCK, wait_s, busy, stop_here))
            except FileNotFoundError:
                # A run that made the folder and was refused has just taken it away again.
                if attempt + 1 == _ATTEMPTS:
                    raise
                continue
            yield
            return


def _known(out: Path) -> dict[str, set[str]]:
    """Return the hashes by which files in the folder are known to be ours."""
    known: dict[str, set[str]] = {}
    try:
        made = json.loads((out / MADE).read_bytes())
        for entry in made["files"]:
            known.setdefault(str(entry["name"]), set()).add(str(entry["sha256"]))
    except FileNotFoundError:
        pass
    except (ValueError, KeyError, TypeError) as wrong:
        raise OutputError(
            "this is not a list of files that embellish made",
            file=str(out / MADE),
            mend="Move it away, or choose another folder with --out.",
        ) from wrong
    with contextlib.suppress(FileNotFoundError, ValueError, AttributeError, TypeError):
        for name, hashes in json.loads((out / _PENDING).read_bytes()).items():
            known.setdefault(name, set()).update(hashes)
    return known


def _refuse_strangers(new: Mapping[str, str], ours: Mapping[str, set[str]], out: Path) -> None:
    for name in sorted(new):
        path = out / name
        if any((out / folder).is_symlink() for folder in Path(name).parents[:-1]):
            stranger = "a folder on the way is a link to another one"
        elif not os.path.lexists(path):
            continue
        elif path.is_symlink() or not path.is_file():
            stranger = "something that is not a plain file is in the way"
        elif _sha256(path.read_bytes()) in ours.get(name, set()) | {new[name]}:
            continue
        elif name in ours:
            stranger = "this file was changed since it was made, and would be overwritten"
        else:
            stranger = "a file that embellish did not make is in the way"
        raise OutputError(
            stranger, file=str(path), mend="Move it away, or choose another folder with --out."
        )


def _remove_stale(run: _Run, out: Path) -> None:
    for name in sorted(set(run.ours) - set(run.new)):
        path = out / name
        # made.json may have been edited by hand: never follow a name out of the folder.
        if ".." in Path(name).parts or Path(name).is_absolute() or path.is_symlink():
            continue
        if path.is_file():
            if _sha256(path.read_bytes()) not in run.ours[name]:
                continue
            path.unlink()
        with contextlib.suppress(OSError):
            for folder in path.relative_to(out).parents[:-1]:
                (out / folder).rmdir()


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
