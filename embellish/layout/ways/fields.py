"""Fields: how far something has come at each place, from 0 where it begins to 1 where it ends.

A field is a function of places; how it is asked for in a job is a table of its kind and lengths.
Fades thin pieces out along one, blends change the mix of pieces along one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Any, Literal

import numpy as np
import shapely
from pydantic import Field, model_validator
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.errors import UnfitError
from embellish.geometry.regions import areal
from embellish.layout.ways.pictures import PictureTable

Course = Callable[[Floats], Floats]
"""A field: places of shape (n, 2) to numbers of shape (n,), each from 0 to 1."""

Mixture = Callable[[Floats], Floats]
"""A mix that changes: places of shape (n, 2) to shares of shape (n, k), each row adding up to 1."""

_Place = tuple[float, float]
_SEEN_MM = 0.5
"""Half the side of the square over which a picture is averaged: finer than any piece."""
_Share = Annotated[float, Field(gt=0, le=1_000_000)]


class FieldTable(PictureTable):
    """What a table says of its field.

    Lengths are in the artwork's millimetres, before it is turned or mirrored by the job.
    """

    kind: Literal["line", "point", "edge", "picture"] = "line"
    """line: from one point toward another; point: with the distance from one point; edge: from the
    edge of the shapes inward; picture: from its darkest, black, to its lightest, white."""
    from_mm: _Place | None = None
    """Where it begins; line and point."""
    to_mm: _Place | None = None
    """Where it ends; line and point. Beyond it all is as at the end."""
    depth_mm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    """How far from the edge it ends; edge. As deep as the shapes are where not given."""
    reverse: bool = False
    """Whether it runs from end to beginning instead."""

    @model_validator(mode="after")
    def _its_own_keys(self) -> FieldTable:
        ends = (self.from_mm is not None, self.to_mm is not None)
        if (self.kind == "picture") != (self.picture is not None):
            raise UnfitError(
                "kind 'picture' and a picture go together",
                'Write both, such as kind = "picture" and picture = "grey.png".',
            )
        if self.kind == "picture":
            if any(ends) or self.depth_mm is not None:
                raise UnfitError(
                    "a picture has neither from_mm and to_mm nor depth_mm",
                    "Place it by at_mm and width_mm, or leave them all out.",
                )
            return self
        if self.width_mm is not None:
            raise UnfitError("at_mm and width_mm place a picture", "Leave them out.")
        if self.kind == "edge" and any(ends):
            raise UnfitError(
                "kind 'edge' has neither from_mm nor to_mm", "Leave them out; give depth_mm."
            )
        if self.kind != "edge" and not all(ends):
            raise UnfitError(
                f"kind '{self.kind}' needs from_mm and to_mm",
                "Add both, such as from_mm = [10, 20] and to_mm = [90, 20].",
            )
        if self.kind != "edge" and self.depth_mm is not None:
            raise UnfitError(
                f"depth_mm means nothing for kind '{self.kind}'",
                "Leave it out, or take kind = 'edge'.",
            )
        if self.from_mm is not None and self.from_mm == self.to_mm:
            raise UnfitError("it begins and ends at one place", "Move from_mm or to_mm.")
        return self

    def over(self, regions: Sequence[BaseGeometry]) -> Course:
        """Return the field over the regions of a lay's shapes."""
        if self.kind == "picture":
            course = self._from_picture(regions)
        else:
            course = self._from_edge(regions) if self.kind == "edge" else self._from_place
        return (lambda xy: 1.0 - course(xy)) if self.reverse else course

    def _from_picture(self, regions: Sequence[BaseGeometry]) -> Course:
        seen = self.seen_over(regions)

        def course(xy: Floats) -> Floats:
            return seen.lightness(xy, _SEEN_MM)

        return course

    def _from_place(self, xy: Floats) -> Floats:
        start, end = np.array(self.from_mm), np.array(self.to_mm)
        way = end - start
        length = float(np.hypot(way[0], way[1]))
        step = xy - start
        line = self.kind == "line"
        along = step @ way / length if line else np.hypot(step[:, 0], step[:, 1])
        course: Floats = np.clip(along / length, 0.0, 1.0)
        return course

    def _from_edge(self, regions: Sequence[BaseGeometry]) -> Course:
        region = shapely.union_all(list(regions))
        edge = region.boundary
        shapely.prepare(edge)
        depth = self.depth_mm
        if depth is None:
            deepest: Any = shapely.maximum_inscribed_circle(areal(region))
            depth = max(float(shapely.length(deepest)), 1e-9)

        def course(xy: Floats) -> Floats:
            away = np.asarray(shapely.distance(edge, shapely.points(xy)), dtype=np.float64)
            return np.clip(away / depth, 0.0, 1.0)

        return course


class Blend(FieldTable):
    """The table ``blend``: the mix of pieces changes along its field."""

    mixes: Annotated[tuple[dict[str, _Share], ...], Field(min_length=2, max_length=20)]
    """The mixes it goes through, evenly spaced: each a table of pieces and their shares."""

    @model_validator(mode="after")
    def _none_empty(self) -> Blend:
        if not all(self.mixes):
            raise UnfitError("a mix has no pieces", "Name its pieces, or leave the mix out.")
        return self

    def over_mixture(self, regions: Sequence[BaseGeometry], codes: Sequence[str]) -> Mixture:
        """Return the share of each code at places of shape (n, 2).

        Raises
        ------
        KeyError
            With the first code of a mix that is not among ``codes``.
        """
        course = self.over(regions)
        known = set(codes)
        for code in (code for mix in self.mixes for code in mix):
            if code not in known:
                raise KeyError(code)
        stops = np.array([[mix.get(code, 0.0) for code in codes] for mix in self.mixes])
        stops /= stops.sum(axis=1, keepdims=True)
        at = np.linspace(0.0, 1.0, len(stops))

        def mixture(xy: Floats) -> Floats:
            t = course(xy)
            return np.stack([np.interp(t, at, column) for column in stops.T], axis=1)

        return mixture
