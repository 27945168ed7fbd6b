"""Hand edits: what the maker changed by hand, kept as addresses, so that it outlives a re-lay.

No number of a seat survives another gap, size or piece, since counts change. An edit therefore
names a place: of a row, the shape, the line and the fraction along it; of a fill, a point of the
artwork. After each laying, edits claim seats near their places, nearest first, each seat once,
within half the local pitch; an edit that finds none is told as lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Bools, Floats, Ints
from embellish.findings import Finding
from embellish.layout.layout import Layout

Deed = Literal["move", "turn", "swap", "delete", "pin", "add"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One hand edit, its place already looked up on the artwork.

    Parameters
    ----------
    lay, shape, row
        Index of the lay; index of the shape and number of the row, or -1 where any will do.
    x_mm, y_mm
        The place, in artwork millimetres.
    along_deg
        Direction of the row there; 0 where there is no row.
    u
        Fraction along the row, for what is added.
    do
        What was done.
    along_mm, across_mm
        For ``move``: along the row and to the right of it.
    turn_deg
        For ``turn``, and for what is added: clockwise as seen.
    sort
        For ``swap`` and ``add``: index of the piece or unit, pieces first; else -1.
    words
        How the job names it, for findings.
    """

    lay: int
    shape: int
    row: int
    x_mm: float
    y_mm: float
    along_deg: float
    u: float
    do: Deed
    along_mm: float = 0.0
    across_mm: float = 0.0
    turn_deg: float = 0.0
    sort: int = -1
    words: str = ""


@dataclass(frozen=True, eq=False)
class Edited:
    """A layout after its edits.

    Parameters
    ----------
    layout
        With the seats changed, removed and added.
    by_hand : array of shape (n,)
        Which seats a hand has set or pinned: they outrank all lays.
    weight : array of shape (n,)
        Of each seat within its lay.
    findings
        One ``edit-lost`` for each edit whose seat is gone.
    """

    layout: Layout
    by_hand: Bools
    weight: Floats
    findings: tuple[Finding, ...]


def edited(layout: Layout, weight: Floats, edits: Sequence[Edit]) -> Edited:
    """Apply edits to a layout in artwork scale.

    Parameters
    ----------
    weight : array of shape (n,)
        Of each seat within its lay; carried along.
    """
    by_hand = np.zeros(len(layout), dtype=np.bool_)
    if not edits:
        return Edited(layout, by_hand, weight, ())
    claimed = claims(layout, [edit for edit in edits if edit.do != "add"])
    of_seat = iter(claimed)
    xy, angle = layout.xy.copy(), layout.angle_deg.copy()
    piece, unit = layout.piece.copy(), layout.unit.copy()
    keep = np.ones(len(layout), dtype=np.bool_)
    findings: list[Finding] = []
    added: list[Edit] = []
    for edit in edits:
        if edit.do == "add":
            added.append(edit)
            continue
        seat = next(of_seat)
        if seat < 0:
            findings.append(_lost(edit, layout))
            continue
        by_hand[seat] = True
        if edit.do == "delete":
            keep[seat] = False
        elif edit.do == "move":
            xy[seat] += _turned(edit.along_mm, edit.across_mm, edit.along_deg)
        elif edit.do == "turn":
            angle[seat] += edit.turn_deg
        elif edit.do == "swap":
            piece[seat], unit[seat] = _columns(layout, edit.sort)
    changed = replace(layout, xy=xy, angle_deg=angle, piece=piece, unit=unit).taken(
        np.flatnonzero(keep)
    )
    whole, order = _with_added(changed, added)
    ones = np.ones(len(added))
    return Edited(
        whole,
        np.concatenate([by_hand[keep], ones.astype(np.bool_)])[order],
        np.concatenate([weight[keep], ones])[order],
        tuple(findings),
    )


def claims(layout: Layout, edits: Sequence[Edit]) -> list[int]:
    """Return the seat that each edit claims, -1 where it is lost.

    Nearest first over all edits, each seat once, within half the local pitch: the distance from
    the seat to the next one of its lay.
    """
    offers: list[tuple[float, int, int]] = []
    pitch = np.zeros(len(layout))
    for lay in {edit.lay for edit in edits}:
        rows = layout.rows(lay)
        pitch[rows] = local_pitch_mm(layout.xy[rows], layout.reach_mm[rows])
    for number, edit in enumerate(edits):
        fits = layout.lay == edit.lay
        if edit.shape >= 0:
            fits &= layout.shape == edit.shape
        if edit.row >= 0:
            fits &= layout.row == edit.row
        rows = np.flatnonzero(fits)
        away = np.hypot(*(layout.xy[rows] - (edit.x_mm, edit.y_mm)).T)
        near = away <= pitch[rows] / 2.0
        offers += zip(
            away[near].tolist(), [number] * int(near.sum()), rows[near].tolist(), strict=True
        )
    taken = [-1] * len(edits)
    seats: set[int] = set()
    for _, number, seat in sorted(offers):
        if taken[number] < 0 and seat not in seats:
            taken[number] = seat
            seats.add(seat)
    return taken


def local_pitch_mm(xy: Floats, reach_mm: Floats) -> Floats:
    """Return the distance from each seat to the next, shape (n,); four reaches for one alone."""
    if len(xy) < 2:
        return 4.0 * reach_mm
    distance: Floats = np.asarray(cKDTree(xy).query(xy, k=[2])[0], dtype=np.float64)[:, 0]
    return distance


def _turned(along: float, across: float, angle_deg: float) -> Floats:
    turn = np.radians(angle_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    return np.array([cos * along - sin * across, sin * along + cos * across])


def _columns(layout: Layout, sort: int) -> tuple[int, int]:
    count = len(layout.pieces)
    return (sort, -1) if sort < count else (-1, sort - count)


def _with_added(layout: Layout, added: Sequence[Edit]) -> tuple[Layout, Ints]:
    """Return the layout with what was added, in table order, and that order."""
    sorts = [_columns(layout, edit.sort) for edit in added]
    more = replace(
        layout,
        xy=np.array([(edit.x_mm, edit.y_mm) for edit in added], dtype=np.float64).reshape(-1, 2),
        angle_deg=np.array([edit.along_deg + edit.turn_deg for edit in added], dtype=np.float64),
        piece=np.array([piece for piece, _ in sorts], dtype=np.int64),
        unit=np.array([unit for _, unit in sorts], dtype=np.int64),
        lay=np.array([edit.lay for edit in added], dtype=np.int64),
        shape=np.array([edit.shape for edit in added], dtype=np.int64),
        row=np.array([max(edit.row, 0) for edit in added], dtype=np.int64),
        u=np.array([edit.u for edit in added], dtype=np.float64),
    )
    whole = layout.joined(more)
    # Stable: what was laid keeps its order, and what was added ends its lay.
    order: Ints = np.argsort(whole.lay, kind="stable")
    return whole.taken(order), order


def _lost(edit: Edit, layout: Layout) -> Finding:
    return Finding(
        "edit-lost",
        "warning",
        f"the edit '{edit.words}' finds no seat of '{layout.lays[edit.lay].id}' near its place",
        (round(edit.x_mm, 3), round(edit.y_mm, 3)),
        layout.lays[edit.lay].id,
        "Make it again where it is still wanted, or take it out of the job.",
    )
