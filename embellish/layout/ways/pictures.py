"""A picture over shapes: what is seen of it at each place, in amounts of light.

The job names a file; whoever opens the job puts what it shows in its place. Light is averaged, not
the numbers of the file, so that fine black and white counts as the grey that an eye sees.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, Self

import numpy as np
import shapely
from pydantic import BaseModel, ConfigDict, Field, PlainValidator, WithJsonSchema, model_validator
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats
from embellish.catalogue.colour_difference import lab_of_linear, linear_of
from embellish.errors import UnfitError
from embellish.formats.fields import Colour

_MOST_PX: Final = 6_000_000
"""More pixels than that are averaged by squares: no piece is so small."""


class Picture(str):
    """A picture that a job names: its file, or once it is opened the hash of what it shows.

    So what it shows decides whether two jobs are alike, whatever the file is called.
    """

    __slots__ = ("file", "sums")
    file: str
    """As the job names it."""
    sums: Floats
    """Sums of light (red, green, blue, each times the cover) and of cover over all pixels above and
    to the left, shape (h + 1, w + 1, 4)."""

    def __new__(cls, file: str, sha256: str = "", sums: Floats | None = None) -> Self:
        """Return a picture, opened where it has a hash and sums."""
        made = super().__new__(cls, sha256 or file)
        made.file = file
        made.sums = np.zeros((2, 2, 4)) if sums is None else sums
        return made

    @classmethod
    def of(cls, file: str, rgba: np.ndarray[Any, np.dtype[np.uint8]]) -> Self:
        """Return a picture opened: ``rgba`` of shape (h, w, 4), 0 to 255."""
        shown = np.ascontiguousarray(rgba)
        digest = hashlib.sha256(repr(shown.shape).encode() + shown.tobytes()).hexdigest()
        light = _reduced(shown)
        sums = np.zeros((light.shape[0] + 1, light.shape[1] + 1, 4))
        np.cumsum(light, axis=0, out=sums[1:, 1:])
        np.cumsum(sums[1:, 1:], axis=1, out=sums[1:, 1:])
        return cls(file, digest, sums)

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.sums.shape[1] - 1, self.sums.shape[0] - 1

    def seen(self, at_px: Floats, half_px: float) -> tuple[Floats, Floats]:
        """Return the mean light and the cover of squares about places.

        Parameters
        ----------
        at_px : array of shape (n, 2)
            Places, in pixels from the upper left corner. Beyond its edge a picture covers nothing.
        half_px
            Half the side of the squares.

        Returns
        -------
        light : array of shape (n, 3)
        cover : array of shape (n,)
            From 0 to 1.
        """
        half = max(half_px, _LEAST_PX)
        right, below = np.array([half, 0.0]), np.array([0.0, half])
        total = (
            self._sum(at_px + right + below)
            - self._sum(at_px - right + below)
            - self._sum(at_px + right - below)
            + self._sum(at_px - right - below)
        )
        cover = total[:, 3] / (4.0 * half * half)
        light = total[:, :3] / np.maximum(total[:, 3:], 1e-12)
        return np.clip(light, 0.0, 1.0), np.clip(cover, 0.0, 1.0)

    def _sum(self, at: Floats) -> Floats:
        """Return the sums up to places between pixels: they run straight within each."""
        wide, high = self.size_px
        x, y = np.clip(at[:, 0], 0.0, wide), np.clip(at[:, 1], 0.0, high)
        i = np.minimum(x.astype(np.int64), wide - 1)
        j = np.minimum(y.astype(np.int64), high - 1)
        u, v = (x - i)[:, None], (y - j)[:, None]
        upper = self.sums[j, i] * (1.0 - u) + self.sums[j, i + 1] * u
        lower = self.sums[j + 1, i] * (1.0 - u) + self.sums[j + 1, i + 1] * u
        summed: Floats = upper * (1.0 - v) + lower * v
        return summed


def _reduced(rgba: np.ndarray[Any, np.dtype[np.uint8]]) -> Floats:
    """Return light times cover, and cover, of pixels: of a large picture of squares of pixels."""
    high, wide = rgba.shape[:2]
    k = max(1, math.ceil(math.sqrt(high * wide / _MOST_PX)))
    table = linear_of(np.arange(256) / 255.0)
    out = np.empty((high // k, wide // k, 4))
    for row in range(high // k):
        band = rgba[row * k : (row + 1) * k, : wide // k * k]
        cover = band[..., 3:] / 255.0
        light = np.concatenate([table[band[..., :3]] * cover, cover], axis=2)
        out[row] = light.reshape(k, wide // k, k, 4).mean(axis=(0, 2))
    return out


def _named(value: Any) -> Any:
    if isinstance(value, Picture):
        return value
    if not isinstance(value, str) or not value:
        raise UnfitError("a picture is named by its file", 'Write picture = "photo.jpg".')
    return Picture(value)


PictureFile = Annotated[
    Picture, PlainValidator(_named), WithJsonSchema({"type": "string", "minLength": 1})
]


class PictureTable(BaseModel):
    """Where a picture lies over a lay's shapes; mm of the artwork, before the job turns it.

    Without ``width_mm`` it covers them: as small as it may be, its middle on theirs.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    picture: PictureFile | None = None
    at_mm: tuple[float, float] | None = None
    """Its upper left corner."""
    width_mm: Annotated[float, Field(gt=0, le=100_000)] | None = None

    @model_validator(mode="after")
    def _placed_whole(self) -> PictureTable:
        if (self.at_mm is None) != (self.width_mm is None):
            raise UnfitError(
                "at_mm and width_mm place a picture together", "Give both, or neither."
            )
        return self

    def seen_over(self, regions: Sequence[BaseGeometry]) -> Seen:
        """Return the picture as it lies over the regions of a lay's shapes."""
        assert self.picture is not None  # noqa: S101 - tables that need one ask for it
        wide, high = self.picture.size_px
        if self.at_mm is not None and self.width_mm is not None:
            return Seen(self.picture, self.at_mm, self.width_mm / wide)
        x0, y0, x1, y1 = shapely.union_all(list(regions)).bounds
        mm = max((x1 - x0) / wide, (y1 - y0) / high, _LEAST_MM)
        corner = ((x0 + x1 - mm * wide) / 2.0, (y0 + y1 - mm * high) / 2.0)
        return Seen(self.picture, corner, mm)


class Mosaic(PictureTable):
    """The table ``mosaic``: pieces of one size and many colours show a picture."""

    colours: Annotated[int, Field(ge=1, le=400)] | None = None
    """At most so many of the lay's colours are used, those that serve best; none given: all."""
    dither: bool = False
    """Whether what a colour misses is made up for by those around it."""
    bare: Colour | None = None
    """A colour that is left bare, such as the cloth's: no piece is set where it is the nearest."""

    @model_validator(mode="after")
    def _of_a_picture(self) -> Mosaic:
        if self.picture is None:
            raise UnfitError("a mosaic needs a picture", 'Add picture = "photo.jpg".')
        return self


_LEAST_MM: Final = 1e-9
_LEAST_PX: Final = 0.02
"""Smaller squares would be lost in the last digits of the sums."""


@dataclass(frozen=True, eq=False)
class Seen:
    """A picture in its place.

    Parameters
    ----------
    corner_mm
        Its upper left corner.
    pixel_mm
        The side of a pixel.
    """

    picture: Picture
    corner_mm: tuple[float, float]
    pixel_mm: float

    def light(self, xy: Floats, half_mm: float) -> tuple[Floats, Floats]:
        """Return mean light, shape (n, 3), and cover, (n,), of squares about places (n, 2)."""
        return self.picture.seen(
            (xy - np.array(self.corner_mm)) / self.pixel_mm, half_mm / self.pixel_mm
        )

    def lightness(self, xy: Floats, half_mm: float) -> Floats:
        """Return how light places look, from 0 (black) to 1 (white, or nothing): L* by CIELAB."""
        light, cover = self.light(xy, half_mm)
        # What the picture does not cover is white, as paper is.
        over = light * cover[:, None] + (1.0 - cover[:, None])
        lightness: Floats = np.clip(lab_of_linear(over)[:, 0] / 100.0, 0.0, 1.0)
        return lightness
