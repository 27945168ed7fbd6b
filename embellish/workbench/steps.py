"""The steps of a job at the workbench: each a whole text of the job file, kept beside it.

One line a step, appended and flushed, so that a kill at any moment costs at most a line that was
being written, which is passed over when the steps are read again.
"""

from __future__ import annotations

import base64
import contextlib
import json
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from embellish.errors import OutputError
from embellish.job.disk import refusal
from embellish.job.placing import replace_file

MOST_STEPS: Final = 500
_SLACK: Final = 200
"""Lines beyond the steps that are kept before the file is written afresh."""

_FORMAT: Final = "embellish-steps"
_MOST_TEXT: Final = 64 * 1024 * 1024


@dataclass(frozen=True)
class Step:
    """One state of the job file, and what was done to reach it."""

    words: str
    text: str


class Steps:
    """The states a job went through, and which of them holds now.

    Parameters
    ----------
    path
        The job; its steps are kept beside it as ``.JOB.steps``.
    """

    def __init__(self, path: Path) -> None:
        self.path = path.with_name(f".{path.name}.steps")
        self._steps: list[Step] = []
        self._first = 0  # the number of the first that is kept; numbers only grow
        self._at = -1
        self._lines = 0
        self._read()

    @property
    def now(self) -> Step | None:
        """The state that holds, or None where there is none yet."""
        return self._steps[self._at] if self._at >= 0 else None

    @property
    def back(self) -> str | None:
        """What an undo would take back, or None."""
        return self._steps[self._at].words if self._at > 0 else None

    @property
    def forth(self) -> str | None:
        """What a redo would do again, or None."""
        return self._steps[self._at + 1].words if self._at + 1 < len(self._steps) else None

    def add(self, step: Step) -> None:
        """Go on to a new state; those that were undone are gone.

        Raises
        ------
        OutputError
            Where the disk refuses; nothing has changed then.
        """
        self._append(_held(self._first + self._at + 1, step))
        del self._steps[self._at + 1 :]
        self._steps.append(step)
        self._at = len(self._steps) - 1
        self._trim()

    def go(self, by: int) -> Step:
        """Go a step back (-1) or forth (1), and return the state that holds then.

        Raises
        ------
        OutputError
            Where there is no such step, or the disk refuses.
        """
        there = self._at + by
        if not 0 <= there < len(self._steps):
            raise OutputError("there is no such step", mend="Nothing is left to go to.")
        self._append({"at": self._first + there})
        self._at = there
        return self._steps[there]

    def _append(self, line: dict[str, Any]) -> None:
        new = not self._lines
        try:
            with self.path.open("ab") as file:
                if new and not file.tell():
                    file.write(_line({"format": _FORMAT, "version": 1}))
                file.write(_line(line))
        except OSError as wrong:
            raise refusal(wrong, self.path, "Put the job where you may write.") from wrong
        self._lines += 1

    def _trim(self) -> None:
        over = len(self._steps) - MOST_STEPS
        if over > 0:
            self._forget(over)
        if over > 0 and self._lines > MOST_STEPS + _SLACK:
            self._write()

    def _forget(self, count: int) -> None:
        """Forget the oldest steps."""
        del self._steps[:count]
        self._first += count
        self._at = max(self._at - count, 0)

    def _write(self) -> None:
        """Write the file afresh, whole."""
        lines = [_line({"format": _FORMAT, "version": 1})]
        lines += [
            _line(_held(number, step)) for number, step in enumerate(self._steps, self._first)
        ]
        lines.append(_line({"at": self._first + self._at}))
        replace_file(self.path, b"".join(lines))
        self._lines = len(lines)

    def _read(self) -> None:
        if self.path.is_symlink():
            raise OutputError(
                "the steps of this job would be written through a link into another file",
                file=str(self.path),
                mend="Move the link away.",
            )
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return
        except OSError as wrong:
            raise refusal(wrong, self.path, "Put the job where you may read and write.") from wrong
        whole = data[: data.rfind(b"\n") + 1]
        for raw in whole.splitlines():
            self._lines += 1
            # A line that a full disk or a hand spoilt is passed over: the others still hold.
            with contextlib.suppress(ValueError, KeyError, TypeError, AttributeError, zlib.error):
                self._take(json.loads(raw))
        over = len(self._steps) - MOST_STEPS
        if over > 0:
            self._forget(over)
        if len(whole) != len(data) or over > 0:
            self._write()

    def _take(self, line: dict[str, Any]) -> None:
        """Take one line of the file in."""
        if "at" in line:
            there = int(line["at"]) - self._first
            if 0 <= there < len(self._steps):
                self._at = there
        elif "z" in line:
            step, number = Step(str(line["words"]), _unpacked(line["z"])), int(line["number"])
            if not self._steps:
                self._first = number
            del self._steps[max(number - self._first, 0) :]
            self._steps.append(step)
            self._at = len(self._steps) - 1


def _held(number: int, step: Step) -> dict[str, Any]:
    return {"number": number, "words": step.words, "z": _packed(step.text)}


def _line(held: dict[str, Any]) -> bytes:
    return json.dumps(held, ensure_ascii=True).encode() + b"\n"


def _packed(text: str) -> str:
    return base64.b64encode(zlib.compress(text.encode())).decode("ascii")


def _unpacked(packed: str) -> str:
    unpacker = zlib.decompressobj()
    data = unpacker.decompress(base64.b64decode(packed), _MOST_TEXT)
    return data.decode()
