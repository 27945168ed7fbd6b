"""Laying with a mix that changes along a field, or by a picture: laid, then dealt out anew."""

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
from embellish.layout.ways.mosaics import coloured
from embellish.layout.ways.pictures import Mosaic
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings


def lay_by(
    way: Way,
    ground: Ground,
    kit: Kit,
    settings: WaySettings,
    codes: tuple[str, ...],
    hexes: tuple[str, ...],
    stream: Stream,
    progress: Progress,
) -> Laid:
    """Lay a way; a blend deals its pieces out along a field, a mosaic by a picture.

    Parameters
    ----------
    codes
        What the job calls the kit's footprints.
    hexes
        The screen colour of each, '' for units.

    Raises
    ------
    JobError
        Where the blend names a piece the lay has not, the lay gives shares of its own, or a mosaic
        has pieces of several sizes.
    """
    if settings.mosaic is not None:
        return _mosaic(way, ground, kit, settings, settings.mosaic, codes, hexes, stream, progress)
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


def _mosaic(
    way: Way,
    ground: Ground,
    kit: Kit,
    settings: WaySettings,
    mosaic: Mosaic,
    codes: tuple[str, ...],
    hexes: tuple[str, ...],
    stream: Stream,
    progress: Progress,
) -> Laid:
    """Lay a way with one size of pieces, and give each the colour that a picture asks for."""
    if settings.blend is not None or kit.shares is not None:
        raise JobError(
            "a mosaic's picture says which piece stands where, and the lay has shares or a blend",
            mend='Write the pieces as a list, such as pieces = ["A", "B"], and leave out blend.',
        )
    other = next((k for k in range(1, len(codes)) if not _same(kit, 0, k)), None)
    if other is not None:
        raise JobError(
            f"the pieces of a mosaic are of one size and shape, and {codes[0]} and {codes[other]} "
            "differ",
            mend="Name pieces of one size in many colours.",
        )
    if not all(hexes):
        raise JobError("a mosaic is set of pieces, not of units", mend="Name pieces.")
    one = replace(kit, footprints=kit.footprints[:1], turns=kit.turns[:1])
    laid: Laid = way.lay(ground, one, settings, stream, lambda share: progress(0.7 * share))
    if not len(laid.seats):
        return laid
    seen = mosaic.seen_over(regions_of(ground))
    pitch = 2.0 * float(one.reach_mm[0]) + kit.gap_mm
    seats = coloured(
        laid.seats, hexes, mosaic, seen, pitch, lambda share: progress(0.7 + 0.3 * share)
    )
    return replace(laid, seats=seats)


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
