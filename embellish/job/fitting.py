"""A job made to meet a budget: its gaps widened by the least that does.

Counts do not always fall as gaps grow: a row may close with one more piece, a fill may turn to a
better lattice. So the widening is bracketed first, in steps that double and then halve, and inside
the bracket every step is laid, from the narrowest; the first that meets the budget is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import Final, Literal

from embellish.errors import JobError
from embellish.formats.nearest import nearest
from embellish.job.files import OpenJob
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import Bedded, lay_job
from embellish.job.making import Checked, checked_bed
from embellish.job.model import Job
from embellish.layout.ways.way import Progress, no_progress

What = Literal["count", "cost", "minutes", "stitches"]

STEP_MM: Final = 0.01
_BRACKET_STEPS: Final = 16
"""A bracket this narrow is laid step by step."""


@dataclass(frozen=True)
class Budget:
    """What may not be exceeded: of one garment pieces or stitches, of all cost or minutes."""

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
    """A job before and after; ``gaps_mm`` are the new ones, by lay."""

    before: Checked
    after: Checked
    gaps_mm: dict[str, float]
    tried: int

    @property
    def changed(self) -> bool:
        """Whether anything had to change."""
        return bool(self.gaps_mm)


def fitted(
    opened: OpenJob,
    budget: Budget,
    lays: Sequence[str] = (),
    most_mm: float = 5.0,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Fit:
    """Return a job whose gaps are widened by the least that meets a budget.

    Parameters
    ----------
    opened
        The job.
    budget
        What may not be exceeded.
    lays
        Ids of the lays whose gaps may change; all of them where none is named.
    most_mm
        The most that any gap may be widened.

    Raises
    ------
    JobError
        Where a lay is not there, or no gap that is allowed meets the budget.
    """
    ids = [lay.id for lay in opened.job.lay]
    for each in lays:
        if each not in ids:
            raise JobError(f"there is no lay '{each}'", item="--only", mend=nearest(each, ids))
    chosen = set(lays or ids)
    search = _Search(replace(opened, kept=None), budget, chosen, progress)
    before = search.at(0)
    if search.meets(0):
        return Fit(before, before, {}, search.tried)
    steps = search.least(max(1, round(most_mm / STEP_MM)))
    if steps is None:
        figure = search.figure(round(most_mm / STEP_MM))
        raise JobError(
            f"with gaps {most_mm:g} mm wider the job still takes {figure} {_WORDS[budget.what]},"
            f" and {budget.most} are allowed",
            file=str(opened.path),
            mend="Allow wider gaps with --most-wider-mm, take smaller or cheaper pieces, or drop a"
            " lay.",
        )
    after = search.at(steps)
    gaps = {lay.id: lay.gap_mm for lay in after.opened.job.lay if lay.id in chosen}
    return Fit(before, after, gaps, search.tried)


_WORDS: Final[dict[What, str]] = {
    "count": "pieces",
    "cost": "of materials",
    "minutes": "minutes",
    "stitches": "stitches",
}


class _Search:
    """Layouts by how many steps their gaps are wider; each laid once."""

    def __init__(
        self,
        opened: OpenJob,
        budget: Budget,
        lays: set[str],
        progress: Callable[[str], Progress],
    ) -> None:
        self._opened = opened
        self._budget = budget
        self._lays = lays
        self._progress = progress
        self._memory = LayMemory()
        self._laid: dict[int, tuple[OpenJob, Bedded]] = {}
        self._checked: dict[int, Checked] = {}

    @property
    def tried(self) -> int:
        """How many layouts were tried."""
        return len(self._laid)

    def at(self, steps: int) -> Checked:
        """Return the job with gaps so many steps wider, planned and checked."""
        if steps not in self._checked:
            self._checked[steps] = checked_bed(*self._lay(steps))
        return self._checked[steps]

    def _lay(self, steps: int) -> tuple[OpenJob, Bedded]:
        if steps not in self._laid:
            self._progress(f"trying gaps {steps * STEP_MM:.2f} mm wider")
            opened = replace(self._opened, job=_wider(self._opened.job, self._lays, steps))
            bedded = lay_job(opened.job, opened.artwork, opened.catalogue, memory=self._memory)
            self._laid[steps] = (opened, bedded)
        return self._laid[steps]

    def figure(self, steps: int) -> Decimal:
        """Return what the budget is of."""
        if self._budget.what == "count":
            return Decimal(len(self._lay(steps)[1].layout))  # counted without a plan
        checked = self.at(steps)
        match self._budget.what:
            case "cost":
                total = checked.plans.materials.total
                if total is None:
                    raise JobError(
                        "the cost of a piece is not known",
                        file=str(self._opened.path),
                        mend="Enter packs and prices in your own catalogue.",
                    )
                return total
            case "minutes":
                quantity = checked.opened.job.quantity
                machine = checked.plans.amounts.stitch_minutes * quantity
                return checked.plans.quote.labour_minutes + machine
            case _:
                return Decimal(
                    sum(len(each.design.stitches) for each in checked.plans.stitches.hoopings)
                )

    def meets(self, steps: int) -> bool:
        """Tell whether the job keeps to the budget; never over."""
        return self.figure(steps) <= self._budget.most

    def least(self, most: int) -> int | None:
        """Return the least number of steps that meets the budget, as near as is searched."""
        low, high = 0, 8
        while not self.meets(min(high, most)):
            if high >= most:
                return None
            low, high = high, high * 2
        high = min(high, most)
        while high - low > _BRACKET_STEPS:
            middle = (low + high) // 2
            if self.meets(middle):
                high = middle
            else:
                low = middle
        return next(steps for steps in range(low + 1, high + 1) if self.meets(steps))


def _wider(job: Job, lays: set[str], steps: int) -> Job:
    if not steps:
        return job
    return job.model_copy(
        update={
            "lay": tuple(
                lay.model_copy(update={"gap_mm": round(lay.gap_mm + steps * STEP_MM, 4)})
                if lay.id in lays
                else lay
                for lay in job.lay
            )
        }
    )
