"""One job on the workbench: its file, its steps, and what others do to the file meanwhile."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterable
from pathlib import Path

from filelock import FileLock, Timeout

from embellish.errors import EmbellishError, JobError, OutputError
from embellish.job.files import named_files
from embellish.job.inside import leads_inside
from embellish.job.model import Job
from embellish.job.placing import create_file, replace_file
from embellish.job.reading import read_job
from embellish.job.reading_files import bytes_of
from embellish.job.text.changes import Change
from embellish.job.text.document import changed
from embellish.workbench.steps import Step, Steps

OPENED = "opened"
OUTSIDE = "changed outside the workbench"


class Desk:
    """A job open at the workbench; every change is on disk before it is answered.

    Safe to use from several threads.

    Parameters
    ----------
    path
        The job file.
    number
        That of its first state.

    Raises
    ------
    EmbellishError
        Where it cannot be read, or another workbench has it open.
    """

    def __init__(self, path: Path, number: int = 1) -> None:
        self.path = path
        self._guard = threading.RLock()
        self._on_disk()  # before anything is put beside it
        self._lock = FileLock(path.with_name(f".{path.name}.bench.lock"))
        try:
            self._lock.acquire(timeout=0)
        except Timeout as busy:
            raise JobError(
                "another workbench has this job open",
                file=str(path),
                mend="Go on there, or close it first.",
            ) from busy
        except OSError as wrong:
            raise OutputError(
                f"the workbench cannot write beside this job ({wrong.strerror})",
                file=str(path),
                mend="Copy the job and what it names to a folder you may write to.",
            ) from wrong
        try:
            text = self._on_disk()
            read_job(text.encode(), str(path))
            self._steps = Steps(path)
            if self._steps.now is None:
                self._steps.add(Step(OPENED, text))
            elif self._steps.now.text != text:
                self._steps.add(Step(OUTSIDE, text))
        except BaseException:
            self.close()
            raise
        self.number = number
        """Grows with every state of the job; the page says which one it saw."""
        self.trouble: EmbellishError | None = None
        """Why what is on disk now cannot be taken, where others have spoilt it."""
        self._seen = _hash(text)

    def close(self) -> None:
        """Let go of the job."""
        self._lock.release()
        Path(self._lock.lock_file).unlink(missing_ok=True)

    @property
    def text(self) -> str:
        """The job as it is now."""
        step = self._steps.now
        assert step is not None  # noqa: S101 - there is one from the start
        return step.text

    @property
    def back(self) -> str | None:
        """What an undo would take back."""
        return self._steps.back

    @property
    def forth(self) -> str | None:
        """What a redo would do again."""
        return self._steps.forth

    def change(self, changes: Iterable[Change], words: str) -> None:
        """Make changes, as one step; all of them or none.

        Changes are of what they name, not of a text as it was seen: what another window or an
        edit of the file has done in the meantime stays. A change names no file elsewhere: one
        outside the job's folder is for the job file alone to name.

        Raises
        ------
        EmbellishError
            Where the changed job could not be read, or the file on disk cannot.
        """
        with self._guard:
            self.look()
            self._refuse_in_trouble()
            text = changed(self.text, changes, self.path.name)
            if text == self.text:
                return
            self._refuse_elsewhere(read_job(text.encode(), str(self.path)))
            self._steps.add(Step(words or "changed", text))
            self._save()

    def go(self, by: int) -> None:
        """Undo (-1) or redo (1) a step.

        Raises
        ------
        EmbellishError
            Where there is none, or the file on disk cannot be read.
        """
        with self._guard:
            self.look()
            self._refuse_in_trouble()
            self._steps.go(by)
            self._save()

    def look(self) -> bool:
        """Take in what others did to the file; tell whether anything is otherwise now."""
        with self._guard:
            try:
                text = self._on_disk()
            except EmbellishError as wrong:
                told = str(self.trouble) if self.trouble else ""
                self.trouble = wrong
                return told != str(wrong)
            if _hash(text) == self._seen:
                return False
            self._seen = _hash(text)
            if text == self.text:
                self.trouble = None
                return True
            try:
                read_job(text.encode(), str(self.path))
            except EmbellishError as wrong:
                self.trouble = wrong
                return True
            self.trouble = None
            self._steps.add(Step(OUTSIDE, text))
            self.number += 1
            return True

    def put_back(self) -> Path | None:
        """Put the last good state on disk again; what was there is kept in a file beside it.

        Returns
        -------
        path
            Where what was there is now, or None where nothing was.

        Raises
        ------
        EmbellishError
            Where the disk refuses.
        """
        with self._guard:
            aside = None
            if self.path.exists():
                spoilt = self.path.read_bytes()
                number = 1
                while True:
                    aside = self.path.with_name(f"{self.path.stem}.found-{number}.txt")
                    try:
                        create_file(aside, spoilt, "")
                        break
                    except OutputError:
                        if not aside.exists():
                            raise
                        number += 1
            self._save()
            self.trouble = None
            return aside

    def _save(self) -> None:
        text = self.text
        replace_file(self.path, text.encode())
        self._seen = _hash(text)
        self.number += 1

    def _refuse_in_trouble(self) -> None:
        if self.trouble is not None:
            raise JobError(
                f"the job file was changed outside and cannot be read: {self.trouble}",
                mend="Mend it there, or put the last good state back.",
            )

    def _refuse_elsewhere(self, job: Job) -> None:
        """Raise where a changed job names a file outside its folder that it did not name before."""
        folder = self.path.parent
        elsewhere = [name for name in named_files(job) if not leads_inside(folder, name)]
        if not elsewhere:
            return
        before = named_files(read_job(self.text.encode(), str(self.path)))
        for name in elsewhere:
            if name not in before:
                raise JobError(
                    "the page may name only files that lie in the job's folder",
                    file=name,
                    mend="Put the file beside the job, or name it in the job file itself.",
                )

    def _on_disk(self) -> str:
        try:
            return bytes_of(self.path, JobError, "job file").decode()
        except UnicodeDecodeError as wrong:
            raise JobError(
                "this job is not text in UTF-8",
                file=str(self.path),
                mend="Save it as UTF-8 in your editor.",
            ) from wrong


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
