"""How much each pixel of a picture is of a colour, from 0 to 1, so that edges fall between pixels.

On an edge a pixel is a mixture; with d the distances to the two colours it is a mixture of, its
share of the first is d2 / (d1 + d2), which is exact for any mixture, and the edge is where the
share is a half. Only colours that lie flat within two pixels count, so that a mixture of two is not
taken for a third.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import scipy

from embellish.arrays import Floats

_REACH: Final = 2
_SMOOTH_PX: Final = 0.6
_MOST_SHADE_PX: Final = 400


def colour_fields(rgb: Any, cover: Any, flat: Any, palette: Floats) -> list[Any]:
    """Return the share of each colour of the palette in each pixel, as float32 arrays.

    Parameters
    ----------
    rgb : array of shape (rows, columns, 3)
    cover : array of shape (rows, columns)
        How much of each pixel is there, from 0 to 1.
    flat : array of shape (rows, columns), bool
        Pixels that are no edge.
    palette : array of shape (k, 3)
    """
    colours = rgb.astype(np.float32)
    away = [np.sqrt(((colours - each.astype(np.float32)) ** 2).sum(axis=2)) for each in palette]
    nearest = np.argmin(np.stack(away), axis=0)
    reach = np.ones((2 * _REACH + 1, 2 * _REACH + 1), dtype=bool)
    any_near = scipy.ndimage.binary_dilation(flat, structure=reach)
    for k, distance in enumerate(away):
        near = scipy.ndimage.binary_dilation(flat & (nearest == k), structure=reach)
        # Where nothing lies flat near by, the nearest colour is all there is to go by.
        distance[~near & (any_near | (nearest != k))] = np.inf
    stack = np.stack(away)
    lone = np.full_like(stack[:1], np.inf)
    first, second = np.partition(np.concatenate([stack, lone]), 1, axis=0)[:2]
    fields = []
    for distance in away:
        other = np.where(distance > first, first, second)
        with np.errstate(invalid="ignore"):
            share = other / (other + distance)
        share = np.where(np.isinf(distance), 0.0, np.where(np.isinf(other), 1.0, share))
        share = np.nan_to_num(share, nan=0.5) * cover
        fields.append(
            scipy.ndimage.gaussian_filter(share.astype(np.float32), _SMOOTH_PX, mode="nearest")
        )
    return fields


def line_field(grey: Floats) -> Floats:
    """Return how much each pixel is ink, from 0 to 1, on paper lit unevenly.

    Parameters
    ----------
    grey : array of shape (rows, columns)
        0 is black, 255 white.

    Notes
    -----
    The paper is what stays when all dark strokes are closed; ink is how far a pixel is below it.
    The level between both is Otsu's (1979, from memory).
    """
    size = min(_MOST_SHADE_PX, max(15, min(grey.shape) // 8)) | 1
    step = max(1, size // 40)
    small = grey[::step, ::step]
    paper = scipy.ndimage.grey_closing(small, size=(size // step, size // step))
    paper = scipy.ndimage.uniform_filter(paper, size=max(3, size // step))
    wide = np.repeat(np.repeat(paper, step, axis=0), step, axis=1)
    wide = wide[: grey.shape[0], : grey.shape[1]]
    dark = np.clip(1.0 - grey / np.maximum(wide, 1.0), 0.0, 1.0)
    ink = float(np.quantile(dark[dark >= _otsu(dark)], 0.5))
    field: Floats = scipy.ndimage.gaussian_filter(
        np.clip(dark / max(ink, 1e-6), 0.0, 1.0), _SMOOTH_PX
    )
    return field


def _otsu(values: Floats) -> float:
    """Return the level that parts values into two classes the furthest apart."""
    counts, edges = np.histogram(values, bins=256, range=(0.0, 1.0))
    middles = (edges[:-1] + edges[1:]) / 2.0
    below = np.cumsum(counts)
    above = below[-1] - below
    sums = np.cumsum(counts * middles)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = below * above * (sums / below - (sums[-1] - sums) / above) ** 2
    return float(middles[int(np.argmax(np.nan_to_num(between)))])
