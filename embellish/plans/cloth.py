"""The cloth of a job: what checks, cautions and pictures need to know of it."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

StretchPercent = Annotated[float, Field(ge=0, le=300)]


class ClothSettings(BaseModel):
    """``[cloth]`` of a job; what is left out is not known, and then nothing is claimed of it."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    fibre: Annotated[str, Field(max_length=80)] = ""
    """As the label says, such as ``cotton`` or ``polyester satin``."""
    colour: Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")] = "#4a5568"
    """Of the cloth, for the proof."""
    nap: bool = False
    """Pile, velvet, terry: marks sink in, and a press flattens it."""
    sheer: bool = False
    """Marks and glue show through."""
    heals: bool = True
    """Whether needle holes close; false for leather, vinyl, coated cloth, tight satin."""
    heat_limit_c: Annotated[float, Field(gt=0, le=300)] | None = None
    """What the maker of the cloth allows; no limit is assumed where none is given."""
    stretch_along_percent: StretchPercent = 0.0
    stretch_across_percent: StretchPercent = 0.0
