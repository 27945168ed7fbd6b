"""From a hand on the layout to edits of the job: seats found by row, edits written by place.

A hand takes hold of seats of a layout; what is kept are edits, which name places (see
``layout.edits``). A seat touched once more keeps its edits' place, so that one seat never has two.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import lines_of
from embellish.errors import JobError
from embellish.job.editing import place_on_line
from embellish.job.laying import Bedded
from embellish.job.model import EditTable, Job
from embellish.layout.ranked import ALONE, NO_EDIT, Ranked

Handling = Literal["move", "turn", "swap", "delete", "pin", "free"]

_ON_LINE_MM: Final = 1e-3
"""A seat this near to its place on its line is named by that place."""

_MM, _DEG, _SHARE = 4, 4, 9
"""Decimals that are kept of lengths, turns and shares: finer than any hand."""


@dataclass(frozen=True, eq=False)
class Touch:
    """What a hand did to some seats.

    Parameters
    ----------
    rows : array of shape (k,)
        Rows of the layout.
    do
        ``free`` takes back whatever was done to a seat by hand.
    dx_mm, dy_mm
        How far they were moved, in layout millimetres.
    turn_deg
        How far each was turned about its centre, clockwise as seen.
    piece
        What they were swapped for.
    """

    rows: Ints
    do: Handling
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    turn_deg: float = 0.0
    piece: str | None = None


@dataclass(frozen=True)
class EditStep:
    """One change of the job's edits: of the one of this number, or a new one at the end (None).

    ``table`` holds the keys that change, None where the edit goes.
    """

    number: int | None
    table: dict[str, Any] | None


def edits_of_touch(
    touch: Touch, bedded: Bedded, job: Job, artwork: Artwork
) -> tuple[EditStep, ...]:
    """Return how the job's edits change for what a hand did.

    Of a seat and its mirror image in a symmetric lay, both in hand, only the first is written.
    Edits that go come last, the highest number first.

    Raises
    ------
    JobError
        Where the layout was kept, or a row is not of it.
    """
    seated = bedded.seated
    if seated is None:
        raise JobError(
            "this layout was kept, so nothing in it is moved",
            mend="Lay it anew first, and freeze it again when it is right.",
        )
    if len(touch.rows) and not 0 <= touch.rows.min() <= touch.rows.max() < len(seated):
        raise JobError("a seat in hand is not of this layout", mend="Choose the seats again.")
    steps: list[EditStep] = []
    seen: set[int] = set()
    for row in np.unique(touch.rows).tolist():
        twin = int(seated.twin[row])
        if twin in seen:
            continue
        seen.add(row)
        steps += _of_seat(touch, row, bedded, seated, job, artwork)
    going = [step for step in steps if step.table is None]
    staying = [step for step in steps if step.table is not None]
    return (*staying, *sorted(going, key=lambda step: -(step.number or 0)))


def edit_that_adds(
    lay: str, piece: str, xy_mm: tuple[float, float], angle_deg: float, bedded: Bedded
) -> EditStep:
    """Return the edit that sets one more piece of a lay at a place of the layout."""
    back = bedded.to_layout.inverse()
    table: dict[str, Any] = {"lay": lay, "do": "add", "at": _shares(back(np.array(xy_mm)), bedded)}
    table["piece"] = piece
    turn = float(np.mod(back.turned_deg(np.array([angle_deg]))[0], 360.0))
    if turn:
        table["turn_deg"] = round(turn, _DEG)
    return EditStep(None, table)


def _of_seat(
    touch: Touch, row: int, bedded: Bedded, seated: Ranked, job: Job, artwork: Artwork
) -> Iterator[EditStep]:
    first = int(seated.edit[row])
    if first != NO_EDIT and job.edit[first].do == "add":
        yield _of_added(touch, first, job.edit[first], bedded)
        return
    place, along_deg = _place(row, bedded, seated, job, artwork)
    # Edits made of this seat already, by what they do; of two alike the later one goes on.
    mine: dict[str, int] = {}
    if first != NO_EDIT:
        address = _address(job.edit[first])
        mine = {each.do: n for n, each in enumerate(job.edit) if _address(each) == address}
        along_deg = 0.0 if job.edit[first].at is not None else along_deg
        primary = _is_primary(row, seated, _spot(job.edit[first], bedded, artwork))
    else:
        primary = True
    if touch.do == "free":
        yield from (EditStep(number, None) for number in mine.values())
        return
    if touch.do == "pin":
        if not mine:
            yield EditStep(None, {**place, "do": "pin"})
        return
    if touch.do == "delete":
        yield from (EditStep(number, None) for do, number in mine.items() if do != "delete")
        yield EditStep(None, {**place, "do": "delete"})
        return
    old = job.edit[mine[touch.do]] if touch.do in mine else None
    change = _change(touch, old, along_deg, row, bedded, seated, primary=primary)
    yield EditStep(mine.get(touch.do), change if old else {**place, "do": touch.do, **change})


def _change(
    touch: Touch,
    old: EditTable | None,
    along_deg: float,
    row: int,
    bedded: Bedded,
    seated: Ranked,
    *,
    primary: bool,
) -> dict[str, Any]:
    """Return what an edit says, with what was done before added up."""
    if touch.do == "swap":
        return {"piece": touch.piece}
    back = bedded.to_layout.inverse()
    if touch.do == "turn":
        # Seen in a mirror, clockwise is the other way round.
        sign = (-1.0 if back.mirrors else 1.0) * (1.0 if primary else -1.0)
        return {"turn_deg": round((old.turn_deg if old else 0.0) + sign * touch.turn_deg, _DEG)}
    step = _moved(touch, bedded)
    if not primary:
        step = _mirrored(step, row, seated)
    turn = np.radians(along_deg)
    cos, sin = float(np.cos(turn)), float(np.sin(turn))
    along = (old.along_mm if old else 0.0) + cos * step[0] + sin * step[1]
    across = (old.across_mm if old else 0.0) - sin * step[0] + cos * step[1]
    return {"along_mm": round(float(along), _MM), "across_mm": round(float(across), _MM)}


def _of_added(touch: Touch, number: int, edit: EditTable, bedded: Bedded) -> EditStep:
    """Return how an edit that added a piece itself changes."""
    if touch.do in ("delete", "free"):
        return EditStep(number, None)
    if touch.do == "swap":
        return EditStep(number, {"piece": touch.piece})
    back = bedded.to_layout.inverse()
    if touch.do == "turn":
        turned = edit.turn_deg + (-touch.turn_deg if back.mirrors else touch.turn_deg)
        return EditStep(number, {"turn_deg": round(float(np.mod(turned, 360.0)), _DEG)})
    if edit.at is None or touch.do == "pin":
        return EditStep(number, {})
    at = np.array(edit.at) * bedded.layout.page_mm[0] + _moved(touch, bedded)
    return EditStep(number, {"at": _shares(at, bedded)})


def _place(
    row: int, bedded: Bedded, seated: Ranked, job: Job, artwork: Artwork
) -> tuple[dict[str, Any], float]:
    """Return a seat's place as an edit names it, and the direction of its line there."""
    layout = seated.layout
    place: dict[str, Any] = {"lay": job.lay[int(layout.lay[row])].id}
    first = int(seated.edit[row])
    old = job.edit[first] if first != NO_EDIT else None
    if old is not None and old.at is not None:
        shape = {} if old.shape is None else {"shape": old.shape}
        return {**place, **shape, "at": list(old.at)}, 0.0
    if old is not None:
        number = layout.shape_ids.index(old.shape) if old.shape in layout.shape_ids else -1
        line, u = old.row, float(old.u or 0.0)
    else:
        number, line, u = int(layout.shape[row]), int(layout.row[row]), float(layout.u[row])
    if number >= 0 and job.lay[int(layout.lay[row])].way == "row":
        lines = lines_of(artwork.shapes[number])
        if 0 <= line < len(lines) and 0.0 <= u <= 1.0:
            x, y, along = place_on_line(lines[line].points, u)
            near = np.hypot(*(layout.xy[row] - (x, y))) <= _ON_LINE_MM
            if near or old is not None:
                own = {"shape": layout.shape_ids[number]} | ({"row": line} if line else {})
                return {**place, **own, "u": old.u if old else round(u, _SHARE)}, along
    return {**place, "at": _shares(layout.xy[row], bedded)}, 0.0


def _address(edit: EditTable) -> tuple[Any, ...]:
    return edit.lay, edit.shape, edit.row, edit.u, edit.at


def _spot(edit: EditTable, bedded: Bedded, artwork: Artwork) -> Floats:
    """Return the place an edit names, in artwork millimetres."""
    if edit.at is not None:
        return np.array(edit.at) * bedded.layout.page_mm[0]
    shape = next(each for each in artwork.shapes if each.id == edit.shape)
    return np.array(place_on_line(lines_of(shape)[edit.row].points, edit.u or 0.0)[:2])


def _is_primary(row: int, seated: Ranked, spot: Floats) -> bool:
    """Tell whether a seat is the one its edits name, and not that one's mirror image."""
    twin = int(seated.twin[row])
    if twin in (ALONE, row):
        return True
    away = np.hypot(*(seated.layout.xy[[row, twin]] - spot).T)
    return bool(away[0] <= away[1])


def _moved(touch: Touch, bedded: Bedded) -> Floats:
    """Return how far seats were moved, in artwork millimetres."""
    back = bedded.to_layout.inverse()
    return back(np.array([touch.dx_mm, touch.dy_mm])) - back(np.zeros(2))


def _mirrored(step: Floats, row: int, seated: Ranked) -> Floats:
    """Return a seat's step as its mirror image takes it; twins face each other over the axis."""
    across = seated.layout.xy[int(seated.twin[row])] - seated.layout.xy[row]
    across = across / np.hypot(*across)
    mirrored: Floats = step - 2.0 * float(step @ across) * across
    return mirrored


def _shares(xy: Floats, bedded: Bedded) -> list[float]:
    width = bedded.layout.page_mm[0]
    return [round(float(value) / width, _SHARE) for value in xy]
