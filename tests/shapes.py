"""The shared cast: outlines and regions, awkward ones among them."""

from __future__ import annotations

import numpy as np
import shapely

from embellish.geometry.outline_forms import navette, octagon, oval, own, pear, rectangle
from embellish.geometry.outlines import Outline, circle, sampled

CONVEX_OUTLINES: dict[str, Outline] = {
    "round": circle(3.0),
    "oval": oval(8.0, 6.0),
    "oval, upright": oval(3.0, 7.0),
    "navette": navette(10.0, 5.0),
    "pear": pear(9.0, 6.0),
    "square": rectangle(4.0, 4.0),
    "bugle": rectangle(12.0, 2.0),
    "octagon": octagon(8.0, 6.0),
    "half disc": own([(0, 0, 0), (6, 0, 1)])[0],
}

HOLLOW_OUTLINES: dict[str, Outline] = {
    "heart": own([(0, 0, 1), (4, 0, 1), (8, 0, 0.1), (4, 6, 0.1)])[0],
    "moon": own([(0, -4, 1), (0, 4, -0.6)])[0],
    "cee": own(
        [(0, 0, 0), (6, 0, 0), (6, 2, 0), (2, 2, 0), (2, 4, 0), (6, 4, 0), (6, 6, 0), (0, 6, 0)]
    )[0],
}

OUTLINES: dict[str, Outline] = {**CONVEX_OUTLINES, **HOLLOW_OUTLINES}

REGIONS: dict[str, shapely.Polygon | shapely.MultiPolygon] = {
    "square": shapely.box(0, 0, 40, 30),
    "notched, with two holes": shapely.Polygon(
        [(0, 0), (50, 0), (50, 40), (25, 10), (0, 40)],
        [[(20, 2), (22, 2), (21, 3)], [(5, 5), (9, 5), (9, 9), (5, 9)]],
    ),
    "disc and square": shapely.MultiPolygon(
        [shapely.Point(0, 0).buffer(20, quad_segs=60), shapely.box(30, 0, 60, 20)]
    ),
}


def polygon_of(
    outline: Outline,
    x: float = 0.0,
    y: float = 0.0,
    angle_deg: float = 0.0,
    tolerance: float = 1e-5,
) -> shapely.Polygon:
    """Return a dense polygon of an outline in its place, turned by shapely and not by us."""
    polygon = shapely.Polygon(sampled(outline, tolerance))
    turned = shapely.affinity.rotate(polygon, angle_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, x, y)


def ellipse(length: float, width: float, count: int) -> np.ndarray:
    """Return points of an ellipse, by its parametric form."""
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return np.stack([length / 2 * np.cos(turn), width / 2 * np.sin(turn)], axis=1)
