"""Hand edits: what the maker changed by hand, kept as addresses, so that it outlives a re-lay.

No number of a seat survives another gap, size or piece, since counts change. An edit therefore
names a place: of a row, the shape, the line and the fraction along it; of a fill, a point of the
artwork. After each laying, edits claim seats near their places, nearest first, each seat once,
within half the local pitch; an edit that finds none is told as lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.findings import Finding
from embellish.layout.folding import centred_on, stands_even
from embellish.layout.layout import Layout
from embellish.layout.mirroring import images_of, mirrored_seats
from embellish.layout.ranked import Ranked
from embellish.layout.symmetry import Axis

_LITTLE_MM: Final = 1e-6
"""What an edit on the axis may leave undone without a word."""

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
class Mirrors:
    """What edits of symmetric lays need to know.

    Parameters
    ----------
    axes
        The axis of each lay and shape that is laid symmetrically, by their indices; a lay with one
        axis for all also has it under shape -1.
    turns
        Symmetry of each piece and unit: the angle after which it looks the same, 0 for any.
    """

    axes: Mapping[tuple[int, int], Axis] = field(default_factory=dict)
    turns: tuple[float, ...] = ()


def edited(
    ranked: Ranked, edits: Sequence[Edit], mirrors: Mirrors | None = None
) -> tuple[Ranked, tuple[Finding, ...]]:
    """Apply edits to a layout in artwork scale.

    An edit of a symmetric lay is made on both sides; on the axis, only as far as it leaves both
    sides alike.

    Returns
    -------
    ranked, findings
        With seats changed, removed and added; one ``edit-lost`` for each edit whose seat is gone,
        one ``edit-on-axis`` for what an edit of a seat on the axis had to leave undone.
    """
    if not edits:
        return ranked, ()
    layout = ranked.layout
    held = _Held(ranked, mirrors or Mirrors())
    # Edits of one address are of one seat, and are made in the job's order.
    places = {_address(edit): edit for edit in edits if edit.do != "add"}
    of_place = dict(zip(places, claims(layout, list(places.values()), ranked.twin), strict=True))
    first: dict[tuple[int, int, int, float, float], int] = {}
    findings: list[Finding] = []
    for number, edit in enumerate(edits):
        if edit.do == "add":
            continue
        seat = of_place[_address(edit)]
        if seat < 0:
            findings.append(_lost(edit, layout))
        elif not held.change(seat, edit, first.setdefault(_address(edit), number)):
            findings.append(_on_axis(edit, layout))
    added = [(number, edit) for number, edit in enumerate(edits) if edit.do == "add"]
    whole = held.result().joined(_added(layout, added, held))
    # Stable: what was laid keeps its order, and what was added ends its lay.
    return whole.taken(np.argsort(whole.layout.lay, kind="stable")), tuple(findings)


def _address(edit: Edit) -> tuple[int, int, int, float, float]:
    return edit.lay, edit.shape, edit.row, edit.x_mm, edit.y_mm


class _Held:
    """Seats in hand: columns that edits change one by one."""

    def __init__(self, ranked: Ranked, mirrors: Mirrors) -> None:
        layout = ranked.layout
        self.ranked = ranked
        self.mirrors = mirrors
        self.images = images_of(layout.pieces, layout.units, layout.footprints)
        self.xy, self.angle = layout.xy.copy(), layout.angle_deg.copy()
        self.sort = layout.footprint.copy()
        self.keep = np.ones(len(layout), dtype=np.bool_)
        self.edit = ranked.edit.copy()

    def change(self, seat: int, edit: Edit, number: int) -> bool:
        """Change a seat and its twin; tell whether all that was asked could be done.

        ``number`` is that of the first edit of the seat's place.
        """
        twin = int(self.ranked.twin[seat])
        both = [seat] if twin < 0 else [seat, twin]
        self.edit[both] = number
        if edit.do == "delete":
            self.keep[both] = False
        elif edit.do == "move":
            self.xy[seat] += _turned(edit.along_mm, edit.across_mm, edit.along_deg)
        elif edit.do == "turn":
            self.angle[seat] += edit.turn_deg
        elif edit.do == "swap":
            self.sort[seat] = edit.sort
        if twin < 0:
            return True
        axis = self.mirrors.axes[int(edit.lay), int(self.ranked.layout.shape[seat])]
        if twin == seat:
            return self._centre(seat, axis)
        self.sort[twin] = self.sort[seat]
        self.xy[twin], self.angle[twin] = self.mirrored(
            self.xy[seat], float(self.angle[seat]), int(self.sort[seat]), axis
        )
        return True

    def mirrored(self, xy: Floats, angle: float, sort: int, axis: Axis) -> tuple[Floats, float]:
        """Return the mirror image of one pose."""
        others, angles = mirrored_seats(
            xy[None], np.array([angle]), np.array([sort]), self.images, axis.mirror
        )
        return others[0], float(angles[0])

    def centred(self, xy: Floats, angle: float, sort: int, axis: Axis) -> tuple[Floats, float]:
        """Return the nearest pose that is its own mirror image."""
        choice, angles = np.array([sort]), np.array([angle])
        even, _ = stands_even(angles, choice, self.mirrors.turns, self.images, axis)
        return centred_on(xy[None], even, choice, self.images, axis)[0], float(even[0])

    def _centre(self, seat: int, axis: Axis) -> bool:
        wished, sort = self.xy[seat].copy(), int(self.sort[seat])
        angle = float(self.angle[seat])
        self.xy[seat], self.angle[seat] = self.centred(wished, angle, sort, axis)
        moved = float(np.hypot(*(self.xy[seat] - wished)))
        turns = self.mirrors.turns[sort]
        off = abs(float(self.angle[seat]) - angle) if turns else 0.0
        return moved <= _LITTLE_MM and off <= _LITTLE_MM and self.images[sort].exact

    def result(self) -> Ranked:
        """Return the seats as they are now, without those deleted."""
        layout = self.ranked.layout
        count = len(layout.pieces)
        changed = replace(
            layout,
            xy=self.xy,
            angle_deg=self.angle,
            piece=np.where(self.sort < count, self.sort, -1),
            unit=np.where(self.sort < count, -1, self.sort - count),
        )
        now = replace(self.ranked, layout=changed, edit=self.edit)
        return now.taken(np.flatnonzero(self.keep))


def claims(layout: Layout, edits: Sequence[Edit], twin: Ints | None = None) -> list[int]:
    """Return the seat that each edit claims, -1 where it is lost.

    Nearest first over all edits, each seat and its twin once, within half the local pitch: the
    distance from the seat to the next one of its lay. Of edits equally near, that of the least
    place and then of the job's order comes first.
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
    for _, number, seat in sorted(offers, key=lambda offer: (offer[0], *_key(edits, offer))):
        if taken[number] < 0 and seat not in seats:
            taken[number] = seat
            seats.add(seat)
            if twin is not None and twin[seat] >= 0:
                seats.add(int(twin[seat]))
    return taken


def _key(edits: Sequence[Edit], offer: tuple[float, int, int]) -> tuple[float, float, int, int]:
    _, number, seat = offer
    return edits[number].x_mm, edits[number].y_mm, seat, number


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


def _added(layout: Layout, added: Sequence[tuple[int, Edit]], held: _Held) -> Ranked:
    """Return the seats that are added, in symmetric lays with their twins.

    ``added`` has each edit with its number.
    """
    poses: list[tuple[float, float, float, int, Edit]] = []
    numbers: list[int] = []
    for number, edit in added:
        xy, angle = np.array([edit.x_mm, edit.y_mm]), edit.along_deg + edit.turn_deg
        axis = _axis_near(edit, layout, held.mirrors)
        here = len(poses)
        if axis is not None:
            room = 2.0 * float(layout.footprints[edit.sort].reach_mm)
            room += layout.lays[edit.lay].gap_mm
            if 2.0 * abs(float(axis.beside(xy))) >= room:
                other, turned = held.mirrored(xy, angle, edit.sort, axis)
                poses.append((*xy.tolist(), angle, here + 1, edit))
                poses.append((*other.tolist(), turned, here, edit))
                numbers += [number, number]
                continue
            xy, angle = held.centred(xy, angle, edit.sort, axis)
        poses.append((*xy.tolist(), angle, here if axis is not None else -1, edit))
        numbers.append(number)
    count = len(layout.pieces)
    sort = np.array([pose[4].sort for pose in poses], dtype=np.int64)
    more = replace(
        layout,
        xy=np.array([pose[:2] for pose in poses], dtype=np.float64).reshape(-1, 2),
        angle_deg=np.array([pose[2] for pose in poses], dtype=np.float64),
        piece=np.where(sort < count, sort, -1),
        unit=np.where(sort < count, -1, sort - count),
        lay=np.array([pose[4].lay for pose in poses], dtype=np.int64),
        shape=np.array([pose[4].shape for pose in poses], dtype=np.int64),
        row=np.array([max(pose[4].row, 0) for pose in poses], dtype=np.int64),
        u=np.array([pose[4].u for pose in poses], dtype=np.float64),
    )
    twins = np.array([pose[3] for pose in poses], dtype=np.int64)
    return Ranked(more, np.ones(len(poses)), np.array(numbers, dtype=np.int64), twins)


def _axis_near(edit: Edit, layout: Layout, mirrors: Mirrors) -> Axis | None:
    """Return the axis of what is added: its shape's, its lay's, or that of the nearest seat."""
    for shape in (edit.shape, -1):
        if (edit.lay, shape) in mirrors.axes:
            return mirrors.axes[edit.lay, shape]
    rows = layout.rows(edit.lay)
    if edit.shape >= 0 or not len(rows):
        return None
    nearest = int(np.argmin(np.hypot(*(layout.xy[rows] - (edit.x_mm, edit.y_mm)).T)))
    return mirrors.axes.get((edit.lay, int(layout.shape[rows[nearest]])))


def _lost(edit: Edit, layout: Layout) -> Finding:
    return Finding(
        "edit-lost",
        "warning",
        f"the edit '{edit.words}' finds no seat of '{layout.lays[edit.lay].id}' near its place",
        (round(edit.x_mm, 3), round(edit.y_mm, 3)),
        layout.lays[edit.lay].id,
        "Make it again where it is still wanted, or take it out of the job.",
    )


def _on_axis(edit: Edit, layout: Layout) -> Finding:
    return Finding(
        "edit-on-axis",
        "warning",
        f"the edit '{edit.words}' is of a seat on the axis of '{layout.lays[edit.lay].id}', and"
        " only that part of it is made which leaves both sides alike",
        (round(edit.x_mm, 3), round(edit.y_mm, 3)),
        layout.lays[edit.lay].id,
        "Move it along the axis alone, or lay with symmetric = false.",
    )
