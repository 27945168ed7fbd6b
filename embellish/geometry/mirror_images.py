"""Mirror images: whether what stands on a seat is its own mirror image, turned, and how it is.

A figure that is its own mirror image has an axis through its middle. Whatever point of it lies
farthest from the middle, that axis halves the angle between it and a point that lies as far (maybe
itself): so the few such points give every axis there can be, and each is tried on the outlines.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.footprints import Footprint
from embellish.geometry.gaps.chains import signed_distance
from embellish.geometry.outlines import Outline, sampled
from embellish.geometry.segments import arc_frames
from embellish.geometry.transforms import Affine
from embellish.units import EPS_MM

_AS_FAR_MM: Final = 1e-3
"""Points count as equally far from the middle within this; the outlines themselves decide."""
_DRAWN_MM: Final = 1e-3
"""How closely the points of an image, which are measured exactly, follow its arcs."""
_MOST_AXES: Final = 64


@dataclass(frozen=True, slots=True)
class MirrorImage:
    """How a figure stands for its mirror image about its own length.

    Flipped across its own x axis, the figure is itself turned by ``turn_deg`` and moved by
    (``dx_mm``, ``dy_mm``).

    Parameters
    ----------
    off_mm
        By how much the two differ at most; within ``EPS_MM`` the figure is its own mirror image.
    """

    turn_deg: float = 0.0
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    off_mm: float = 0.0

    @property
    def exact(self) -> bool:
        """Whether the figure is its own mirror image."""
        return self.off_mm <= EPS_MM


STRAIGHT: Final = MirrorImage()
"""What is alike on both sides of its length: all named forms."""


def mirror_image(footprint: Footprint, names: Sequence[Hashable] = ()) -> MirrorImage:
    """Return how a footprint stands for its mirror image, as near as may be.

    Parameters
    ----------
    footprint
        The figure.
    names
        What each of its parts is: parts of other names are no image of each other. None given:
        all of one name.
    """
    if footprint.round_radius_mm is not None:
        return STRAIGHT
    own = list(names) or [0] * len(footprint.parts)
    outlines = [part.in_place for part in footprint.parts]
    middle = _middle(outlines)
    best = MirrorImage(off_mm=np.inf)
    for axis_deg in _axes(outlines, middle):
        # Mirrored about an axis through the middle, told from the flip across y = 0.
        about = Affine.reflect(axis_deg, *middle.tolist())
        off = _off(outlines, about, own)
        if off < best.off_mm:
            turn = Affine.reflect(0.0) @ about
            dx, dy = (np.round(turn(np.zeros(2)), 9) + 0.0).tolist()
            best = MirrorImage(round(float(np.mod(-2.0 * axis_deg, 360.0)), 9), dx, dy, off)
        if best.exact:
            break
    return best


def _axes(outlines: list[Outline], middle: Floats) -> list[float]:
    """Return the directions of the axes to try, in degrees: along and across first."""
    spots = np.concatenate([_spots(outline, middle) for outline in outlines]) - middle
    far = np.hypot(spots[:, 0], spots[:, 1])
    spots = spots[far >= far.max() - _AS_FAR_MM]
    angles = np.degrees(np.arctan2(spots[:, 1], spots[:, 0]))
    halves = np.mod((angles[0] + angles) / 2.0, 180.0)
    return [0.0, 90.0, *np.unique(np.round(halves, 9)).tolist()[:_MOST_AXES]]


def _spots(outline: Outline, middle: Floats) -> Floats:
    """Return all points of an outline that may be locally farthest from the middle."""
    arcs = outline.arcs
    bent = np.isfinite(arcs.radius)
    centre, radius = arcs.centre[bent], arcs.radius[bent]
    away = centre - middle
    length = np.hypot(away[:, 0], away[:, 1])
    apart = length > EPS_MM
    out = away[apart] / length[apart, None]
    tops = centre[apart] + out * radius[apart, None]
    angle = np.degrees(np.arctan2(out[:, 1], out[:, 0]))
    start, sweep = arcs.start_deg[bent][apart], arcs.sweep_deg[bent][apart]
    along = np.mod(np.where(sweep >= 0.0, angle - start, start - angle), 360.0)
    return np.concatenate([outline.points, tops[along <= np.abs(sweep)]])


def _middle(outlines: list[Outline]) -> Floats:
    """Return the centre of gravity of all parts, which every axis passes through."""
    moments = np.array([_moments(outline) for outline in outlines]).sum(axis=0)
    middle: Floats = moments[1:] / moments[0]
    return middle


def _moments(outline: Outline) -> Floats:
    """Return area and first moments (area, x, y): those of the chords, and of the arcs' caps."""
    p, q = outline.points, np.roll(outline.points, -1, axis=0)
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    area, first = cross.sum() / 2.0, (cross[:, None] * (p + q)).sum(axis=0) / 6.0
    centre, radius, middle = arc_frames(p, outline.bulges)
    bent = np.isfinite(radius)
    sweep = 4.0 * np.arctan(outline.bulges[bent])
    centre, radius, middle = centre[bent], radius[bent], middle[bent]
    caps = radius**2 * (sweep - np.sin(sweep)) / 2.0
    # A cap's centre lies on its middle spoke, this far out (times its area, so that 0 is no harm).
    out = 2.0 / 3.0 * radius**3 * np.abs(np.sin(sweep / 2.0)) ** 3 * np.sign(sweep)
    first = first + (caps[:, None] * centre + out[:, None] * middle).sum(axis=0)
    return np.array([area + caps.sum(), *first])


def _off(outlines: list[Outline], about: Affine, names: list[Hashable]) -> float:
    """Return how far mirrored parts are from the parts of their names, each taken once."""
    left = list(range(len(outlines)))
    worst = 0.0
    for outline, name in zip(outlines, names, strict=True):
        image = about(sampled(outline, _DRAWN_MM))
        same = [index for index in left if names[index] == name]
        offs = [_apart(outlines[index], image) for index in same]
        nearest = int(np.argmin(offs))
        worst = max(worst, offs[nearest])
        left.remove(same[nearest])
    return worst


def _apart(outline: Outline, points: Floats) -> float:
    return float(np.abs(signed_distance(outline, points[:, 0], points[:, 1])).max())
