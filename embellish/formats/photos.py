"""Photos (JPEG, PNG) as Pillow reads them: upright, in plain colours, never larger than memory."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from io import BytesIO
from typing import Final

import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from embellish.errors import ArtworkError

MAX_PHOTO_PX: Final = 100_000_000
"""Pixels: a telephone's largest photo has half of it."""


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo as it is seen, the top at the top."""

    image: Image.Image
    """RGBA."""

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.image.size


def read_photo(data: bytes, name: str) -> Photo:
    """Read a photo, turned upright as its camera noted.

    Raises
    ------
    ArtworkError
        For another kind of file, one that is damaged, or one too large.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(BytesIO(data), formats=("JPEG", "PNG"))
            if math.prod(image.size) > MAX_PHOTO_PX:
                raise ArtworkError(
                    f"this photo has more than {MAX_PHOTO_PX // 1_000_000} million pixels",
                    file=name,
                    mend="Make it smaller in a picture program.",
                )
            image.load()
            upright = _eight_bits(ImageOps.exif_transpose(image)).convert("RGBA")
    except UnidentifiedImageError as wrong:
        raise ArtworkError(
            "this is no photo that is read here", file=name, mend="Save it as JPEG or PNG."
        ) from wrong
    except Image.DecompressionBombError as wrong:
        raise ArtworkError(
            "this photo has too many pixels", file=name, mend="Make it smaller."
        ) from wrong
    except (OSError, ValueError, SyntaxError) as wrong:
        raise ArtworkError(
            "this photo is damaged or cut short", file=name, mend="Fetch it, or save it, again."
        ) from wrong
    return Photo(upright)


def _eight_bits(image: Image.Image) -> Image.Image:
    """Return a picture whose numbers go to 255: those of deep greys go to 65535, and would be cut.

    257 of the finer steps are one of the coarser, so that white stays white; halves are not met.
    """
    if not image.mode.startswith("I"):
        return image
    fine = np.clip(np.asarray(image), 0, 65535).astype(np.int64)
    return Image.fromarray(((fine + 128) // 257).astype(np.uint8))
