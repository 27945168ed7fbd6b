"""Alignment crosses: where templates are laid on, and where one hooping meets the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window, out_mm, turned_field
from embellish.plans.stitching.marks import RawMark
from embellish.plans.stitching.settings import StitchSettings
from embellish.units import EPS_MM

CROSSES: Final = "alignment crosses"
_STEP_MM: Final = 2.0
_APART_MM: Final = 30.0
"""Two crosses nearer together than this turn the cloth too little to show it."""


def _cross(at: Floats, settings: StitchSettings) -> RawMark:
    arm = settings.cross_mm / 2.0
    shape = np.array([[-arm, 0.0], [arm, 0.0], [0.0, 0.0], [0.0, -arm], [0.0, arm]])
    return RawMark("cross", (), CROSSES, shape + at, np.asarray(at, dtype=np.float64))


def registration_crosses(
    crosses_mm: Floats | None, marks: Sequence[RawMark], settings: StitchSettings
) -> list[RawMark]:
    """Return the templates' registration holes as crosses, where the job sews or asks."""
    if crosses_mm is None or settings.crosses is False:
        return []
    if settings.crosses == "auto" and not marks:
        return []
    return [_cross(at, settings) for at in np.asarray(crosses_mm, dtype=np.float64).reshape(-1, 2)]


def reached_crosses(
    hoop: Hoop, boxes: Floats, crosses: Ints, windows: Sequence[Window]
) -> tuple[list[Window], Ints]:
    """Return the windows with the crosses that each reaches, and the crosses that none does.

    A registration cross takes no hooping of its own.
    """
    reached = np.zeros(len(crosses), dtype=np.bool_)
    filled = []
    for window in windows:
        inside = ~(out_mm(hoop, boxes[crosses], window.middle, window.turn_deg) > EPS_MM)
        reached |= inside
        filled.append(replace(window, rows=np.concatenate([crosses[inside], window.rows])))
    return filled, crosses[~reached]


def lost_crosses(marks: Sequence[RawMark], lost: Ints, count: int) -> Finding:
    """Tell of crosses that no field reaches."""
    return Finding(
        "cross-outside-hoop",
        "warning",
        f"{len(lost)} of {count} alignment crosses lie out of every hooping's field "
        "and are not sewn.",
        where_mm=_place(marks[int(lost[0])].path.mean(axis=0)),
        mend="Draw them on the cloth by hand, or use a larger hoop.",
    )


def _place(at: Floats) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def shared_crosses(
    layout: Layout,
    windows: Sequence[Window],
    hoop: Hoop,
    settings: StitchSettings,
    count: int,
    taken: Floats | None,
) -> tuple[list[Window], list[RawMark], list[Finding]]:
    """Return windows with two crosses added to each and its nearest one before in another hooping.

    Parameters
    ----------
    count
        The number of the first cross: windows count them after the marks.
    taken : array of shape (4,) or None
        Bounds of a base design, which crosses keep clear of where they can.
    """
    windows = list(windows)
    added: list[RawMark] = []
    findings = []
    for index in range(1, len(windows)):
        here = windows[index]
        before = [w for w in range(index) if windows[w].hooping != here.hooping]
        if not before:
            continue
        away = [np.hypot(*np.subtract(windows[w].middle, here.middle)) for w in before]
        other = before[int(np.argmin(np.round(away, 6)))]
        pair = _common(layout, hoop, (windows[other], here), settings, taken)
        if pair is None:
            findings.append(
                Finding(
                    "no-shared-crosses",
                    "warning",
                    f"Files {other + 1} and {index + 1} reach no two places in common that are "
                    "free of pieces: no alignment crosses could be set between them.",
                    where_mm=_place(np.array(here.middle)),
                    mend="Line them up by marks drawn on the cloth, or use a larger hoop.",
                )
            )
            continue
        numbers = np.arange(count + len(added), count + len(added) + 2)
        added += [_cross(at, settings) for at in pair]
        for window in (other, index):
            rows = np.concatenate([numbers, windows[window].rows])
            windows[window] = replace(windows[window], rows=rows)
    return windows, added, findings


def _common(
    layout: Layout,
    hoop: Hoop,
    windows: tuple[Window, Window],
    settings: StitchSettings,
    taken: Floats | None,
) -> Floats | None:
    """Return the two places farthest apart that both fields reach and no piece covers."""
    halves = np.array([turned_field(hoop, window.turn_deg) for window in windows]) / 2.0
    arm = settings.cross_mm / 2.0
    middles = np.array([window.middle for window in windows])
    low = (middles - halves).max(axis=0) + arm
    high = (middles + halves).min(axis=0) - arm
    if (high < low).any():
        return None
    axes = [
        np.linspace(a, b, max(2, int((b - a) / _STEP_MM) + 1))
        for a, b in zip(low, high, strict=True)
    ]
    places = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    boxes = np.concatenate([places - arm, places + arm], axis=1)
    free = np.ones(len(places), dtype=np.bool_)
    for window in windows:
        free &= ~(out_mm(hoop, boxes, window.middle, window.turn_deg) > EPS_MM)
    reach = layout.reach_mm
    near = np.asarray(cKDTree(layout.xy).query(places, k=1)[0])
    # A piece of the largest reach anywhere near would be clear of the cross's arms.
    free &= near > reach.max(initial=0.0) + arm
    if taken is not None:
        free &= (boxes[:, 2:] < taken[:2]).any(axis=1) | (boxes[:, :2] > taken[2:]).any(axis=1)
    places = places[free]
    if len(places) < 2:
        return None
    # Farthest along the longer side of what both reach.
    side = int(np.argmax(high - low))
    order = np.lexsort((places[:, 1 - side], places[:, side]))
    pair = places[order[[0, -1]]]
    return pair if float(np.hypot(*(pair[1] - pair[0]))) >= _APART_MM else None
