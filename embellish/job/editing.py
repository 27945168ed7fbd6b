"""Hand edits of a job looked up on its artwork: from addresses to places."""

from __future__ import annotations

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import lines_of
from embellish.errors import JobError
from embellish.formats.tables import nearest
from embellish.job.model import EditTable, Job
from embellish.job.sorts import Sorts
from embellish.layout.edits import Edit


def looked_up(
    job: Job, artwork: Artwork, sorts: Sorts, page_mm: tuple[float, float]
) -> tuple[Edit, ...]:
    """Return the job's hand edits with their places in artwork millimetres.

    Raises
    ------
    JobError
        Where an edit names a lay, shape or line that there is not.
    """
    return tuple(_looked_up(edit, job, artwork, sorts, page_mm) for edit in job.edit)


def _looked_up(
    edit: EditTable, job: Job, artwork: Artwork, sorts: Sorts, page_mm: tuple[float, float]
) -> Edit:
    item = f"edit '{edit.words}'"
    lays = [lay.id for lay in job.lay]
    if edit.lay not in lays:
        raise JobError(f"there is no lay '{edit.lay}'", item=item, mend=nearest(edit.lay, lays))
    if job.lay[lays.index(edit.lay)].way == "chain" and edit.do != "delete":
        raise JobError(
            "the links of a chain are not moved one by one",
            item=item,
            mend="Move its line in the drawing; a link that is deleted cuts the chain in two.",
        )
    shape = -1
    if edit.shape is not None:
        ids = [each.id for each in artwork.shapes]
        if edit.shape not in ids:
            raise JobError(
                f"there is no shape '{edit.shape}'", item=item, mend=nearest(edit.shape, ids)
            )
        shape = ids.index(edit.shape)
    row, u, along = -1, 0.0, 0.0
    if edit.u is not None:
        lines = lines_of(artwork.shapes[shape])
        if edit.row >= len(lines):
            raise JobError(
                f"shape '{edit.shape}' has {_lines(len(lines))}, so no row {edit.row}",
                item=item,
                mend=_ROWS if len(lines) == 1 else f"Give row from 0 to {len(lines) - 1}.",
            )
        row, u = edit.row, edit.u
        x, y, along = place_on_line(lines[row].points, u)
    else:
        # One unit for both numbers, so that the place is the same whatever the page's shape.
        x, y = (share * page_mm[0] for share in edit.at or (0.0, 0.0))
    return Edit(
        lay=lays.index(edit.lay),
        shape=shape,
        row=row,
        x_mm=x,
        y_mm=y,
        along_deg=along,
        u=u,
        do=edit.do,
        along_mm=edit.along_mm,
        across_mm=edit.across_mm,
        turn_deg=edit.turn_deg,
        sort=sorts.names[edit.piece] if edit.piece else -1,
        words=edit.words,
    )


_ROWS = "Leave row out, or write row = 0: rows are counted from 0."


def _lines(count: int) -> str:
    return "no line" if count == 0 else "one line" if count == 1 else f"{count} lines"


def place_on_line(points: Floats, u: float) -> tuple[float, float, float]:
    """Return the place at a fraction of a line's length, and its direction in degrees."""
    steps = np.diff(points, axis=0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*steps.T))])
    s = u * along[-1]
    x, y = np.interp(s, along, points[:, 0]), np.interp(s, along, points[:, 1])
    segment = min(int(np.searchsorted(along, s, side="right")) - 1, len(steps) - 1)
    dx, dy = steps[segment]
    return float(x), float(y), float(np.degrees(np.arctan2(dy, dx)))
