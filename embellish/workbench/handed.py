"""Files handed in at the page and not yet begun with: kept in memory, nothing is on disk."""

from __future__ import annotations

import hashlib
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from embellish.errors import EmbellishError
from embellish.job.names import safe_names

MOST_FILES: Final = 12
"""How many are kept; the oldest goes, and is asked for again where it is wanted."""

_LONGEST_ENDING: Final = 8


@dataclass(frozen=True)
class HandedFile:
    """A file as the page gave it.

    Parameters
    ----------
    told
        Its name as the page knows it, for messages.
    stem, ending
        Its name as it may stand in the folder, without and after the dot.
    content
        Its bytes.
    """

    told: str
    stem: str
    ending: str
    content: bytes

    @property
    def name(self) -> str:
        """A name that is safe in any folder."""
        return f"{self.stem}.{self.ending}"


class HandedIn:
    """The files handed in, each known to the page by a key. Safe to use from several threads."""

    def __init__(self) -> None:
        self._files: dict[str, HandedFile] = {}
        self._guard = threading.Lock()

    def take(self, name: str, content: bytes) -> tuple[str, HandedFile]:
        """Keep a file; return its key and what is kept.

        Raises
        ------
        EmbellishError
            Where its name has no ending that tells its kind.
        """
        file = handed_file(name, content)
        key = hashlib.sha256(file.name.encode() + b"\0" + content).hexdigest()[:24]
        with self._guard:
            self._files.pop(key, None)
            self._files[key] = file
            while len(self._files) > MOST_FILES:
                del self._files[next(iter(self._files))]
        return key, file

    def file(self, key: str) -> HandedFile:
        """Return a file that was handed in.

        Raises
        ------
        EmbellishError
            Where it is not kept any more.
        """
        with self._guard:
            file = self._files.get(key)
        if file is None:
            raise EmbellishError("this file is not at hand any more", mend="Choose it once more.")
        return file


def handed_file(name: str, content: bytes) -> HandedFile:
    """Return a file under a safe name; only the last part of the name it comes with counts."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    stem, dot, ending = last.rpartition(".")
    if not dot or not ending.isascii() or not ending.isalnum() or len(ending) > _LONGEST_ENDING:
        raise EmbellishError(
            "this file's name has no ending that tells its kind",
            file=last,
            mend="Name it by what it is: .svg, .dxf, .png, .ttf, .toml, or the machine format.",
        )
    return HandedFile(last, safe_names([stem])[0], ending.lower(), content)


@contextmanager
def laid_out(file: HandedFile) -> Iterator[Path]:
    """Have a file on disk for as long as it is read; what is wrong is told by its own name.

    Raises
    ------
    EmbellishError
        Whatever reading it raises, of the file as the page knows it.
    """
    with tempfile.TemporaryDirectory(prefix="embellish-") as folder:
        path = Path(folder) / file.name
        path.write_bytes(file.content)
        try:
            yield path
        except EmbellishError as wrong:
            raise type(wrong)(
                wrong.message.replace(str(path), file.told),
                file=file.told,
                item=wrong.item,
                mend=wrong.mend,
            ) from wrong
