"""The few colours of a picture: those of its flat places, like ones taken together."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import scipy
from PIL import Image

from embellish.arrays import Floats

_STEPS: Final = (6, 12, 24, 48)
"""Colours within a cube of so many steps of 255 are counted as one at first, the finest that gives
no more cubes than can be compared each with each."""

_MOST_CUBES: Final = 1_200

_APART: Final = 48.0
"""Nearer than this in red, green and blue two colours are one, where no number was asked for."""

_FLAT: Final = 24
"""How much the colours around a pixel may differ for it to be no edge."""

_LEAST_SHARE: Final = 0.001
_MOST: Final = 12


def flat_places(rgb: Any) -> Any:
    """Return where a picture is flat: no edge runs through a pixel or its eight neighbours.

    At an edge the colours of both sides are mixed, and stand for neither.
    """
    high = scipy.ndimage.maximum_filter(rgb, size=(3, 3, 1)).astype(np.int16)
    low = scipy.ndimage.minimum_filter(rgb, size=(3, 3, 1)).astype(np.int16)
    flat: Any = ((high - low) <= _FLAT).all(axis=2)
    return flat


def palette_of(rgb: Any, seen: Any, colours: int | None) -> Floats:
    """Return the colours of a picture, those that cover most first.

    Parameters
    ----------
    rgb : array of shape (rows, columns, 3), uint8
    seen : array of shape (rows, columns), bool
        Pixels that count.
    colours
        How many; None for those that are clearly apart.

    Returns
    -------
    array of shape (k, 3)
    """
    pixels = rgb[seen]
    if not len(pixels):
        return np.zeros((0, 3))
    means, weights = _cubes(pixels)
    apart = _APART if colours is None else 0.0
    most = _MOST if colours is None else colours
    means, weights = _merged(means, weights, apart, most)
    if colours is None:
        enough = weights >= _LEAST_SHARE * weights.sum()
        means, weights = means[enough], weights[enough]
    order = np.argsort(-weights, kind="stable")
    return np.asarray(np.rint(means[order]), dtype=np.float64)


def _cubes(pixels: Any) -> tuple[Floats, Floats]:
    """Return the mean colour of each cube of colours that any pixel is in, and how many are."""
    for step in _STEPS:
        cubes = (pixels // step).astype(np.int64) @ np.array([10_000, 100, 1])
        _, place, counts = np.unique(cubes, return_inverse=True, return_counts=True)
        if len(counts) <= _MOST_CUBES:
            break
    sums = np.stack([np.bincount(place, weights=pixels[:, k]) for k in range(3)], axis=1)
    return sums / counts[:, None], counts.astype(np.float64)


def _merged(means: Floats, weights: Floats, apart: float, most: int) -> tuple[Floats, Floats]:
    """Take the pair together that costs least in squared error, until what is left is apart.

    (Ward 1963, from memory.)
    """
    means, weights = means.copy(), weights.copy()
    gaps = _costs(means, weights)
    while len(means) > 1:
        a, b = divmod(int(np.argmin(gaps)), len(means))
        distance = float(np.hypot.reduce(means[a] - means[b]))
        if len(means) <= most and distance >= apart:
            # The cheapest pair is not always the nearest.
            near = np.hypot.reduce(means[:, None] - means[None], axis=2)
            np.fill_diagonal(near, np.inf)
            a, b = divmod(int(np.argmin(near)), len(means))
            if near[a, b] >= apart:
                break
        both = weights[a] + weights[b]
        means[a] = (means[a] * weights[a] + means[b] * weights[b]) / both
        weights[a] = both
        means, weights = np.delete(means, b, axis=0), np.delete(weights, b)
        gaps = np.delete(np.delete(gaps, b, axis=0), b, axis=1)
        a -= int(b < a)
        row = _cost(means[a], weights[a], means, weights)
        row[a] = np.inf
        gaps[a], gaps[:, a] = row, row
    return means, weights


def _costs(means: Floats, weights: Floats) -> Floats:
    every = np.stack([_cost(m, w, means, weights) for m, w in zip(means, weights, strict=True)])
    np.fill_diagonal(every, np.inf)
    return every


def _cost(mean: Floats, weight: float, means: Floats, weights: Floats) -> Floats:
    square = ((means - mean) ** 2).sum(axis=1)
    cost: Floats = square * (weights * weight) / (weights + weight)
    return cost


def small_enough(image: Image.Image, most_px: int) -> tuple[Image.Image, float]:
    """Return a picture of at most so many pixels, and how many of its own each stands for."""
    width, height = image.size
    by = (width * height / most_px) ** 0.5
    if by <= 1.0:
        return image, 1.0
    size = (max(1, round(width / by)), max(1, round(height / by)))
    return image.resize(size, Image.Resampling.BOX), width / size[0]
