"""The table ``[materials.thread]``: how much thread the maker's own work takes."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from embellish.formats.fields import Amount


class ThreadSettings(BaseModel):
    """``[materials.thread]``: figures of one's own, since nobody sews alike.

    Parameters
    ----------
    piece_mm
        Thread that one piece sewn on by hand takes, knots shared out.
    marks_factor
        Thread that a machine takes for its marks, as a multiple of the way its stitches go.
    spool_m
        What a spool holds.
    spool_price
        Of one spool.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    piece_mm: Annotated[float, Field(gt=0, le=1000)] | None = None
    marks_factor: Annotated[float, Field(ge=1, le=10)] | None = None
    spool_m: Annotated[float, Field(gt=0, le=100_000)]
    spool_price: Annotated[Decimal, Amount, Field(ge=0, le=1_000_000)] | None = None
