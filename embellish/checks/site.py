"""What a check may look at: the layout, where it was to go, and the plans made from it."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from embellish.layout.layout import Layout


@dataclass(frozen=True, eq=False)
class Site:
    """Everything a rule may look at; a rule changes nothing.

    Parameters
    ----------
    layout
        All seats, in layout millimetres.
    regions
        For each lay, the region it fills, or None where it does not fill one.
    edges_mm
        For each lay, the margin asked to the region's edge.
    """

    layout: Layout
    regions: tuple[BaseGeometry | None, ...]
    edges_mm: tuple[float, ...]
