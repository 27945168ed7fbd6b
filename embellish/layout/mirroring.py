"""Seats mirrored: where the mirror image of what stands on them stands, and what has none."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.catalogue.piece import Piece, Unit
from embellish.geometry.footprints import Footprint
from embellish.geometry.mirror_images import STRAIGHT, MirrorImage, mirror_image
from embellish.geometry.segments import directions
from embellish.geometry.transforms import Affine

_CACHED: Final = 256


def images_of(
    pieces: Sequence[Piece], units: Sequence[Unit], footprints: Sequence[Footprint]
) -> tuple[MirrorImage, ...]:
    """Return how each piece, then each unit, stands for its mirror image.

    Parameters
    ----------
    footprints
        What each of them covers, pieces first. The true outlines decide; parts of a unit are
        images of each other where they are of one code.
    """
    own = [
        mirror_image_of(footprint) if piece.shape == "outline" else STRAIGHT
        for piece, footprint in zip(pieces, footprints, strict=False)
    ]
    return (
        *own,
        *(
            mirror_image_of(footprint, tuple(member.piece for member in unit.members))
            for unit, footprint in zip(units, footprints[len(pieces) :], strict=True)
        ),
    )


@lru_cache(maxsize=_CACHED)
def mirror_image_of(footprint: Footprint, names: tuple[str, ...] = ()) -> MirrorImage:
    """Return `mirror_image`, kept for the next call."""
    return mirror_image(footprint, names)


def mirrored_seats(
    xy: Floats, angle_deg: Floats, sort: Ints, images: Sequence[MirrorImage], mirror: Affine
) -> tuple[Floats, Floats]:
    """Return where the mirror images of seats stand, and their angles in [0, 360).

    Parameters
    ----------
    xy, angle_deg, sort : arrays of shape (n, 2), (n,) and (n,)
        The seats; ``sort`` indexes ``images``.
    images
        How each sort stands for its mirror image.
    mirror
        A rigid map that turns left into right.
    """
    turned = mirror.turned_deg(angle_deg)
    shift = np.array([(image.dx_mm, image.dy_mm) for image in images]).reshape(-1, 2)[sort]
    turn = np.array([image.turn_deg for image in images])[sort]
    cos, sin = directions(turned)
    moved = np.stack(
        [cos * shift[:, 0] - sin * shift[:, 1], sin * shift[:, 0] + cos * shift[:, 1]], axis=1
    )
    return mirror(xy) + moved, np.mod(turned + turn, 360.0)
