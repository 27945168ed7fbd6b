"""Files read from disk, or one clear sentence why not."""

from __future__ import annotations

import contextlib
from pathlib import Path

from embellish.catalogue.shipped import PREFIX, shipped_names
from embellish.errors import EmbellishError
from embellish.formats.nearest import close_to
from embellish.formats.value_words import shown

_ALIKE = 0.85
"""From this likeness on another file's name is proposed."""


def bytes_of(path: Path, error: type[EmbellishError], what: str) -> bytes:
    """Read a file.

    Parameters
    ----------
    error
        What is raised where it cannot be read.
    what
        What it is, for messages.

    Raises
    ------
    EmbellishError
        Of the kind ``error``.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError as wrong:
        raise error(f"there is no such {what}", file=str(path), mend=_near(path, what)) from wrong
    except IsADirectoryError as wrong:
        raise error(
            f"this is a folder, not {_A[what]}", file=str(path), mend="Name the file in it."
        ) from wrong
    except NotADirectoryError as wrong:
        through = next((each for each in path.parents if each.is_file()), path.parent)
        raise error(
            f"{through} is a file, so nothing is inside it",
            file=str(path),
            mend="Check the name and the folder.",
        ) from wrong
    except PermissionError as wrong:
        raise error(
            f"you may not read this {what}",
            file=str(path),
            mend="Allow yourself to read it, or copy it to a folder of your own.",
        ) from wrong
    except (OSError, ValueError) as wrong:
        # A ValueError is a name with a zero in it, which no system takes.
        why = getattr(wrong, "strerror", None) or f"{wrong}"
        raise error(
            f"this {what} cannot be read ({why})",
            file=shown(str(path)).strip("'"),
            mend="Check the name and the folder.",
        ) from wrong


def _near(path: Path, what: str) -> str:
    """Return which file was likely meant."""
    if what == "catalogue" and str(path.name) in shipped_names("pieces"):
        return f"Did you mean '{PREFIX}{path.name}'?"
    beside: list[str] = []
    with contextlib.suppress(OSError):
        beside = [each.name for each in path.parent.iterdir() if each.is_file()]
    close = close_to(path.name, beside, cutoff=_ALIKE)
    return f"Did you mean '{close}'?" if close else "Check the name and the folder."


_A = {
    "job file": "a job file",
    "base design": "a base design",
    "photo": "a photo",
    "font": "a font",
    "list of names": "a list of names",
    "bundle": "a bundle",
    "record": "a record",
    "kept layout": "a kept layout",
    "artwork": "an artwork",
    "catalogue": "a catalogue",
}
"""What is read -> with its article."""
