"""Laying with a mix that changes along a field: pieces are laid, then dealt out anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.artwork.flatten import region_of
from embellish.errors import JobError
from embellish.geometry.footprints import Footprint
from embellish.geometry.streams import Stream
from embellish.geometry.thresholds import along_line, chosen_by, in_plane
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings


def lay_by(
    way: Way,
    ground: Ground,
    kit: Kit,
    settings: WaySettings,
    codes: tuple[str, ...],
    stream: Stream,
    progress: Progress,
) -> Laid:
    """Lay a way; where its settings have a blend, deal its pieces out along the field.

    Parameters
    ----------
    codes
        What the job calls the kit's footprints.

    Raises
    ------
    JobError
        Where the blend names a piece the lay has not, or the lay gives shares of its own.
    """
    if settings.blend is None:
        laid: Laid = way.lay(ground, kit, settings, stream, progress)
        return laid
    if kit.shares is not None:
        raise JobError(
            "a blend sets the shares itself, and the lay's pieces have shares too",
            mend='Write the pieces as a list, such as pieces = ["A", "B"].',
        )
    try:
        mixture = settings.blend.over_mixture(regions_of(ground), codes)
    except KeyError as unknown:
        raise JobError(
            f"the blend names a piece {unknown.args[0]!r} that the lay has not",
            mend="Add it to the lay's pieces, or take it out of the blend.",
        ) from unknown
    kit = replace(kit, blend=mixture)
    if way.blends == "any":
        # So that each place has room for the largest.
        kit = replace(kit, shares=(1.0 / len(codes),) * len(codes))
    laid = way.lay(ground, kit, settings, stream, progress)
    if way.blends == "own" or not len(laid.seats):
        return laid
    classes = alike(kit) if way.blends == "alike" else np.zeros(len(codes), dtype=np.int64)
    return replace(laid, seats=_dealt(laid.seats, kit, classes, way, stream.child("blend")))


def regions_of(ground: Ground) -> list[BaseGeometry]:
    """Return the region of each shape, or its lines where it encloses nothing."""
    return [region_of(shape) for shape in ground.shapes]


def alike(kit: Kit) -> Ints:
    """Return a number for each footprint, equal for those that may stand in each other's place."""
    classes: list[int] = []
    for index in range(len(kit.footprints)):
        same = (classes[k] for k in range(index) if _same(kit, k, index))
        classes.append(next(same, index))
    return np.array(classes, dtype=np.int64)


def _same(kit: Kit, one: int, other: int) -> bool:
    if kit.turns[one] != kit.turns[other]:
        return False
    return _form(kit.footprints[one]) == _form(kit.footprints[other])


def _form(footprint: Footprint) -> tuple[object, ...]:
    radius = footprint.round_radius_mm
    if radius is not None:
        return (radius,)
    return tuple(
        (
            part.dx_mm,
            part.dy_mm,
            part.angle_deg,
            part.outline.points.tobytes(),
            part.outline.bulges.tobytes(),
        )
        for part in footprint.parts
    )


def _dealt(seats: Seats, kit: Kit, classes: Ints, way: Way, stream: Stream) -> Seats:
    """Return the seats with their pieces dealt out anew among those that may change places."""
    assert kit.blend is not None  # noqa: S101 - tells the type checker what `lay_by` gave
    shares = kit.blend(seats.xy)
    # Along rows in their order; over the plane for what fills it.
    thresholds = in_plane(seats.xy, stream) if way.mixes else along_line(len(seats))
    choice = seats.choice.copy()
    of_seat = classes[seats.choice]
    for each in np.unique(of_seat).tolist():
        at, pieces = np.flatnonzero(of_seat == each), np.flatnonzero(classes == each)
        choice[at] = pieces[chosen_by(among(shares[at][:, pieces]), thresholds[at])]
    return replace(seats, choice=choice)


def among(shares: Floats) -> Floats:
    """Return shares scaled to add up to 1; where there are none, equal ones."""
    total = shares.sum(axis=1, keepdims=True)
    equal = np.full_like(shares, 1.0 / shares.shape[1])
    return np.where(total > 0.0, shares / np.where(total > 0.0, total, 1.0), equal)
