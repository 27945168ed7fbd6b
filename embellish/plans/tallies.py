"""What one layout takes, told apart: by lay and piece, by template, by hooping."""

from __future__ import annotations

from dataclasses import dataclass

from embellish.layout.layout import Layout
from embellish.plans.piece_counts import pieces_by_lay
from embellish.plans.stitching.values import StitchPlan
from embellish.plans.templates.template import TemplatePlan


@dataclass(frozen=True, slots=True)
class LayTally:
    """Pieces of one code in one lay, one garment."""

    lay: str
    set_by: str
    code: str
    pieces: int


@dataclass(frozen=True, slots=True)
class TemplateTally:
    """One template: how many seats, of what, lifted how often for one garment."""

    template: str
    seats: int
    lifts: int
    codes: dict[str, int]


@dataclass(frozen=True, slots=True)
class HoopingTally:
    """One file to sew: how many marks, for how many seats, and stitches."""

    hooping: int
    position: str
    marks: int
    seats: int
    stitches: int


def by_lay(layout: Layout) -> tuple[LayTally, ...]:
    """Return the pieces of each lay, units counted member by member."""
    return tuple(
        LayTally(layout.lays[lay].id, layout.lays[lay].set_by, code, number)
        for (lay, code), number in sorted(pieces_by_lay(layout).items())
    )


def by_template(plan: TemplatePlan) -> tuple[TemplateTally, ...]:
    """Return the templates of one garment."""
    return tuple(
        TemplateTally(
            each.name, len(each.rows), each.lifts, dict(zip(each.order, each.counts, strict=True))
        )
        for each in plan.templates
    )


def by_hooping(plan: StitchPlan) -> tuple[HoopingTally, ...]:
    """Return what is sewn in each placing of the hoop."""
    return tuple(
        HoopingTally(
            each.number + 1,
            each.position,
            len(each.marks),
            sum(len(mark.seats) for mark in each.marks),
            each.effort.stitches,
        )
        for each in plan.hoopings
    )
