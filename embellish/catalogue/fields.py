"""Kinds of fields that entries of a catalogue have."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from embellish.errors import UnfitError
from embellish.formats.fields import Amount

PositiveMm = Annotated[float, Field(gt=0, le=500, allow_inf_nan=False)]


def _plain(value: str) -> str:
    if value != value.strip() or not value.isprintable():
        raise UnfitError(
            f"{value!r} has spaces at an end, or letters that cannot be printed", "Leave them out."
        )
    return value


Code = Annotated[str, Field(min_length=1, max_length=64), AfterValidator(_plain)]
"""What names a piece or unit: it is printed on every chart, template and list."""


class Strict(BaseModel):
    """Base of catalogue values: frozen, and an unknown field is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


Money = Annotated[Decimal, Amount, Field(ge=0, le=1_000_000_000, decimal_places=6)]
"""An amount of money: decimal text or a whole number, never a float."""

Word = Annotated[str, Field(max_length=120), AfterValidator(_plain)]
"""A name that is printed on lists; may be empty."""
