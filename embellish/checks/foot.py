"""Pieces that are on the cloth while something is still to be sewn over or beside them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints
from embellish.checks.site import Site
from embellish.findings import Finding
from embellish.formats.stitches import STITCH
from embellish.layout.layout import Layout
from embellish.plans.stitching.covers import cover_of, in_frame
from embellish.plans.stitching.values import StitchPlan
from embellish.units import EPS_MM

_HIDES_MM: Final = 0.6
"""Thread so near to a stitch of a mark hides it (reasoned, no source)."""


def foot_stays_clear(site: Site) -> Iterator[Finding]:
    """Tell of pieces under later stitching, or nearer to it than the presser foot allows.

    Only pieces set at the stops, on the machine, lie there while more is sewn.
    """
    plan = site.stitches
    if plan is None or not plan.sets_at_stops:
        return
    layout = site.as_set
    set_after = _set_after(plan, len(layout))
    steps, order, base = _later(plan)
    room = plan.settings.foot_mm / 2.0
    seat, step = _near(layout, np.flatnonzero(set_after >= 0), steps, room)
    later = order[step] > set_after[seat]
    seat, step = seat[later], step[later]
    away = _distance(layout, seat, steps[step])
    close = away < room - EPS_MM
    seat, step, away = seat[close], step[close], away[close]
    for index, lay in enumerate(layout.lays):
        mine = layout.lay[seat] == index
        if not mine.any():
            continue
        under = np.unique(seat[mine & (away <= 0.0)])
        near = np.setdiff1d(np.unique(seat[mine]), under)
        worst = int(seat[mine][np.argmin(np.round(away[mine], 6))])
        by_base = bool(base[step[mine]].any())
        yield Finding(
            "piece-under-needle",
            "error",
            f"{_counted(len(under), len(near), room)} while "
            f"{'the base design' if by_base else 'a later block'} is sewn: a needle that strikes a "
            "piece can break and fly",
            site.where(worst),
            lay.id,
            _mend(by_base=by_base),
        )


def _counted(under: int, near: int, room: float) -> str:
    parts = []
    if under:
        parts.append(f"{under} of these pieces {'lies' if under == 1 else 'lie'} under the needle")
    if near:
        those = "" if under else " of these pieces"
        parts.append(f"{near}{those} nearer to it than the foot's {room:g} mm")
        if not under:
            parts[-1] = parts[-1].replace("nearer", "lies nearer" if near == 1 else "lie nearer")
    return " and ".join(parts)


def _mend(*, by_base: bool) -> str:
    first = (
        "Sew the base first (order = 'first' under [base])" if by_base else "Take blocks = 'one'"
    )
    return (
        f"{first}, or set these pieces when all is sewn (set_pieces = 'end' under [marks]), or "
        "move them away. Never sew over a piece; shield the eyes."
    )


def _set_after(plan: StitchPlan, count: int) -> Ints:
    """Return the number of the block, over all files, after which each seat is filled; -1: none."""
    found = np.full(count, -1, dtype=np.int64)
    first = 0
    for hooping in plan.hoopings:
        for mark in hooping.marks:
            seats = list(mark.seats)
            found[seats] = np.maximum(found[seats], first + mark.block)
        first += len(hooping.design.blocks)
    return found


def _later(plan: StitchPlan) -> tuple[Floats, Ints, Bools]:
    """Return all thread as steps in layout mm (m, 2, 2), the block of each, whether of the base."""
    steps: list[Floats] = [np.zeros((0, 2, 2))]
    order: list[Ints] = [np.zeros(0, dtype=np.int64)]
    base: list[Bools] = [np.zeros(0, dtype=np.bool_)]
    first = 0
    for hooping in plan.hoopings:
        back = hooping.to_stitch.inverse()
        of_base = {stop.block for stop in hooping.stops if stop.base}
        for number, block in enumerate(hooping.design.blocks):
            ends = np.flatnonzero(block.kind == STITCH)
            # The needle goes in at every stitch; thread lies between two in a row.
            sewn = (ends > 0) & (block.kind[np.maximum(ends - 1, 0)] == STITCH)
            starts = np.where(sewn, ends - 1, ends)
            pair = np.stack([block.xy[starts], block.xy[ends]], axis=1)
            steps.append(back(pair.reshape(-1, 2)).reshape(-1, 2, 2))
            order.append(np.full(len(ends), first + number))
            base.append(np.full(len(ends), number in of_base))
        first += len(hooping.design.blocks)
    return np.concatenate(steps), np.concatenate(order), np.concatenate(base)


def _near(layout: Layout, seats: Ints, steps: Floats, room: float) -> tuple[Ints, Ints]:
    """Return pairs of seats and steps that may come too near."""
    if not len(seats) or not len(steps):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(steps)).tolist())
    seat, step = tree.query(
        shapely.points(layout.xy[seats]),
        predicate="dwithin",
        distance=layout.reach_mm[seats] + room,
    )
    return seats[seat], step


def _distance(layout: Layout, seats: Ints, steps: Floats) -> Floats:
    """Return how far each step is from the piece on its seat at max size, 0 where it meets it."""
    away = np.full(len(seats), np.inf)
    start, end = (in_frame(layout, seats, steps[:, place]) for place in (0, 1))
    lines = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
    which = layout.footprint[seats]
    for footprint in np.unique(which).tolist():
        mine = which == footprint
        away[mine] = shapely.distance(cover_of(layout, footprint, "max"), lines[mine])
    return away


def marks_stay_seen(site: Site) -> Iterator[Finding]:
    """Tell of marks that a base design sewn after them hides before their pieces are set."""
    plan = site.stitches
    if plan is None or plan.base is None or plan.base.order != "last" or plan.sets_at_stops:
        return
    steps, _, base = _later(plan)
    lines = np.asarray(shapely.linestrings(steps[base]))
    tree = shapely.STRtree(lines.tolist())
    layout, hidden = site.as_set, np.zeros(len(site.as_set), dtype=np.bool_)
    for hooping in plan.hoopings:
        points = hooping.to_stitch.inverse()(hooping.design.stitches)
        for mark in hooping.marks:
            own = points[mark.first : mark.last + 1]
            found = tree.query(shapely.points(own), predicate="dwithin", distance=_HIDES_MM)
            hidden[list(mark.seats)] |= 2 * len(np.unique(found[0])) >= len(own)
    for index, lay in enumerate(layout.lays):
        rows = layout.rows(index)
        under = rows[hidden[rows]]
        if len(under):
            words = "the mark of 1 piece lies" if len(under) == 1 else f"{len(under)} marks lie"
            yield Finding(
                "mark-under-base",
                "warning",
                f"{words} under the base design, which is sewn after them and hides them",
                site.where(int(under[0])),
                lay.id,
                "Sew the base first (order = 'first' under [base]), or set these pieces by the"
                " chart.",
            )
