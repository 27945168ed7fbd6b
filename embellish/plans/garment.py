"""The garment: who wears it, and what charts and papers show of it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Use = Literal["", "adult", "child", "under-3", "child-sleepwear", "toy", "jewellery"]


class GarmentSettings(BaseModel):
    """``[garment]`` of a job.

    Parameters
    ----------
    marks
        Shapes of the artwork that are seams, darts, centre front: drawn, never a hole or mark.
    use
        For whom or what: ``child`` is 12 and under. Left out, only what holds for all is told.
    touches_skin
        Whether pieces or their backs lie on the skin for long.
    card
        The maker's own words on the care card.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    marks: Annotated[str, Field(min_length=1)] | None = None
    use: Use = ""
    touches_skin: bool = False
    card: Annotated[str, Field(max_length=4000)] = ""

    @property
    def for_child(self) -> bool:
        """Whether a child of 12 or under has it."""
        return self.use in ("child", "under-3", "child-sleepwear", "toy")
