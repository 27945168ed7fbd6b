"""The photo of the garment in its place under a job's proof."""

from __future__ import annotations

from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.job.files import OpenJob
from embellish.layout.layout import Layout
from embellish.outputs.backdrop import Backdrop
from embellish.plans.background import background_noticed


def backdrop_of(opened: OpenJob, page_mm: tuple[float, float]) -> Backdrop | None:
    """Return the photo in its place, mirrored for the partner of a pair; None where there is none.

    Parameters
    ----------
    page_mm
        Width and height of the layout's page.
    """
    wanted, photo = opened.job.background, opened.photo
    if wanted is None or photo is None:
        return None
    to_layout = wanted.placed(photo.size_px, page_mm)
    if opened.mirrored:
        to_layout = Affine.mirror_x(page_mm[0] / 2.0) @ to_layout
    return Backdrop(photo, to_layout, wanted.fade, wanted.around_mm)


def noticed_of_photo(opened: OpenJob, layout: Layout) -> tuple[Finding, ...]:
    """Return what the maker should know of the photo under a layout."""
    backdrop = backdrop_of(opened, layout.page_mm)
    if backdrop is None or opened.job.background is None:
        return ()
    name, size = opened.job.background.file, backdrop.photo.size_px
    return tuple(background_noticed(name, size, backdrop.to_layout, layout))
