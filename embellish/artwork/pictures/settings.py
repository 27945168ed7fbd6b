"""How a picture is traced: ``[artwork.picture]`` of a job."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field


class PictureSettings(BaseModel):
    """How a picture becomes regions.

    Parameters
    ----------
    kind
        ``colours``: a region for each patch of one colour. ``lines``: dark lines on paper, as on a
        photo of a sketch, whatever the light on it.
    colours
        How many, the ground among them; left out, as many as are clearly apart, 12 at most.
    specks_mm2
        Patches and holes smaller than this are dropped, and told.
    ground
        Whether the colour that most of the picture's edge has is kept as a region too.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    kind: Literal["colours", "lines"] = "colours"
    colours: Annotated[int, Field(ge=2, le=24)] | None = None
    specks_mm2: Annotated[float, Field(ge=0, le=10_000)] = 1.0
    ground: bool = False
