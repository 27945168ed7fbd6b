"""Which marks are sewn in which placing of the cloth, and what the maker is told of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window, bounds_of, extent_of, fits, middle_of, out_mm
from embellish.plans.hooping_moves import move_into, move_together, move_words
from embellish.plans.hooping_search import windows_for
from embellish.plans.stitching.base import BaseDesign
from embellish.plans.stitching.crosses import lost_crosses, reached_crosses, shared_crosses
from embellish.plans.stitching.marks import RawMark
from embellish.plans.stitching.settings import StitchSettings
from embellish.units import EPS_MM

_SHOWN: Final = 12
"""Pieces named in one sentence."""
_CROSS, _BASE = -1, -2
"""Lays of what belongs to no lay."""
_ROOM_MM: Final = 20.0
"""Around everything, where no hoop is given: room for crosses."""


@dataclass(frozen=True, eq=False)
class Hooped:
    """Windows of all marks, the marks with shared crosses added, and what was noticed.

    Parameters
    ----------
    windows
        In sewing order; their rows count ``marks``.
    with_base
        Number of the window that sews the base design, or -1.
    """

    windows: tuple[Window, ...]
    marks: tuple[RawMark, ...]
    with_base: int
    findings: tuple[Finding, ...]

    @property
    def out(self) -> bool:
        """Whether something reaches out of its field."""
        return any(finding.code == "outside-hoop" for finding in self.findings)


def hooped(
    layout: Layout,
    marks: Sequence[RawMark],
    hoop: Hoop | None,
    settings: StitchSettings,
    *,
    back: Bools,
    base: BaseDesign | None = None,
    field_at_mm: tuple[float, float] | None = None,
) -> Hooped:
    """Return the hoopings of the front of the cloth, with a base design, and then of its back.

    Parameters
    ----------
    marks
        What is sewn; registration crosses have no seats.
    back : array of shape (lays,)
        Which lays are worked from the wrong side.
    base
        What is sewn with the marks of the front, in one hooping with as many as fit.
    field_at_mm
        Where the middle of the first field must lie, layout mm.
    """
    boxes = bounds_of(mark.path for mark in marks)
    lays = np.array([layout.lay[m.seats[0]] if m.seats else _CROSS for m in marks], dtype=np.int64)
    if base is not None:
        boxes, lays = np.concatenate([boxes, base.box[None]]), np.append(lays, _BASE)
    crosses = np.flatnonzero(lays == _CROSS)
    behind = np.zeros(len(lays), dtype=np.bool_)
    behind[lays >= 0] = back[lays[lays >= 0]]
    given = hoop or _stand_in(boxes)
    windows: list[Window] = []
    findings: list[Finding] = []
    left = crosses
    for mirrored in (False, True):
        rows = np.flatnonzero((behind == mirrored) & (lays != _CROSS))
        if not len(rows) and not (len(crosses) and not mirrored and not behind.any()):
            continue
        flip = mirrored != settings.mirrored
        at = None if mirrored else field_at_mm
        side = _seen(given, boxes, lays, rows, crosses, base, at, flip=flip)
        side, lost = reached_crosses(given, boxes, crosses, side)
        side = [window for window in side if len(window.rows)]
        left = np.intersect1d(left, lost)
        first = 1 + max((window.hooping for window in windows), default=-1)
        windows += [
            replace(window, hooping=window.hooping + first, mirrored=flip) for window in side
        ]
    if len(left):
        findings.append(lost_crosses(marks, left, len(crosses)))
    findings += _out_findings(layout, marks, given, boxes, windows, base)
    findings += _told(layout, marks, given, boxes, lays, windows, field_at_mm)
    with_base = -1
    if base is not None:
        own = len(marks)
        with_base = next(n for n, window in enumerate(windows) if (window.rows == own).any())
        windows[with_base] = _with_base(given, boxes, windows[with_base], own, base, field_at_mm)
    taken = None if base is None else base.box
    windows, shared, told = shared_crosses(layout, windows, given, settings, len(marks), taken)
    findings += told
    if hoop is None:
        findings = [finding for finding in findings if finding.code != "hoop-turned"]
    return Hooped(tuple(windows), (*marks, *shared), with_base, tuple(findings))


def _stand_in(boxes: Floats) -> Hoop:
    """Return a field that holds all, where the job names no hoop."""
    x0, y0, x1, y1 = extent_of(boxes).tolist()
    return Hoop(name="no hoop", field_mm=(x1 - x0 + 2 * _ROOM_MM, y1 - y0 + 2 * _ROOM_MM))


def _seen(
    hoop: Hoop,
    boxes: Floats,
    lays: Ints,
    rows: Ints,
    crosses: Ints,
    base: BaseDesign | None,
    field_at_mm: tuple[float, float] | None,
    *,
    flip: bool,
) -> list[Window]:
    """Return the windows of one side as it lies in the hoop: from the back, left is right."""
    if not flip:
        return _one_side(hoop, boxes, lays, rows, crosses, base, field_at_mm)
    mirrored = boxes[:, [2, 1, 0, 3]] * np.array([-1.0, 1.0, -1.0, 1.0])
    at = None if field_at_mm is None else (-field_at_mm[0], field_at_mm[1])
    windows = _one_side(hoop, mirrored, lays, rows, crosses, base, at)
    return [replace(w, middle=(0.0 - w.middle[0], w.middle[1])) for w in windows]


def _one_side(
    hoop: Hoop,
    boxes: Floats,
    lays: Ints,
    rows: Ints,
    crosses: Ints,
    base: BaseDesign | None,
    field_at_mm: tuple[float, float] | None,
) -> list[Window]:
    """Return the windows of one side of the cloth, without crosses; rows count ``boxes``."""
    # A base design is sewn as it is: what shares its hooping is not turned.
    turns = (0,) if base is not None and (lays[rows] == _BASE).any() else (0, 90)
    windows: list[Window] = []
    if field_at_mm is not None:
        inside = ~(out_mm(hoop, boxes[rows], field_at_mm, 0) > EPS_MM)
        inside |= lays[rows] == _BASE
        if inside.any():
            windows = [Window(rows[inside], 0, hoop.positions[0].name, field_at_mm, 0)]
            rows = rows[~inside]
        if not len(rows):
            return windows
        found = windows_for(hoop, boxes[rows], lays[rows], turns)
    else:
        # Crosses count where one field holds everything; they never ask for another.
        every = np.concatenate([crosses, rows])
        found = windows_for(hoop, boxes[every], lays[every], turns)
        if not len(rows) or len(found) == 1:
            return [replace(window, rows=rows) for window in found]
        found = windows_for(hoop, boxes[rows], lays[rows], turns)
    more = len(windows)
    return windows + [replace(w, rows=rows[w.rows], hooping=w.hooping + more) for w in found]


def _with_base(
    hoop: Hoop,
    boxes: Floats,
    window: Window,
    own: int,
    base: BaseDesign,
    field_at_mm: tuple[float, float] | None,
) -> Window:
    """Return the base's window: its own start stays the file's start."""
    middle = window.middle
    # Most designs start in the middle of the hoop: where that serves, nothing has to be shifted.
    if field_at_mm is None and fits(hoop, boxes[window.rows], base.origin_mm, 0):
        middle = base.origin_mm
    rows = window.rows[window.rows != own]
    return replace(window, rows=rows, middle=middle, origin=base.origin_mm)


def _named(seats: Sequence[int]) -> str:
    more = f" and {len(seats) - _SHOWN} more" if len(seats) > _SHOWN else ""
    return ", ".join(str(seat) for seat in seats[:_SHOWN]) + more


def _seats_of(marks: Sequence[RawMark], rows: Ints) -> list[int]:
    return sorted({s for row in rows.tolist() if row < len(marks) for s in marks[row].seats})


def _out_findings(
    layout: Layout,
    marks: Sequence[RawMark],
    hoop: Hoop,
    boxes: Floats,
    windows: Sequence[Window],
    base: BaseDesign | None,
) -> list[Finding]:
    findings = []
    width, height = hoop.field_mm
    field = f"the {hoop.shape} field of {width:g} x {height:g} mm"
    for window in windows:
        out = out_mm(hoop, boxes[window.rows], window.middle, window.turn_deg)
        rows = window.rows[out > EPS_MM]
        if not len(rows):
            continue
        worst = int(window.rows[int(np.argmax(out))])
        seats = _seats_of(marks, rows)
        lay = None
        if base is not None and (rows == len(marks)).any():
            words = f"The base design reaches {out.max():.1f} mm out of {field}."
            mend = "Use a larger hoop, or move the hoop where its place is given."
            where = (boxes[-1, :2] + boxes[-1, 2:]) / 2.0
        else:
            words = f"Marks reach {out.max():.1f} mm out of {field} (seats {_named(seats)})."
            if not seats:
                words = f"An alignment cross lies {out.max():.1f} mm out of the field."
            mend = (
                "Use a larger hoop, mark the ends or each piece instead of a line, or make the "
                "design smaller."
            )
            where = marks[worst].path.mean(axis=0)
            if marks[worst].seats:
                lay = layout.lays[int(layout.lay[marks[worst].seats[0]])].id
        at = (float(where[0]), float(where[1]))
        findings.append(Finding("outside-hoop", "error", words, at, lay, mend))
    return findings


def _told(
    layout: Layout,
    marks: Sequence[RawMark],
    hoop: Hoop,
    boxes: Floats,
    lays: Ints,
    windows: Sequence[Window],
    field_at_mm: tuple[float, float] | None,
) -> list[Finding]:
    """Return notes on turned and several hoopings, and how to do with fewer."""
    findings = []
    if any(window.turn_deg % 180 for window in windows):
        words = "The design fits the field only when turned by 90 degrees."
        findings.append(Finding("hoop-turned", "note", words))
    if (
        field_at_mm is not None
        and windows
        and all(window.middle != field_at_mm for window in windows)
    ):
        front = [window.rows for window in windows if window.mirrored == windows[0].mirrored]
        rows = np.concatenate(front)
        findings.append(_elsewhere(hoop, boxes[rows[lays[rows] >= 0]], field_at_mm))
    for mirrored in (False, True):
        side = [window for window in windows if window.mirrored == mirrored]
        if len(side) < 2:
            continue
        rows = np.concatenate([window.rows for window in side])
        x0, y0, x1, y1 = extent_of(boxes[rows]).tolist()
        placings = len({window.hooping for window in side})
        width, height = hoop.field_mm
        words = (
            f"The marks cover {x1 - x0:.1f} x {y1 - y0:.1f} mm and the field holds {width:g} "
            f"x {height:g} mm: {len(side)} files in {placings} "
            f"{'hooping' if placings == 1 else 'hoopings'}"
        )
        advice = None
        if placings > 1:
            advice = _advice(marks, hoop, boxes, lays, side, field_at_mm)
        split = _parted(layout, lays, side)
        if split:
            words += f"; {split} parted between pieces"
        mend = (
            "Hang the hoop in each position in turn; the cloth stays as it is."
            if placings == 1
            else "Hoop the cloth again for each file along the shared alignment crosses."
        )
        severity = "note" if placings == 1 else "warning"
        if advice is not None:
            words, mend = f"{words}. {advice[0]}", f"{advice[1]} {mend}".lstrip()
        words = words if words.endswith(".") else f"{words}."
        findings.append(Finding("several-hoopings", severity, words, mend=mend))  # type: ignore[arg-type]
    return findings


def _elsewhere(hoop: Hoop, boxes: Floats, field_at_mm: tuple[float, float]) -> Finding:
    """Tell that nothing fits the field in the place the job gives it."""
    move = move_into(hoop, boxes, field_at_mm)
    return Finding(
        "hoop-elsewhere",
        "warning",
        "No mark fits the field where at_mm puts it: the hoop is laid where the marks are.",
        mend="Leave out at_mm, or use a larger hoop."
        if move is None
        else f"Leave out at_mm, or move the design {move_words(move)}.",
    )


def _parted(layout: Layout, lays: Ints, side: Sequence[Window]) -> str:
    """Name the lays that more than one hooping sews."""
    homes: dict[int, set[int]] = {}
    for window in side:
        for lay in np.unique(lays[window.rows]).tolist():
            homes.setdefault(lay, set()).add(window.hooping)
    ids = [layout.lays[lay].id for lay, of in sorted(homes.items()) if lay >= 0 and len(of) > 1]
    if not ids:
        return ""
    named = ", ".join(f"'{name}'" for name in ids)
    return f"{'lay' if len(ids) == 1 else 'lays'} {named} {'is' if len(ids) == 1 else 'are'}"


def _advice(
    marks: Sequence[RawMark],
    hoop: Hoop,
    boxes: Floats,
    lays: Ints,
    side: Sequence[Window],
    field_at_mm: tuple[float, float] | None,
) -> tuple[str, str] | None:
    """Return how far which pieces are out of the fullest field, and the move that cures it."""
    everything = np.concatenate([window.rows for window in side])
    still = everything[lays[everything] == _BASE]
    free = everything[lays[everything] >= 0]
    move = None
    if field_at_mm is not None:
        move = move_into(hoop, boxes[free], field_at_mm)
        main = side[0]
    elif len(still):
        move = move_together(hoop, boxes[still], boxes[free])
        main = next(window for window in side if np.isin(still, window.rows).any())
    else:
        main = max(side, key=lambda window: len(window.rows))
    away = [row for window in side if window is not main for row in window.rows.tolist()]
    others = np.array([row for row in away if lays[row] >= 0], dtype=np.int64)
    if not len(others):
        return None
    middle = middle_of(boxes[main.rows], hoop, main.turn_deg) if field_at_mm is None else None
    out = out_mm(hoop, boxes[others], middle or main.middle, main.turn_deg)
    seats = _seats_of(marks, others)
    count = "1 piece lies" if len(seats) == 1 else f"{len(seats)} pieces lie"
    words = f"{count} up to {out.max():.1f} mm out of the fullest field (seats {_named(seats)})."
    if move is not None:
        return words, f"Move the design {move_words(move)}, and one hooping serves."
    for window in side:
        rows = window.rows[lays[window.rows] >= 0]
        # A lay is moved whole or not at all.
        whole = np.isin(everything[np.isin(lays[everything], lays[rows])], rows).all()
        if window is main or not len(rows) or not whole:
            continue
        move = move_together(hoop, boxes[main.rows], boxes[rows], main.turn_deg)
        if move is not None:
            moved = _seats_of(marks, rows)
            those = "that piece" if len(moved) == 1 else f"those {len(moved)} pieces"
            named = _named(moved)
            return words, (
                f"Move {those} ({named}) {move_words(move)}, and one hooping fewer serves."
            )
    x0, y0, x1, y1 = extent_of(boxes[free]).tolist()
    over = np.maximum(0.0, np.array([x1 - x0, y1 - y0]) - np.array(hoop.field_mm))
    if (over <= 0.0).all():
        return words, ""
    size = f"{over[0]:.1f} mm too wide and {over[1]:.1f} mm too high"
    return f"{words} The design is {size} for one hooping.", ""
