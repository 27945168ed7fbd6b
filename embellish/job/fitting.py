"""A job made to meet a budget by the least change that does.

Counts do not always fall as gaps grow: a row may close with one more piece, a fill may turn to a
better lattice. So the change is bracketed first, in steps that double and then halve, which gives
a step that is known to do. Then every closer step is laid, from the least change on, and the first
that keeps to the budget is taken. Only where that were too much work for a large job are the steps
of the last bracket alone laid; `Fit.all_closer` tells which it was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation
from typing import Final, Literal

from embellish.errors import JobError
from embellish.formats.nearest import nearest
from embellish.job.comparing import Figures, figures_of
from embellish.job.courses import Bounds, By, Course, course
from embellish.job.files import OpenJob
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import Bedded, lay_job
from embellish.job.making import Checked, checked_bed
from embellish.job.model import Job
from embellish.job.partners import CheckedPair, in_pair, materials_of, paired, sides_of
from embellish.layout.ways.way import Progress, no_progress
from embellish.plans.money import total, written

Pieces = tuple[str, ...] | dict[str, float]
What = Literal["count", "cost", "minutes", "stitches"]

_BRACKET_STEPS: Final = 16
_PLANNED: Final = 10
"""What laying and planning costs, in layings."""
_MOST_WORK: Final = 400_000
"""Pieces times steps: more would take many minutes, and then only a bracket is laid through."""


@dataclass(frozen=True)
class Budget:
    """What may not be exceeded: of one garment pieces or stitches, of all cost or minutes.

    Where a job makes pairs, a garment is a pair: both sides together keep to it.
    """

    what: What
    most: Decimal


def budget_of(given: Mapping[What, int | str | None]) -> Budget:
    """Return the one budget that is given.

    Raises
    ------
    JobError
        Where there is none, or more than one, or it is no amount.
    """
    asked = [(what, value) for what, value in given.items() if value is not None]
    if len(asked) != 1:
        raise JobError(
            "more than one budget is given" if asked else "no budget is given",
            item="embellish fit",
            mend="Give one of --count, --cost, --minutes or --stitches.",
        )
    what, value = asked[0]
    try:
        most = Decimal(str(value))
    except InvalidOperation:
        most = Decimal("NaN")
    if not most.is_finite() or most <= 0:
        raise JobError(
            f"'{value}' is no amount", item=f"--{what}", mend="Give a number, such as 40.00."
        )
    return Budget(what, most)


@dataclass(frozen=True, eq=False)
class Fit:
    """A job before and after.

    Parameters
    ----------
    by
        What was changed; None where nothing had to be.
    gaps_mm, pieces
        What is new, by lay.
    tried
        How many layouts were looked at.
    all_closer
        Whether every closer step of that course was laid and is over the budget.
    notes
        What the maker should know of the change.
    """

    before: Checked | CheckedPair
    after: Checked | CheckedPair
    by: By | None = None
    gaps_mm: dict[str, float] = field(default_factory=dict)
    pieces: dict[str, Pieces] = field(default_factory=dict)
    tried: int = 1
    all_closer: bool = True
    notes: tuple[str, ...] = ()

    @property
    def changed(self) -> bool:
        """Whether anything had to change."""
        return self.by is not None

    @property
    def sentences(self) -> tuple[str, ...]:
        """The notes, and whether closer steps may do as well."""
        near = "Closer steps were tried near this one alone: one far below it might do as well."
        return (*(f"{note}." for note in self.notes), *(() if self.all_closer else (near,)))


def fitted(
    opened: OpenJob,
    budget: Budget,
    bounds: Bounds | None = None,
    by: Sequence[By] = ("gap",),
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Fit:
    """Return a job that is changed by the least that meets a budget.

    Parameters
    ----------
    opened
        The job.
    budget
        What may not be exceeded.
    bounds
        Which lays may change, and how far; all of them by what is usual where it is None.
    by
        What may change, what is rather changed first: each is tried alone, and the first that
        meets the budget is taken.

    Raises
    ------
    JobError
        Where a lay is not there, or nothing that is allowed meets the budget.
    """
    ids = [lay.id for lay in opened.job.lay]
    bounds = bounds or Bounds(())
    for each in (*bounds.lays, *bounds.own_mm):
        if each not in ids:
            raise JobError(
                f"there is no lay '{each}'", item="embellish fit", mend=nearest(each, ids)
            )
    bounds = replace(bounds, lays=tuple(dict.fromkeys(bounds.lays or ids)))
    trials = _Trials(replace(opened, kept=None), budget, progress)
    before = trials.checked(opened.job)
    if trials.meets(opened.job):
        return Fit(before, before, notes=_holds_for(before, budget))
    told: list[str] = []
    for each in dict.fromkeys(by):
        search = _Search(course(each, opened.job, opened.catalogue, bounds), opened.job, trials)
        step = search.least(sum(len(side.layout) for side in sides_of(before)))
        if step is None:
            told.append(search.shortfall())
            continue
        return _found(before, search, step)
    raise JobError(
        "; ".join(told) + f", and {budget.most} are allowed",
        file=str(opened.path),
        mend="Allow wider gaps with --most-wider-mm, name another --by, take smaller or cheaper"
        " pieces, or drop a lay.",
    )


def _found(before: Checked | CheckedPair, search: _Search, step: int) -> Fit:
    after = search.trials.checked(search.job(step))
    was = {lay.id: lay for lay in before.opened.job.lay}
    lays = after.opened.job.lay
    moved = [lay for lay in lays if lay != was[lay.id]]
    notes = [search.course.notes[lay.id] for lay in moved if lay.id in search.course.notes]
    return Fit(
        before,
        after,
        search.course.by,
        {lay.id: lay.gap_mm for lay in moved if lay.gap_mm != was[lay.id].gap_mm},
        {lay.id: lay.pieces for lay in moved if lay.pieces != was[lay.id].pieces},
        search.trials.tried,
        search.all_closer,
        (*notes, *_holds_for(after, search.trials.budget)),
    )


def _holds_for(checked: Checked | CheckedPair, budget: Budget) -> tuple[str, ...]:
    """Return which of several garments the budget was held against, and what is not in it."""
    opened, notes = checked.opened, []
    plan = materials_of(checked)
    sending = total(order.shipping for order in plan.orders)
    if budget.what == "cost" and sending:
        amount = f"{written(sending, plan.currency)} {plan.currency}".strip()
        notes.append(f"Sending is not in this cost: it takes {amount} more")
    if opened.size:
        notes.append(f"It is size {opened.size} that keeps to this; other sizes take other numbers")
    if opened.job.partner is not None:
        notes.append("Both sides of the pair together keep to this")
    return tuple(notes)


_WORDS: Final[dict[What, str]] = {
    "count": "pieces",
    "cost": "of materials",
    "minutes": "minutes",
    "stitches": "stitches",
}


class _Trials:
    """Jobs laid and what they come to."""

    def __init__(
        self, opened: OpenJob, budget: Budget, progress: Callable[[str], Progress]
    ) -> None:
        self._opened = opened
        self.budget = budget
        self.progress = progress
        self._memory = LayMemory()
        self.tried = 0

    def checked(self, job: Job) -> Checked | CheckedPair:
        """Return a job laid, planned and checked; both sides of a pair."""
        sides = [checked_bed(*laid) for laid in self._lay(job)]
        return paired(sides) if len(sides) > 1 else sides[0]

    def _lay(self, job: Job) -> list[tuple[OpenJob, Bedded]]:
        return [
            (
                side,
                lay_job(
                    side.job,
                    side.artwork,
                    side.catalogue,
                    partner=side.mirrored,
                    memory=self._memory,
                ),
            )
            for side in in_pair(replace(self._opened, job=job), thaw=True)
        ]

    def meets(self, job: Job) -> bool:
        """Tell whether a job keeps to the budget; never over."""
        return self.figure(job) <= self.budget.most

    def figure(self, job: Job) -> Decimal:
        """Return what the budget is of."""
        self.tried += 1
        if self.budget.what == "count":  # counted without a plan
            return Decimal(sum(len(bedded.layout) for _, bedded in self._lay(job)))
        spent = spent_of(figures_of(self.checked(job)), self.budget.what)
        if spent is None:
            raise JobError(
                "the cost of a piece is not known",
                file=str(self._opened.path),
                mend="Enter packs and prices in your own catalogue.",
            )
        return spent


def spent_of(figures: Figures, what: What) -> Decimal | None:
    """Return what a job takes of what a budget is of; None for a cost that is not known."""
    match what:
        case "count":
            return Decimal(figures.seats)
        case "cost":
            return figures.cost
        case "minutes":
            return figures.minutes
        case _:
            return Decimal(figures.stitches)


class _Search:
    """The least step of one course that keeps to the budget; each step is laid once."""

    def __init__(self, course: Course, job: Job, trials: _Trials) -> None:
        self.course = course
        self.trials = trials
        self.all_closer = True
        self._job = job
        self._figures: dict[int, Decimal] = {}

    def job(self, step: int) -> Job:
        """Return the job at a step."""
        return self.course.at(self._job, step)

    def _meets(self, step: int) -> bool:
        if step not in self._figures:
            self.trials.progress(f"trying {_STEPS[self.course.by]}, step {step}")
            self._figures[step] = self.trials.figure(self.job(step))
        return self._figures[step] <= self.trials.budget.most

    def least(self, pieces: int) -> int | None:
        """Return the least step that meets the budget; None where none that is tried does.

        Parameters
        ----------
        pieces
            How many the job sets: what one layout costs.
        """
        most = self.course.length
        if not self.course.steadily:
            return next((step for step in range(1, most + 1) if self._meets(step)), None)
        if not most:
            return None
        low, high = 0, min(8, most)
        while not self._meets(high):
            if high >= most:
                return None
            low, high = high, min(high * 2, most)
        each = pieces if self.trials.budget.what == "count" else pieces * _PLANNED
        affordable = each * high <= _MOST_WORK
        while not affordable and high - low > _BRACKET_STEPS:
            middle = (low + high) // 2
            if self._meets(middle):
                high = middle
            else:
                low = middle
        self.all_closer = affordable or low == 0
        first = 1 if affordable else low + 1
        return next((s for s in range(first, high + 1) if self._meets(s)), None)

    def shortfall(self) -> str:
        """Return in words how far this course comes."""
        by = _STEPS[self.course.by]
        if not self._figures:
            return f"there is nothing for {by}"
        nearest_figure = min(self._figures.values())
        what = _WORDS[self.trials.budget.what]
        return f"with {by} the job still takes {nearest_figure} {what}"


_STEPS: Final[dict[By, str]] = {
    "gap": "wider gaps",
    "cheaper": "a cheaper like piece",
    "size": "other sizes of the same piece",
}
