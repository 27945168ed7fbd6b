"""Rows that meet seats of earlier lays: laid anew around them, so that no hole stays beside one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.geometry.footprints import Footprint, Part, Standing
from embellish.geometry.gaps.gaps import neighbour_gaps_between
from embellish.geometry.outline_offsets import offset
from embellish.geometry.outlines import Outline, circle
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.row import Row
from embellish.layout.ways.way import Occupied
from embellish.units import LAY_SLACK_MM


def in_the_way(occupied: Occupied, gap_mm: float) -> Standing:
    """Return the seats of earlier lays, grown where they keep a wider gap than the row's own."""
    extra = np.round(occupied.gap_mm - gap_mm, 9)
    kinds, kind = np.unique(
        np.stack([occupied.footprint.astype(np.float64), extra], axis=1).reshape(-1, 2),
        axis=0,
        return_inverse=True,
    )
    footprints = tuple(
        _grown(occupied.footprints[int(index)], float(wider)) for index, wider in kinds
    )
    return Standing(occupied.xy, occupied.angle_deg, kind.reshape(-1), footprints)


def _grown(footprint: Footprint, wider_mm: float) -> Footprint:
    if wider_mm <= 0.0:
        return footprint
    radius = footprint.round_radius_mm
    try:
        if radius is None:
            grown = [replace(part, outline=_wider(part, wider_mm)) for part in footprint.parts]
            return Footprint.of(*grown)
    except EmbellishError:
        radius = footprint.reach_mm
    return Footprint.of(circle(2.0 * (radius + wider_mm)))


def _wider(part: Part, wider_mm: float) -> Outline:
    radius = part.outline.round_radius_mm
    if radius is not None:
        return circle(2.0 * (radius + wider_mm))
    return offset(part.outline, wider_mm)


def laid_round(
    lay: Callable[[Standing], Row], own: Standing, blocking: Standing, bodies: Bodies, gap_mm: float
) -> tuple[Row, int]:
    """Return a row, laid anew around what blocks it, and how many pieces that cost.

    Parameters
    ----------
    lay
        Lays the row around what is given.
    own
        What the lay itself has set already.
    blocking
        Seats of earlier lays.
    bodies
        The row's pieces.
    gap_mm
        The gap between outlines.
    """
    row = lay(own)
    if not len(row) or not len(blocking):
        return row, 0
    # A row may be moved by a pitch at most, so only what is near it matters.
    within = 2.0 * float(bodies.reach.max() + blocking.reach_mm.max()) + 2.0 * gap_mm
    low, high = row.xy.min(axis=0) - within, row.xy.max(axis=0) + within
    near = blocking.within(low, high)
    standing = Standing(row.xy, row.angle_deg, row.choice, bodies.footprints)
    pairs, _ = neighbour_gaps_between(standing, near, gap_mm + LAY_SLACK_MM)
    if not len(pairs):
        return row, 0
    again = lay(joined_standing(own, near))
    return replace(again, left_out_mm=row.left_out_mm), len(row) - len(again)


def joined_standing(one: Standing, other: Standing) -> Standing:
    """Return what stands in both."""
    return Standing(
        np.concatenate([one.xy, other.xy]),
        np.concatenate([one.angle_deg, other.angle_deg]),
        np.concatenate([one.footprint, other.footprint + len(one.footprints)]),
        one.footprints + other.footprints,
    )


@dataclass(frozen=True, eq=False)
class Around:
    """A row of a shape, and how many pieces seats of earlier lays have cost it."""

    shape_id: str
    row: Row
    fewer: int


def laid_around_told(rows: Sequence[Around]) -> list[Finding]:
    """Return one finding for all rows that earlier lays have cost pieces, none where none has."""
    fewer = [each for each in rows if each.fewer > 0]
    if not fewer:
        return []
    lost = sum(each.fewer for each in fewer)
    names = list(dict.fromkeys(each.shape_id for each in fewer))
    count = "1 piece fewer stands" if lost == 1 else f"{lost} pieces fewer stand"
    where = f"'{names[0]}'" if len(names) == 1 else f"{len(names)} shapes"
    rest = (
        "its row is" if len(fewer) == 1 else "their rows are" if len(names) > 1 else "its rows are"
    )
    standing = sorted((each for each in fewer if len(each.row)), key=lambda each: -each.fewer)
    place = (float(standing[0].row.xy[0, 0]), float(standing[0].row.xy[0, 1])) if standing else None
    return [
        Finding(
            "laid-around",
            "warning",
            f"{count} on {where}: {rest} spaced anew around seats of earlier lays.",
            place,
            mend="Move the shapes apart, or put the lay that matters more first.",
        )
    ]
