"""The background: a photo of the garment, put under the proof at the garment's own size.

It is for the eye alone. Nothing that is cut, sewn, counted or measured knows of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Final

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from embellish.errors import UnfitError
from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout

Mm = Annotated[float, Field(ge=-10_000, le=10_000)]
Px = Annotated[float, Field(ge=-100_000, le=100_000)]

_APART_PX: Final = 10.0
"""Points nearer to each other in the photo than this give a turn by chance."""

_COARSE_PX_PER_MM: Final = 1.0


class BackgroundSettings(BaseModel):
    """``[background]``: a photo of the garment under the proof."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    file: Annotated[str, Field(min_length=1)]
    width_mm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    """How wide a piece of garment the whole photo shows."""
    offset_mm: tuple[Mm, Mm] = (0.0, 0.0)
    """With width_mm: where the photo's middle lies from the page's middle: right, down."""
    points_px: tuple[tuple[Px, Px], tuple[Px, Px]] | None = None
    """Two points of the photo, in pixels from its top left: right, down."""
    points_mm: tuple[tuple[Mm, Mm], tuple[Mm, Mm]] | None = None
    """Where they lie on the page, from its top left: right, down."""
    fade: Annotated[float, Field(ge=0, le=1)] = 0.0
    """0: the photo as it is. 1: gone; the colour of the cloth is left."""
    around_mm: Annotated[float, Field(ge=0, le=10_000)] | None = None
    """How much of the photo is shown round the design; left out, all of it."""

    @model_validator(mode="after")
    def _placed(self) -> BackgroundSettings:
        by_points = self.points_px is not None or self.points_mm is not None
        if (self.points_px is None) != (self.points_mm is None):
            one, other = "points_px", "points_mm"
            if self.points_px is None:
                one, other = other, one
            raise UnfitError(
                f"{one} is given without {other}",
                "Give two points of the photo in pixels, and where they lie on the page in mm.",
            )
        if by_points and self.width_mm is not None:
            raise UnfitError(
                "the photo is placed twice, by width_mm and by two points", "Keep one of them."
            )
        if by_points and "offset_mm" in self.model_fields_set:
            raise UnfitError(
                "two points say where the photo lies, and offset_mm says it again",
                "Take offset_mm out.",
            )
        if not by_points and self.width_mm is None:
            raise UnfitError(
                "nothing says how large the garment on the photo is",
                "Give width_mm, or two points: points_px and points_mm.",
            )
        for name, points, least in (
            ("points_px", self.points_px, _APART_PX),
            ("points_mm", self.points_mm, 1.0),
        ):
            if points is not None and math.dist(*points) < least:
                raise UnfitError(
                    f"the two {name} are nearly the same point",
                    "Take two that are as far from each other as can be.",
                )
        return self

    def grown(self, factor: float) -> BackgroundSettings:
        """Return the background of the garment in another size: all its millimetres grow."""
        (ox, oy) = self.offset_mm
        grown: dict[str, object] = {"offset_mm": (ox * factor, oy * factor)}
        if self.width_mm is not None:
            grown["width_mm"] = self.width_mm * factor
        if self.points_mm is not None:
            grown["points_mm"] = tuple((x * factor, y * factor) for x, y in self.points_mm)
        return self.model_copy(update=grown)

    def placed(self, size_px: tuple[int, int], page_mm: tuple[float, float]) -> Affine:
        """Return the map from the photo's pixels to the page.

        Parameters
        ----------
        size_px
            Width and height of the photo.
        page_mm
            Width and height of the page.
        """
        if self.points_px is None or self.points_mm is None:
            assert self.width_mm is not None  # noqa: S101 - the validator says so
            factor = self.width_mm / size_px[0]
            x = page_mm[0] / 2.0 + self.offset_mm[0] - size_px[0] * factor / 2.0
            y = page_mm[1] / 2.0 + self.offset_mm[1] - size_px[1] * factor / 2.0
            return Affine.move(x, y) @ Affine.scale(factor)
        (px, py), (qx, qy) = self.points_px
        (ax, ay), (bx, by) = self.points_mm
        # A turn and a scale are one complex number: what takes the one difference to the other.
        turn = complex(bx - ax, by - ay) / complex(qx - px, qy - py)
        a, b = turn.real, turn.imag
        return Affine(a, b, -b, a, ax - a * px + b * py, ay - b * px - a * py)


def background_noticed(
    file: str, size_px: tuple[int, int], to_page: Affine, layout: Layout
) -> Iterator[Finding]:
    """Yield what the maker should know of a photo under a layout.

    Parameters
    ----------
    file
        What findings call it.
    size_px, to_page
        The photo's width and height, and the map from its pixels to the layout's mm.
    """
    px_per_mm = 1.0 / math.sqrt(abs(to_page.determinant))
    if px_per_mm < _COARSE_PX_PER_MM:
        yield Finding(
            "background-coarse",
            "note",
            f"The photo {file} has {px_per_mm:.2g} pixels to a mm of garment, so the proof looks"
            " blurred.",
            mend="Take it from nearer, or check its size in [background].",
        )
    seen = to_page.inverse()(layout.xy)
    beside = ((seen < 0.0) | (seen > np.array(size_px))).any(axis=1)
    if beside.any():
        x, y = layout.xy[beside][0].tolist()
        yield Finding(
            "background-beside",
            "warning",
            f"{int(beside.sum())} of {len(layout)} seats lie beside the photo {file}.",
            (x, y),
            mend="Check where [background] places it.",
        )
