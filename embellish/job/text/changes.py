"""What may be asked to be changed in a job: a closed list, each strictly read."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from embellish.errors import EmbellishError

Plain = bool | int | float | str
Value = Plain | list[Any] | dict[str, Any]
LayId = Annotated[str, Field(min_length=1, max_length=64)]

MOST_AT_ONCE = 20_000
"""Changes in one step: more than any hand makes."""


class _Change(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=True)


class SetValue(_Change):
    """Give a key another value, or take it out (``value`` null).

    ``at`` leads to it: ``["title"]``, ``["cloth", "colour"]``, ``["lay", ID, "gap_mm"]``, and by
    number in lists of tables that have no ids: ``["keep_out", 0, "margin_mm"]``.
    """

    do: Literal["set"]
    at: Annotated[list[str | int], Field(min_length=1, max_length=6)]
    value: Value | None = None


class AddTable(_Change):
    """Put a table at the end of a list of tables, or of a lay after the one named."""

    do: Literal["add"]
    to: Literal["lay", "edit", "keep_out", "size"]
    table: dict[str, Any]
    after: LayId | None = None


class RemoveTable(_Change):
    """Take a table out of its list: a lay by its id, with its edits; others by number."""

    do: Literal["remove"]
    of: Literal["lay", "edit", "keep_out", "size"]
    which: str | Annotated[int, Field(ge=0)]


class MoveLay(_Change):
    """Have a lay laid before another, or last (``before`` null)."""

    do: Literal["move-lay"]
    id: LayId
    before: LayId | None = None


class CopyLay(_Change):
    """Put a copy of a lay after it, under an id of its own."""

    do: Literal["copy-lay"]
    id: LayId


class RenameLay(_Change):
    """Give a lay another id; edits made on it follow."""

    do: Literal["rename-lay"]
    id: LayId
    to: LayId


Change = Annotated[
    SetValue | AddTable | RemoveTable | MoveLay | CopyLay | RenameLay, Field(discriminator="do")
]


class Changes(_Change):
    """One step: changes made together, which are undone together."""

    number: int
    """The step the page stood at when it asked."""
    words: Annotated[str, Field(max_length=120)] = ""
    changes: Annotated[list[Change], Field(min_length=1, max_length=MOST_AT_ONCE)]


_CHANGES: TypeAdapter[Changes] = TypeAdapter(Changes)


def read_changes(data: bytes) -> Changes:
    """Read what is asked for, as JSON.

    Raises
    ------
    EmbellishError
        Where it is none of these.
    """
    try:
        return _CHANGES.validate_json(data)
    except ValidationError as wrong:
        first = wrong.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise EmbellishError(
            f"this change cannot be read: {first['msg']}", item=where or None
        ) from wrong
