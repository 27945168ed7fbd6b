"""The order of work: sew marks, press, sew on, glue last; what the work sheet prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Bools
from embellish.layout.layout import Lay, Layout, SetBy
from embellish.plans.cloth import LYING_FLAT, ClothState
from embellish.plans.cut_sheets import SheetPlan
from embellish.plans.lengths import cut_words, cuts_of
from embellish.plans.lifts import LiftPlan
from embellish.plans.materials import MaterialLine
from embellish.plans.paper import PaperPlan
from embellish.plans.stitching.stitch import StitchPlan
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.working.cautions import Caution, cautions_for
from embellish.plans.working.cutting import cutting_steps, reel_steps
from embellish.plans.working.lifting import lifting_steps, seat_counts
from embellish.plans.working.patterns import pattern_steps
from embellish.plans.working.step import Step, StepKind

__all__ = ["Step", "StepKind", "WorkPlan", "plan_work"]

_OVER_MARKS: Final = "By hand, over the marks."
_BY_CHART: Final = "By hand, by the chart: no marks are sewn for it."
_FROM_BACK: Final = (
    "From the back: the cloth lies with its back up, marks and chart-back are MIRRORED."
)


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """What the maker works from.

    Parameters
    ----------
    steps
        In order.
    cautions
        That hold for this job.
    quantity
        Garments.
    templates, lifts, passes
        Templates cut, transfer sheets used and closings of the press, over the whole job.
    """

    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    quantity: int
    templates: int
    lifts: int
    passes: int


def plan_work(
    layout: Layout,
    templates: TemplatePlan,
    lifts: LiftPlan,
    stitches: StitchPlan | None = None,
    quantity: int = 1,
    cloth: ClothState = LYING_FLAT,
    paper: PaperPlan | None = None,
    sheets: SheetPlan | None = None,
    materials: Sequence[MaterialLine] = (),
    heat_words: str = "",
) -> WorkPlan:
    """Return the order of work.

    Parameters
    ----------
    layout
        Where the pieces stand.
    templates, lifts
        Their plans.
    stitches
        What the machine sews, where it does.
    quantity
        Garments.
    cloth
        The state in which pieces are set.
    paper
        Patterns that stand in for sewn marks.
    sheets
        The templates laid on sheets, where they are cut from such.
    materials
        What is bought for this garment alone: reels are cut as it says.
    heat_words
        What heat the cloth bears, to be said at the press; empty where that is not known.
    """
    steps = [_trying(templates, lifts)] if len(layout) else []
    steps += cutting_steps(templates, sheets)
    steps += reel_steps(materials)
    sews = stitches is not None and bool(stitches.hoopings)
    if not cloth.relaxed:
        steps.append(_stretching(cloth, quantity))
    if stitches is not None:
        steps += _sewing(stitches, quantity)
    steps += lifting_steps(layout, templates, lifts, heat_words)
    # Not before the press: heat sets ink and chalk.
    patterns = pattern_steps(paper, quantity)
    steps += patterns
    steps += _by_hand(layout, quantity, patterns=bool(patterns))
    cautions = cautions_for(layout, sewn_by_machine=sews, cut=bool(templates.templates))
    return WorkPlan(
        tuple(steps),
        cautions,
        quantity,
        len(templates.templates),
        lifts.lift_count,
        lifts.pass_count,
    )


def _trying(templates: TemplatePlan, lifts: LiftPlan) -> Step:
    press = "press, " if lifts.passes else ""
    words = [
        (
            f"Make the cloth test on the same cloth, lining and backing; {press}wash and stretch it"
            " as the garment will be, and look at every piece."
        )
    ]
    if templates.templates:
        entered = templates.settings.clearance_mm is not None
        now = "the clearance entered in the job" if entered else "the usual clearance, not tried"
        words.append(f"Cut the test-cut card: the templates have {now}.")
    words.append("'embellish trial' with this job's file makes all of that.")
    return Step("try", "Try it first", 1, tuple(words))


def _stretching(cloth: ClothState, quantity: int) -> Step:
    words = (
        "Draw two lines 100 mm long on the relaxed cloth, one along the grain and one across it.",
        (
            f"Stretch it until the line along is {100 + cloth.along_percent:g} mm long and the line"
            f" across {100 + cloth.across_percent:g} mm, and pin it to the board all round."
        ),
        (
            "Templates, marks and charts are for the cloth so stretched: leave it on the board till"
            " all is set and has cooled or dried. The proof shows it relaxed again."
        ),
    )
    return Step("stretch", f"Stretch the cloth on the board: {cloth.amounts}", quantity, words)


def _sewing(stitches: StitchPlan, quantity: int) -> list[Step]:
    steps = []
    many = len(stitches.hoopings)
    for number, hooping in enumerate(stitches.hoopings, 1):
        where = f", position {hooping.position}" if hooping.position not in ("", "only") else ""
        words = ["Change the thread where you want it; set the pieces when all is sewn."]
        if stitches.sets_at_stops:
            words = ["After each block the machine stops; do then what stands beside it."]
        if hooping.mirrored:
            words.insert(0, "MIRRORED: hoop the cloth with its back up.")
        both = any(stop.base for stop in hooping.stops)
        what = "Sew the base design and the marks" if both else "Sew the marks"
        title = what if many == 1 else f"{what}, {number} of {many}{where}"
        files = (hooping.design.name,)
        steps.append(Step("sew-marks", title, quantity, tuple(words), files=files))
    return steps


def _by_hand(layout: Layout, quantity: int, *, patterns: bool) -> list[Step]:
    """Return the steps of what is set one by one: heat-set, then sewn, then glued."""
    kinds = np.array([_fixing(layout, index) for index in range(len(layout.footprints))])
    of_seat = kinds[layout.footprint] if len(layout) else np.zeros(0, dtype="U8")
    plan: tuple[tuple[StepKind, str, SetBy, Bools, str], ...] = (
        (
            "hand",
            "Set by hand",
            "hand",
            of_seat == "heat-set",
            "Set each with a hand tool, over its mark or by the chart.",
        ),
        (
            "sew-on",
            "Sew on",
            "sewn",
            np.ones(len(layout), dtype=np.bool_),
            _OVER_MARKS,
        ),
        (
            "sew-on",
            "Sew on by the chart",
            "hand",
            of_seat == "sew-on",
            "By hand, over its mark or by the chart.",
        ),
        (
            "glue",
            "Glue on",
            "hand",
            of_seat == "glue",
            "Last of all, and lying flat until the glue has set; it must rise around the edge.",
        ),
    )
    steps = []
    for kind, title, set_by, fits_in, words in plan:
        for index, lay in enumerate(layout.lays):
            mine = (layout.lay == index) & fits_in
            if lay.set_by == set_by and mine.any():
                named = f"{title}: {lay.name or lay.id}"
                # Marks are sewn, or come from a pattern on paper.
                bare = words == _OVER_MARKS and lay.mark == "none" and not patterns
                told = (_BY_CHART if bare else words, *_lapped(lay), *_cut(layout, index))
                told = (*told, _FROM_BACK) if lay.worked_from == "back" else told
                steps.append(
                    Step(kind, named, quantity, told, seat_counts(layout, np.flatnonzero(mine)))
                )
    return steps


def _cut(layout: Layout, lay: int) -> tuple[str, ...]:
    """Return what is cut to length for a lay that is laid so."""
    cuts = cuts_of(layout, lay)
    if not cuts:
        return ()
    lengths = (
        f"In lengths, for one garment: {cut_words(cuts)}; each lies on its marked line from end to"
        " end."
    )
    return lengths, "Fasten both ends of each length, and over every few links between."


def _lapped(lay: Lay) -> tuple[str, ...]:
    if not lay.lap_mm:
        return ()
    words = (
        f"Each lies over the one before it by {lay.lap_mm:g} mm, like scales: keep to the order of"
        " the chart, and catch the next stitch under its edge."
    )
    return (words,)


def _fixing(layout: Layout, footprint: int) -> str:
    """Return how what stands on a seat is fixed; of a unit, what is done last."""
    if footprint < len(layout.pieces):
        return layout.pieces[footprint].fixing
    by_code = {piece.code: piece for piece in layout.pieces}
    unit = layout.units[footprint - len(layout.pieces)]
    found = {by_code[member.piece].fixing for member in unit.members}
    return next(each for each in ("glue", "sew-on", "heat-set") if each in found)
