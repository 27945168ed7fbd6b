"""What writing whole files takes: held folders, files written through, refusals told plainly."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

from filelock import FileLock, Timeout

from embellish.errors import OutputError


def write_through(path: Path, content: bytes) -> None:
    """Write a file and have the disk take it, so that a later rename moves a whole file.

    What stands there is taken away, not written into: were it a link, that is another file.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    with path.open("xb") as file:
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
def stopping_only_where_asked(done: str) -> Iterator[Callable[[], None]]:
    """Give a function that stops the work if Ctrl-C was pressed; nothing else in here is cut short.

    So neither a row of renames nor the tidying after a fault is left half done.

    Raises
    ------
    KeyboardInterrupt
        Where the function is called, or at the end, with the words ``done``, where all was done.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: None
        return
    asked: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        asked.append(number)

    def stop_here() -> None:
        if asked:
            raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield stop_here
    finally:
        signal.signal(signal.SIGINT, before)
    if asked:
        raise KeyboardInterrupt(done)


@contextlib.contextmanager
def held(
    lock_path: Path, wait_s: float, busy: OutputError, stop_here: Callable[[], None] = lambda: None
) -> Iterator[None]:
    """Let one run at a time in; the system lets go if we are killed. No lock file stays.

    Raises
    ------
    OutputError
        ``busy``, where another run still holds it after ``wait_s`` seconds.
    OSError
        Where the disk refuses.
    """
    lock = FileLock(lock_path)
    give_up = time.monotonic() + wait_s
    while True:
        stop_here()
        try:
            lock.acquire(timeout=0.1, poll_interval=0.02)
            break
        except Timeout:
            if time.monotonic() > give_up:
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
