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
from collections.abc import Iterator, Mapping
from pathlib import Path

from filelock import FileLock, Timeout

from embellish.errors import OutputError

MADE = "made.json"
_PENDING = ".placing.json"
_BUILD = ".building"
_LOCK = ".lock"


def place(files: Mapping[str, bytes], out: Path, *, wait_s: float = 60.0) -> None:
    """Place files (relative POSIX name -> content) and made.json into the folder ``out``.

    Files of the last run that are unchanged and no longer made are removed.

    Raises
    ------
    OutputError
        Where another file is in the way, another run holds the folder, or the disk refuses;
        then every file in the folder is still a whole one.
    """
    with _held(out, wait_s):
        try:
            _place(files, out)
        except OSError as wrong:
            raise OutputError(
                f"cannot write here: {wrong.strerror or wrong}",
                file=str(wrong.filename or out),
                mend="Free some space or choose another folder with --out.",
            ) from wrong
        finally:
            shutil.rmtree(out / _BUILD, ignore_errors=True)


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


def replace_file(path: Path, content: bytes) -> None:
    """Write one file whole: on disk it is the old one or the new one.

    Raises
    ------
    OutputError
        Where the disk refuses.
    """
    beside = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_whole(beside, content)
        beside.replace(path)
    except OSError as wrong:
        beside.unlink(missing_ok=True)
        raise OutputError(
            f"cannot write: {wrong.strerror or wrong}",
            file=str(path),
            mend="Choose another place you may write to.",
        ) from wrong


def _place(files: Mapping[str, bytes], out: Path) -> None:
    build = out / _BUILD
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
        _write_whole(build / name, content)
    pending = {name: sorted(ours.get(name, set()) | {new.get(name, "")}) for name in {*ours, *new}}
    _write_whole(build / _PENDING, json.dumps(pending, sort_keys=True).encode())
    (build / _PENDING).replace(out / _PENDING)
    for name in sorted(new):
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        (build / name).replace(out / name)
    _remove_stale(new, ours, out)
    (build / MADE).replace(out / MADE)
    (out / _PENDING).unlink(missing_ok=True)


@contextlib.contextmanager
def _held(out: Path, wait_s: float) -> Iterator[None]:
    """Hold the folder for one run at a time; the system lets go of it if we are killed."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        lock = FileLock(out / _LOCK, timeout=wait_s)
        lock.acquire()
    except Timeout as wrong:
        raise OutputError(
            "another run is writing into this folder",
            file=str(out),
            mend="Wait for it to end, or choose another folder with --out.",
        ) from wrong
    except (OSError, NotImplementedError) as wrong:
        raise OutputError(
            f"cannot write here: {getattr(wrong, 'strerror', None) or wrong}",
            file=str(out),
            mend="Choose a folder you may write to with --out.",
        ) from wrong
    try:
        yield
    finally:
        lock.release()


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
        if not os.path.lexists(path):
            continue
        if path.is_symlink() or not path.is_file():
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


def _remove_stale(new: Mapping[str, str], ours: Mapping[str, set[str]], out: Path) -> None:
    for name in sorted(set(ours) - set(new)):
        path = out / name
        # made.json may have been edited by hand: never follow a name out of the folder.
        if ".." in Path(name).parts or Path(name).is_absolute() or path.is_symlink():
            continue
        if path.is_file() and _sha256(path.read_bytes()) in ours[name]:
            path.unlink()
            with contextlib.suppress(OSError):
                if path.parent != out:
                    path.parent.rmdir()


def _write_whole(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
