"""What a person wants to know of artwork before laying anything on it, as plain facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.flatten import LINE_TOLERANCE_MM, region_of
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.geometry.curves import bezier_bounds, chain_length


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
    facts["shapes"] = [_shape_facts(shape) for shape in artwork.shapes]
    facts["findings"] = [finding.as_json() for finding in findings]
    return facts


def _shape_facts(shape: Shape) -> dict[str, Any]:
    every = np.concatenate([path.segments for path in shape.paths])
    return {
        "id": shape.id,
        "layer": shape.layer,
        "kind": shape.kind,
        "fill": shape.fill,
        "stroke": shape.stroke,
        "area_mm2": _area(shape),
        "length_mm": _short(chain_length(every)),
        "bounds_mm": [_short(value) for value in bezier_bounds(every)],
    }


def _area(shape: Shape) -> float | None:
    """Return the area a shape fills, or None where it can be no region."""
    try:
        return _short(float(region_of(shape, LINE_TOLERANCE_MM).area))
    except ArtworkError:
        return None


def _short(value: float) -> float:
    """Round to a tenth of a micrometre: more digits tell nobody anything."""
    return round(value, 4) + 0.0
