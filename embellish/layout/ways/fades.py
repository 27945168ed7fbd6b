"""Fades: how much of a lay's full density is asked where."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.geometry.poisson_fades import Share
from embellish.layout.ways.fields import FieldTable


class Fade(FieldTable):
    """The table ``fade``: full density where its field begins, ``least`` where it ends.

    Pieces stand densest where the field begins: at ``from_mm``, or along the edge.
    """

    least: Annotated[float, Field(ge=0.02, lt=1)] = 0.1
    """Share of the full density at the end."""

    def over_share(self, regions: Sequence[BaseGeometry]) -> Share:
        """Return the share of the full density at places of shape (n, 2)."""
        course = self.over(regions)

        def share(xy: Floats) -> Floats:
            return 1.0 - (1.0 - self.least) * course(xy)

        return share
