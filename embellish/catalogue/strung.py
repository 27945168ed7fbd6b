"""Goods sold by the length, such as stone chain and strings of pearls: their links are pieces."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from embellish.catalogue.fields import PositiveMm, Strict
from embellish.errors import UnfitError

_LEAST_BEND: float = 0.75
"""In pitches. Round a tighter bend links two apart would come as near as neighbours."""


class Strung(Strict):
    """The table ``strung`` of a piece: it is a link of something that is cut to length.

    Parameters
    ----------
    pitch_mm
        From the middle of a link to that of the next.
    least_bend_mm
        Radius of the tightest bend that it lies flat in, as its maker or a trial says.
    least_links
        A cut length has at least so many links.
    lost_links
        Links lost at each cut: a cup that is cut open, ends that are knotted.
    """

    pitch_mm: PositiveMm
    least_bend_mm: PositiveMm
    least_links: Annotated[int, Field(ge=1, le=1000)] = 3
    lost_links: Annotated[int, Field(ge=0, le=100)] = 1

    @model_validator(mode="after")
    def _bends_wide(self) -> Strung:
        if self.least_bend_mm < _LEAST_BEND * self.pitch_mm:
            raise UnfitError(
                f"a bend of {self.least_bend_mm:g} mm is tighter than links {self.pitch_mm:g} mm "
                "apart can take",
                f"Give least_bend_mm of at least {_LEAST_BEND * self.pitch_mm:g}: lay it round a "
                "coin to measure it.",
            )
        return self

    def links_in(self, length_mm: float) -> int:
        """Return how many whole links a length holds."""
        return int(length_mm / self.pitch_mm + 1e-9)
