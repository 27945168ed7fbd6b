"""Fades: how much of a lay's full density is asked where."""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from embellish.arrays import Floats
from embellish.layout.ways.way import WaySettings

_Place = tuple[float, float]


class Fade(WaySettings):
    """The table ``fade``: full density at its start, ``least`` at its end, evenly between.

    Lengths are in the artwork's millimetres, before it is turned or mirrored by the job.
    """

    kind: Literal["line", "point"] = "line"
    """line: from one point toward another; point: with the distance from one point."""
    from_mm: _Place
    """Where pieces stand densest."""
    to_mm: _Place
    """Where the fade ends; beyond it all is least."""
    least: Annotated[float, Field(ge=0.02, lt=1)] = 0.1
    """Share of the full density at the end."""
    reverse: bool = False
    """Whether it is densest at the end instead."""

    @model_validator(mode="after")
    def _some_length(self) -> Fade:
        if self.from_mm == self.to_mm:
            message = "the fade begins and ends at one place"
            raise ValueError(message)
        return self

    def share(self, xy: Floats) -> Floats:
        """Return the share of the full density at points of shape (n, 2)."""
        start, end = np.array(self.from_mm), np.array(self.to_mm)
        way = end - start
        length = float(np.hypot(way[0], way[1]))
        step = xy - start
        line = self.kind == "line"
        along = step @ way / length if line else np.hypot(step[:, 0], step[:, 1])
        t = np.clip(along / length, 0.0, 1.0)
        t = 1.0 - t if self.reverse else t
        share: Floats = 1.0 - (1.0 - self.least) * t
        return share
