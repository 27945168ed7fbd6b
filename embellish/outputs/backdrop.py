"""A photo of the garment under a picture of a layout."""

from __future__ import annotations

import math
from dataclasses import dataclass
from io import BytesIO
from typing import Final

import numpy as np
from PIL import Image

from embellish.formats.photos import Photo
from embellish.geometry.transforms import Affine
from embellish.outputs.drawing.drawing import Picture
from embellish.outputs.legend import box

MAX_SIDE_PX: Final = 2400
"""A photo is under the pieces, not the thing itself: files stay small enough to send."""

_JPEG_QUALITY: Final = 85
"""Where a photo of cloth shows no blocks, at an eighth of the size of a PNG."""

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Backdrop:
    """A photo in its place.

    Parameters
    ----------
    photo
        What is seen.
    to_layout
        From its pixels to the layout's mm.
    fade
        0: as it is. 1: gone.
    around_mm
        How much of it is shown round the design; None: all of it.
    """

    photo: Photo
    to_layout: Affine
    fade: float = 0.0
    around_mm: float | None = None

    def frame(self, design: Bounds) -> Bounds:
        """Return what the picture shows: the design, and as much of the photo as is asked for."""
        corners = self.to_layout(box(0.0, 0.0, *map(float, self.photo.size_px)))
        low, high = corners.min(axis=0), corners.max(axis=0)
        inner, outer = np.array(design[:2]), np.array(design[2:])
        if self.around_mm is not None:
            low = np.maximum(low, inner - self.around_mm)
            high = np.minimum(high, outer + self.around_mm)
        x0, y0 = np.minimum(low, inner).tolist()
        x1, y1 = np.maximum(high, outer).tolist()
        return x0, y0, x1, y1

    def picture(
        self, left: float, top: float, width: float, height: float, to_page: Affine, ground: str
    ) -> Picture:
        """Return the photo as it fills a rectangle of the page.

        Parameters
        ----------
        left, top, width, height
            The rectangle, page mm.
        to_page
            From the layout's mm to the page's.
        ground
            '#rrggbb' where the photo does not reach, and what it fades to.
        """
        to_photo = (to_page @ self.to_layout).inverse()
        finest = math.sqrt(abs(to_photo.determinant))
        px_per_mm = min(finest, MAX_SIDE_PX / max(width, height))
        size = max(1, round(width * px_per_mm)), max(1, round(height * px_per_mm))
        from_window = Affine.move(left, top) @ Affine.scale(width / size[0], height / size[1])
        seen = self._seen_through(to_photo @ from_window, size, ground)
        return Picture(seen, left, top, width, height)

    def _seen_through(self, to_photo: Affine, size_px: tuple[int, int], ground: str) -> bytes:
        """Return what a window of so many pixels shows of the photo, as a JPEG."""
        # Pixels are averaged before they are passed over, or fine weave would shimmer.
        coarser = max(1, math.floor(math.sqrt(abs(to_photo.determinant))))
        image = self.photo.image.reduce(coarser) if coarser > 1 else self.photo.image
        m = Affine.scale(1.0 / coarser) @ to_photo
        window = image.transform(
            size_px,
            Image.Transform.AFFINE,
            (m.a, m.c, m.e, m.b, m.d, m.f),
            Image.Resampling.BICUBIC,
        )
        mask = window.getchannel("A").point([round(v * (1.0 - self.fade)) for v in range(256)])
        seen = Image.new("RGB", size_px, ground)
        seen.paste(window.convert("RGB"), (0, 0), mask)
        file = BytesIO()
        seen.save(file, format="JPEG", quality=_JPEG_QUALITY)
        return file.getvalue()
