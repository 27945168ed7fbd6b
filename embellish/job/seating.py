"""From what a way laid to rows of the layout."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from embellish.arrays import Ints
from embellish.catalogue.shapes import reduced_angle
from embellish.job.lay_records import lay_record
from embellish.job.model import Job
from embellish.job.sorts import Sorts
from embellish.layout.layout import Layout
from embellish.layout.ways.way import Seats


def empty_layout(
    sorts: Sorts, job: Job, shape_ids: tuple[str, ...], page: tuple[float, float]
) -> Layout:
    """Return the layout of a job before anything is laid."""
    none, no = np.zeros(0), np.zeros(0, dtype=np.int64)
    count = len(sorts.pieces)
    return Layout(
        pieces=sorts.pieces,
        units=sorts.units,
        piece_footprints=sorts.footprints[:count],
        unit_footprints=sorts.footprints[count:],
        lays=tuple(lay_record(lay, sorts) for lay in job.lay),
        shape_ids=shape_ids,
        xy=np.zeros((0, 2)),
        angle_deg=none,
        piece=no,
        unit=no,
        lay=no,
        shape=no,
        row=no,
        u=none,
        page_mm=page,
    )


def with_seats(
    layout: Layout, seats: Seats, number: int, chosen: Ints, of_shapes: Ints, sorts: Sorts
) -> Layout:
    """Return the layout with a lay's seats after its own.

    ``chosen`` gives the sort of each piece of the kit, ``of_shapes`` the artwork's index
    of each shape of the ground.
    """
    sort = chosen[seats.choice] if len(seats) else seats.choice
    is_piece = sort < len(sorts.pieces)

    added = Layout(
        pieces=layout.pieces,
        units=layout.units,
        piece_footprints=layout.piece_footprints,
        unit_footprints=layout.unit_footprints,
        lays=layout.lays,
        shape_ids=layout.shape_ids,
        xy=seats.xy,
        angle_deg=seats.angle_deg,
        piece=np.where(is_piece, sort, -1),
        unit=np.where(is_piece, -1, sort - len(sorts.pieces)),
        lay=np.full(len(seats), number),
        shape=of_shapes[seats.shape] if len(seats) else seats.shape,
        row=seats.row,
        u=seats.u,
        page_mm=layout.page_mm,
    )
    return layout.joined(added)


def with_gap(layout: Layout, number: int, gap_mm: float) -> Layout:
    """Return the layout with the gap that a lay truly keeps."""
    lays = list(layout.lays)
    lays[number] = replace(lays[number], gap_mm=gap_mm)
    return replace(layout, lays=tuple(lays))


def reduced(layout: Layout, sorts: Sorts) -> Layout:
    """Reduce each angle by the symmetry of what stands there, so that round pieces have 0."""
    if not len(layout):
        return layout
    turns = np.array(sorts.turns)[layout.footprint]
    return replace(layout, angle_deg=reduced_angle(layout.angle_deg, turns))
