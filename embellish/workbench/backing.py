"""The photo of the garment behind the layout on the page, as the proof shows it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from embellish.geometry.transforms import IDENTITY
from embellish.job.backdrops import backdrop_of
from embellish.outputs.backdrop import Backdrop, Bounds
from embellish.workbench.layer import Laid


def photo_facts(laid: Laid) -> dict[str, Any] | None:
    """Return where the photo lies, layout mm, and its state; None where there is none."""
    found = _window(laid)
    if found is None:
        return None
    x0, y0, x1, y1 = found[1]
    return {"x": x0, "y": y0, "width": x1 - x0, "height": y1 - y0}


def photo_picture(laid: Laid) -> bytes | None:
    """Return what is seen of the photo, as a JPEG; None where there is none."""
    return _picture(laid)


@lru_cache(maxsize=2)
def _picture(laid: Laid) -> bytes | None:
    found = _window(laid)
    if found is None or laid.opened is None:
        return None
    backdrop, (x0, y0, x1, y1) = found
    ground = laid.opened.job.cloth.colour
    return backdrop.picture(x0, y0, x1 - x0, y1 - y0, IDENTITY, ground).image


def _window(laid: Laid) -> tuple[Backdrop, Bounds] | None:
    if laid.opened is None or laid.bedded is None:
        return None
    layout = laid.bedded.layout
    backdrop = backdrop_of(laid.opened, layout.page_mm)
    if backdrop is None:
        return None
    wide, high = layout.page_mm
    return backdrop, backdrop.frame((0.0, 0.0, wide, high))
