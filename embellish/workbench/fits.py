"""A budget tried at the workbench: one search at a time, shown as a draft until it is used."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any, Final

from embellish.errors import JobError
from embellish.job.fitting import Fit, What, budget_of, fitted
from embellish.job.partners import sides_of
from embellish.job.text.changes import SetValue
from embellish.layout.ways.way import Progress
from embellish.workbench.drawn import drawn_bytes
from embellish.workbench.facts import figures_shown
from embellish.workbench.layer import Laid
from embellish.workbench.plain_words import in_plain_words

BUDGETS: Final[tuple[What, ...]] = ("count", "cost", "minutes", "stitches")
_STOPPED: Final = "the search for a fit was stopped"


class Fits:
    """The search for a fit, and what it found last; safe to use from several threads."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._stop = threading.Event()
        self._held: tuple[int, Fit] | None = None

    def stop(self) -> None:
        """Give up what is being searched, before its next layout."""
        self._stop.set()

    def find(
        self, laid: Laid, what: What, most: str, told: Callable[[str], None]
    ) -> dict[str, Any]:
        """Return a job's figures as it is and as it would be, with the gaps for that.

        Raises
        ------
        EmbellishError
            Where it does not fit, was stopped, or another search is at work.
        """
        assert laid.opened is not None  # noqa: S101 - of what is whole
        if not self._guard.acquire(blocking=False):
            raise JobError("a fit is being searched already", mend="Wait for it, or stop it.")
        try:
            self._stop.clear()
            self._held = None

            def stage(words: str) -> Progress:
                def tell(_share: float) -> None:
                    if self._stop.is_set():
                        raise JobError(_STOPPED, mend="Nothing was changed.")

                tell(0.0)
                told(words)
                return tell

            found = fitted(laid.opened, budget_of({what: most}), progress=stage)
            self._held = (laid.number, found)
            return {
                "number": laid.number,
                "what": what,
                "most": most,
                "before": figures_shown(found.before),
                "after": figures_shown(found.after),
                "gaps_mm": found.gaps_mm,
                "tried": found.tried,
                "notes": [in_plain_words(each) for each in found.sentences],
            }
        finally:
            self._guard.release()

    def drawn(self, number: int) -> bytes:
        """Return what the fit of a state is drawn with."""
        return drawn_bytes(self._drawn(number))

    def changes(self, number: int) -> tuple[list[SetValue], str]:
        """Return the changes that make the job so, and their words."""
        found = self._of(number)
        changes = [
            SetValue(do="set", at=["lay", lay, "gap_mm"], value=gap)
            for lay, gap in found.gaps_mm.items()
        ]
        return changes, "gaps widened to fit"

    def _of(self, number: int) -> Fit:
        if self._held is None or self._held[0] != number:
            raise JobError("the job has changed since this fit", mend="Search the fit again.")
        return self._held[1]

    def _drawn(self, number: int) -> Laid:
        # Of a pair the page shows the side that is drawn.
        sides = sides_of(self._of(number).after)
        after = next(side for side in sides if not side.opened.mirrored)
        return Laid(number, after.opened, after.bedded, draft=True)
