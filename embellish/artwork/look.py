"""What a person wants to know of artwork before laying anything on it, as plain facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.areas import filled_areas
from embellish.artwork.artwork import Artwork, Shape
from embellish.findings import Finding
from embellish.geometry.curves import segment_bounds, segment_lengths


def look_facts(artwork: Artwork, findings: Sequence[Finding]) -> dict[str, Any]:
    """Return the facts of artwork, ready for JSON.

    ``width_mm`` and ``height_mm`` are the page's, or the bounds' of all shapes where there is no
    page. Artwork without a physical size has null there and ``size_in_units`` beside; the
    figures of its shapes are then in its own units.
    """
    bounds = artwork.bounds() or (0.0, 0.0, 0.0, 0.0)
    width, height = artwork.page or (bounds[2] - bounds[0], bounds[3] - bounds[1])
    facts: dict[str, Any] = {
        "width_mm": _short(width) if artwork.sized else None,
        "height_mm": _short(height) if artwork.sized else None,
    }
    if not artwork.sized:
        facts["size_in_units"] = [_short(width), _short(height)]
    facts["shapes"] = _shape_facts(artwork.shapes)
    facts["findings"] = [finding.as_json() for finding in findings]
    return facts


def _shape_facts(shapes: Sequence[Shape]) -> list[dict[str, Any]]:
    """Return the facts of each shape; figures of all shapes are worked out together."""
    if not shapes:
        return []
    counts = np.array([sum(len(path.segments) for path in shape.paths) for shape in shapes])
    first = np.cumsum(counts) - counts
    every = np.concatenate([path.segments for shape in shapes for path in shape.paths])
    lengths = np.add.reduceat(segment_lengths(every), first)
    bounds = segment_bounds(every)
    low = np.minimum.reduceat(bounds[:, :2], first)
    high = np.maximum.reduceat(bounds[:, 2:], first)
    extents = _shortened(np.concatenate([low, high], axis=1))
    return [
        {
            "id": shape.id,
            "layer": shape.layer,
            "kind": shape.kind,
            "fill": shape.fill,
            "stroke": shape.stroke,
            "area_mm2": None if area is None else _short(area),
            "length_mm": length,
            "bounds_mm": extent,
        }
        for shape, area, length, extent in zip(
            shapes, filled_areas(shapes), _shortened(lengths), extents, strict=True
        )
    ]


def _shortened(values: Floats) -> list[Any]:
    """Return `_short` of each."""
    short: list[Any] = (np.round(values, 4) + 0.0).tolist()
    return short


def _short(value: float) -> float:
    """Round to a tenth of a micrometre: more digits tell nobody anything."""
    return round(value, 4) + 0.0
