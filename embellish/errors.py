"""What goes wrong with what the user gave: one sentence that names the file, the item, the mend."""

from __future__ import annotations


class EmbellishError(Exception):
    """Base of every error that is the user's to mend; the command line exits with 2.

    Parameters
    ----------
    message
        What is wrong, without file and mend.
    file
        The file it was found in, as the user named it.
    item
        Where in the file: a line, a lay, an entry, a field.
    mend
        What to do about it.
    """

    def __init__(
        self, message: str, *, file: str | None = None, item: str | None = None, mend: str = ""
    ) -> None:
        self.message = message
        self.file = file
        self.item = item
        self.mend = mend
        super().__init__(str(self))

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.file, self.item) if part)
        head = f"{where}: {self.message}" if where else self.message
        head = head.rstrip(".")
        told = f"{head}. {self.mend}".rstrip() if self.mend else f"{head}."
        # What files and names may hold: line ends, or letters that turn the line around.
        return "".join(letter if letter.isprintable() else "·" for letter in told)

    def within(self, *, file: str | None = None, item: str | None = None) -> EmbellishError:
        """Return the same error with the file or item filled in where it was not yet known."""
        return type(self)(
            self.message, file=self.file or file, item=self.item or item, mend=self.mend
        )

    def inside(self, item: str, *, file: str | None = None) -> EmbellishError:
        """Return the same error with an item in front of its own: which of several it is in.

        Parameters
        ----------
        file
            In place of its own, where given.
        """
        both = ", ".join(part for part in (item, self.item) if part)
        return type(self)(self.message, file=file or self.file, item=both, mend=self.mend)

    def as_json(self) -> dict[str, str | None]:
        """Return the parts for programs."""
        return {
            "message": self.message,
            "file": self.file,
            "item": self.item,
            "mend": self.mend,
        }


class ArtworkError(EmbellishError):
    """The artwork cannot be read, has no size, or a selector finds nothing in it."""


class CatalogueError(EmbellishError):
    """A catalogue cannot be read, or a piece is not in it."""


class JobError(EmbellishError):
    """The job file asks for something that cannot be."""


class OutputError(EmbellishError):
    """An output cannot be put where it was asked for."""


class UnfitError(ValueError):
    """A value that a field cannot take, told by the field itself.

    Raised in validators: reading a table turns it into an error with file and item.

    Parameters
    ----------
    message
        What is wrong, without the field's name.
    mend
        What to do about it.
    """

    def __init__(self, message: str, mend: str = "") -> None:
        self.message = message
        self.mend = mend
        super().__init__(message)
