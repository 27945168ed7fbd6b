"""The page of an SVG: its size in millimetres where the file gives one, else in its own units."""

from __future__ import annotations

from dataclasses import dataclass

from embellish.artwork.svg.style import Declared
from embellish.artwork.svg.values import (
    DEFAULT_FONT_PX,
    ViewBox,
    parse_view_box,
    split_length,
    view_map,
)
from embellish.errors import ArtworkError
from embellish.formats.xml import Element
from embellish.geometry.transforms import Affine
from embellish.units import MM_PER_PX, MM_PER_UNIT

_SIZE_MEND = "Set the page's width and height in millimetres in the drawing program."
_AUTO = ("", "auto", "initial", "inherit")


@dataclass(frozen=True, slots=True)
class Page:
    """Where the drawing's user units land.

    Parameters
    ----------
    size
        Width and height, in mm where ``sized``, else in the file's units; None: no page.
    sized
        Whether the file gives a physical size.
    to_page
        From user units to page coordinates, origin at the page's top left.
    viewport
        What 100 % means, in user units.
    px
        The size in CSS px (96 an inch) where the file is not sized and has a page.
    """

    size: tuple[float, float] | None
    sized: bool
    to_page: Affine
    viewport: tuple[float, float]
    px: tuple[float, float] | None = None

    @property
    def per_px(self) -> float:
        """How many page units a CSS px is, where the page is shown at its own size."""
        if self.sized:
            return MM_PER_PX
        return 1.0 if self.px is None or self.size is None else self.size[0] / self.px[0]


def read_page(root: Element, declared: Declared, name: str) -> Page:
    """Return the page of the root element.

    Raises
    ------
    ArtworkError
        For a size or view box that is no size, or zero.
    """
    box = _view_box(root, name)
    width, height = _side(declared, "width", name), _side(declared, "height", name)
    aspect = root.get("preserveAspectRatio") or ""
    physical = [side for side in (width, height) if side is not None and side[1]]
    ratio = None if box is None else box.height / box.width
    w_px, h_px = _filled_in(width, height, ratio)
    if physical and w_px is not None and h_px is not None:
        w, h = w_px * MM_PER_PX, h_px * MM_PER_PX
        # A side given in millimetres stays as it is given, without a detour over px.
        w, h = (width[2] if width and width[1] else w), (height[2] if height and height[1] else h)
        viewport = (w_px, h_px) if box is None else (box.width, box.height)
        to_page = Affine.scale(MM_PER_PX) if box is None else view_map(box, w, h, aspect)
        return Page((w, h), sized=True, to_page=to_page, viewport=viewport)
    if box is None:
        size = (w_px, h_px) if w_px is not None and h_px is not None else None
        # One physical side and no ratio: the units are known, the page is not.
        to_page = Affine.scale(MM_PER_PX) if physical else Affine()
        viewport = size or (w_px or h_px or 100.0, h_px or w_px or 100.0)
        return Page(size, bool(physical), to_page, viewport, size)
    if w_px is None or h_px is None:
        w_px, h_px = box.width, box.height
    fit = view_map(box, w_px, h_px, aspect)
    # Back from px to the view box's units, so that coordinates read as in the file.
    unit = abs(fit.determinant) ** 0.5
    to_page = Affine.scale(1.0 / unit) @ fit
    return Page(
        (w_px / unit, h_px / unit),
        sized=False,
        to_page=to_page,
        viewport=(box.width, box.height),
        px=(w_px, h_px),
    )


def _view_box(root: Element, name: str) -> ViewBox | None:
    text = root.get("viewBox")
    if text is None:
        return None
    box = parse_view_box(text)
    if box is None or box.width == 0.0 or box.height == 0.0:
        raise ArtworkError(
            f"viewBox=“{text[:60]}” is no rectangle with a width and a height",
            file=name,
            item=f"line {root.sourceline}",
            mend="It takes four numbers: x, y, width, height.",
        )
    return box


def _side(declared: Declared, side: str, name: str) -> tuple[float, bool, float] | None:
    """Return (px, physical, mm) of a side, or None where it is left to the rest."""
    text = declared.get(side, "").strip()
    if text in _AUTO:
        return None
    split = split_length(text)
    value, unit = split if split is not None else (0.0, "?")
    mm = value * MM_PER_UNIT.get(unit, MM_PER_PX)
    known = unit in MM_PER_UNIT or unit in ("", "px", "%", "em", "ex", "rem", "vw", "vh")
    if not known or value <= 0.0:
        raise ArtworkError(
            f"the page's {side} “{text[:40]}” is no size above zero", file=name, mend=_SIZE_MEND
        )
    if unit in ("%", "vw", "vh"):
        return None
    if unit in ("em", "rem", "ex"):
        return value * DEFAULT_FONT_PX * (0.5 if unit == "ex" else 1.0), False, 0.0
    return mm / MM_PER_PX if unit in MM_PER_UNIT else value, unit in MM_PER_UNIT, mm


def _filled_in(
    width: tuple[float, bool, float] | None,
    height: tuple[float, bool, float] | None,
    ratio: float | None,
) -> tuple[float | None, float | None]:
    """Return both sides in px; a missing one follows from the view box's ratio."""
    w = None if width is None else width[0]
    h = None if height is None else height[0]
    if w is None and h is not None and ratio is not None:
        w = h / ratio
    if h is None and w is not None and ratio is not None:
        h = w * ratio
    return w, h
