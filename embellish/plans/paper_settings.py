"""What the maker may ask for on paper: the job's ``[paper]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

PaperSize = Literal["A4", "Letter"]


class PaperSettings(BaseModel):
    """``[paper]``: the size of printed pages, and patterns for cloth that no hoop takes.

    Widths of holes and of what stays between them are common practice, no source: try the paper.

    Parameters
    ----------
    size
        Of the printer's pages.
    pounce
        A sheet pricked at each seat, to rub chalk or pounce powder through.
    stencil
        A sheet cut with a larger hole at each seat, to brush chalk through.
    wash_away
        The marks in light lines, to print on a sheet that washes away.
    wash_away_from
        Which face of that sheet is printed, seen as it lies on the cloth: ``back`` mirrors it.
    prick_mm, prick_apart_mm
        Width of a pricked hole, and what stays between two.
    stencil_hole_mm, stencil_apart_mm
        Width of a hole of the stencil, and what stays between two.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    size: PaperSize = "A4"
    pounce: bool = False
    stencil: bool = False
    wash_away: bool = False
    wash_away_from: Literal["front", "back"] = "front"
    prick_mm: Annotated[float, Field(ge=0.3, le=2)] = 0.8
    prick_apart_mm: Annotated[float, Field(ge=0.5, le=10)] = 1.2
    stencil_hole_mm: Annotated[float, Field(ge=1, le=10)] = 1.6
    stencil_apart_mm: Annotated[float, Field(ge=0.5, le=10)] = 1.5

    @property
    def any_pattern(self) -> bool:
        """Whether any pattern is asked for."""
        return self.pounce or self.stencil or self.wash_away
