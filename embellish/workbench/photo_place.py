"""The photo of the garment put where it belongs: by two of its points, or by its width again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from embellish.arrays import Floats
from embellish.errors import JobError
from embellish.job.backdrops import backdrop_of
from embellish.job.text.changes import SetValue
from embellish.outputs.backdrop import Backdrop
from embellish.workbench.layer import Laid

_PX: Final = 2
_MM: Final = 3
"""Decimals that are kept of pixels and millimetres: finer than anyone points."""


def photo_by_points(
    laid: Laid, seen_mm: Sequence[float], wanted_mm: Sequence[float]
) -> list[SetValue]:
    """Return the changes that bring two points of a job's photo where they belong.

    Parameters
    ----------
    seen_mm
        Where two points of the photo are seen now, layout mm: x, y, x, y.
    wanted_mm
        Where they belong, the same way.

    Raises
    ------
    EmbellishError
        Where the job has no photo, or it is not two points each.
    """
    if len(seen_mm) != 4 or len(wanted_mm) != 4:
        raise JobError("a photo is placed by two points", mend="Give two, and where they belong.")
    found = _photo(laid)
    seen = found.to_layout.inverse()(np.array(seen_mm).reshape(2, 2))
    wanted = np.array(wanted_mm).reshape(2, 2)
    return [
        *(_put(key, None) for key in ("width_mm", "offset_mm")),
        _put("points_px", _rounded(seen, _PX)),
        _put("points_mm", _rounded(wanted, _MM)),
    ]


def photo_by_width(laid: Laid) -> list[SetValue]:
    """Return the changes that place the photo by its width, upright and as large as it is now.

    Raises
    ------
    EmbellishError
        Where the job has no photo.
    """
    found = _photo(laid)
    wide, high = found.photo.size_px
    width = wide * math.sqrt(abs(found.to_layout.determinant))
    middle = found.to_layout(np.array([[wide / 2.0, high / 2.0]]))[0]
    assert laid.bedded is not None  # noqa: S101 - there is a photo in its place
    away = middle - np.array(laid.bedded.layout.page_mm) / 2.0
    return [
        *(_put(key, None) for key in ("points_px", "points_mm")),
        _put("width_mm", round(width, _MM)),
        _put("offset_mm", np.round(away, _MM).tolist()),
    ]


def _photo(laid: Laid) -> Backdrop:
    found = None
    if laid.opened is not None and laid.bedded is not None:
        found = backdrop_of(laid.opened, laid.bedded.layout.page_mm)
    if found is None:
        raise JobError("this job has no photo of the garment", mend="Choose one first.")
    return found


def _put(key: str, value: list[Any] | float | None) -> SetValue:
    return SetValue(do="set", at=["background", key], value=value)


def _rounded(points: Floats, decimals: int) -> list[list[float]]:
    rounded: list[list[float]] = np.round(points, decimals).tolist()
    return rounded
