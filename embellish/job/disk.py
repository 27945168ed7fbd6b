"""What writing whole files takes: held folders, files written through, refusals told plainly."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import threading
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

from filelock import FileLock, Timeout

from embellish.errors import OutputError


def write_through(path: Path, content: bytes) -> None:
    """Write a file and have the disk take it, so that a later rename moves a whole file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Have the disk take the renames in a folder before any later ones, where it can be told to."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def folder_for(path: Path) -> Iterator[None]:
    """Make a folder and those above it; those made here that stay empty go again."""
    missing = [each for each in (path, *path.parents) if not each.exists()]
    try:
        for each in reversed(missing):
            each.mkdir(exist_ok=True)
        yield
    finally:
        for each in missing:
            with contextlib.suppress(OSError):
                each.rmdir()


@contextlib.contextmanager
def held(lock_path: Path, wait_s: float, busy: OutputError) -> Iterator[None]:
    """Let one run at a time in; the system lets go if we are killed. No lock file stays.

    Raises
    ------
    OutputError
        ``busy``, where another run still holds it after ``wait_s`` seconds.
    OSError
        Where the disk refuses.
    """
    lock = FileLock(lock_path, timeout=wait_s)
    try:
        lock.acquire()
    except Timeout:
        raise busy from None
    except NotImplementedError as wrong:
        raise OSError(errno.ENOTSUP, str(wrong), str(lock_path)) from wrong
    try:
        yield
    finally:
        # Gone while it is still ours: whoever waits sees that its file is no longer there, and
        # asks again. On Windows an open file stays, and the release removes it.
        with contextlib.suppress(OSError):
            lock_path.unlink()
        lock.release()


@contextlib.contextmanager
def uninterrupted(done: str) -> Iterator[None]:
    """Hold Ctrl-C back over the few milliseconds in which files change their names.

    Raises
    ------
    KeyboardInterrupt
        With the words ``done``, where it came in between.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        asked.append(number)

    before = signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if asked:
        raise KeyboardInterrupt(done)


def refusal(wrong: OSError, path: Path, mend: str, *, left: str = "") -> OutputError:
    """Return what the disk refused as a sentence of ours.

    Parameters
    ----------
    wrong
        What the system says.
    path
        What was to be written.
    mend
        What to do, where it is not for want of space.
    left
        What state things are left in, where something was changed.
    """
    full = wrong.errno in (errno.ENOSPC, errno.EDQUOT)
    words = wrong.strerror or str(wrong)
    return OutputError(
        f"cannot write here: {words}{left}",
        file=str(path),
        mend=f"Free some space, or {mend[0].lower()}{mend[1:]}" if full else mend,
    )
