"""Room for cloth that gets narrower: gaps laid so much wider that they hold when it is drawn out.

The vector between two centres is at most both reaches and the gap long, and a stretch that narrows
the cloth by a share s takes at most that share of it away; so a gap g is left of
(g + s · reaches) / (1 - s). Round pieces then keep it surely, and a check looks at all others.
"""

from __future__ import annotations

from math import ceil

from embellish.findings import Finding
from embellish.job.model import Job
from embellish.job.sorts import Sorts


def with_room(job: Job, sorts: Sorts) -> tuple[Job, tuple[Finding, ...]]:
    """Return the job with the gaps to lay with, and a note where they are wider than asked."""
    narrows = job.cloth.narrowing
    if not narrows:
        return job, ()
    # Of all lays together: the gap between two lays is the larger of theirs.
    reach = max(
        sorts.footprints[sorts.names[code]].reach_mm for lay in job.lay for code in lay.codes
    )
    lays, notes = [], []
    for lay in job.lay:
        # Up to a hundredth, so that what is told is what is laid.
        gap = ceil((lay.gap_mm + narrows * 2.0 * reach) / (1.0 - narrows) * 100.0) / 100.0
        lays.append(lay.model_copy(update={"gap_mm": gap}))
        notes.append(
            Finding(
                "gap-widened",
                "note",
                f"laid with a gap of {gap:g} mm, so that {lay.gap_mm:g} mm hold where the cloth"
                f" gets {narrows * 100.0:g} % narrower",
                lay=lay.id,
            )
        )
    return job.model_copy(update={"lay": tuple(lays)}), tuple(notes)
