"""Alignment crosses: where templates are laid on, and where one hooping meets the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window, bounds_of, out_mm, windows_for
from embellish.plans.stitch_marks import RawMark
from embellish.plans.stitch_settings import StitchSettings
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


def hooped(
    layout: Layout, marks: Sequence[RawMark], hoop: Hoop, mirror: Affine, settings: StitchSettings
) -> tuple[list[Window], list[RawMark], list[Finding]]:
    """Return the windows of all marks, crosses to add to the marks, and what was noticed.

    A registration cross takes no hooping of its own: each window sews those that it reaches.
    The crosses returned are shared by neighbouring hoopings; windows count them after the marks.
    """
    boxes = bounds_of(mirror(mark.path) for mark in marks)
    lays = np.array([layout.lay[m.seats[0]] if m.seats else -1 for m in marks], dtype=np.int64)
    windows = windows_for(hoop, boxes, lays)
    pieces = np.flatnonzero(lays >= 0)
    crosses = np.flatnonzero(lays < 0)
    if len(windows) == 1 or not len(pieces):
        return windows, [], []
    windows = []
    reached = np.zeros(len(marks), dtype=np.bool_)
    for window in windows_for(hoop, boxes[pieces], lays[pieces]):
        inside = crosses[~(out_mm(hoop, boxes[crosses], window.middle, window.turn_deg) > EPS_MM)]
        reached[inside] = True
        windows.append(replace(window, rows=np.concatenate([inside, pieces[window.rows]])))
    findings = []
    lost = crosses[~reached[crosses]]
    if len(lost):
        findings.append(
            Finding(
                "cross-outside-hoop",
                "warning",
                f"{len(lost)} of {len(crosses)} alignment crosses lie out of every hooping's field "
                "and are not sewn.",
                where_mm=_place(marks[int(lost[0])].path.mean(axis=0)),
                mend="Draw them on the cloth by hand, or use a larger hoop.",
            )
        )
    shared, told = _shared(layout, windows, hoop, mirror, settings, len(marks))
    return windows, shared, findings + told


def _place(at: Floats) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _shared(
    layout: Layout,
    windows: list[Window],
    hoop: Hoop,
    mirror: Affine,
    settings: StitchSettings,
    count: int,
) -> tuple[list[RawMark], list[Finding]]:
    """Add two crosses to each window and the nearest one before it that hangs in another hooping.

    Changes ``windows`` in place: those crosses have the numbers from ``count`` on.
    """
    back = mirror.inverse()
    added: list[RawMark] = []
    findings = []
    for index in range(1, len(windows)):
        here = windows[index]
        before = [w for w in range(index) if windows[w].hooping != here.hooping]
        if not before:
            continue
        away = [np.hypot(*np.subtract(windows[w].middle, here.middle)) for w in before]
        other = before[int(np.argmin(np.round(away, 6)))]
        pair = _common(layout, hoop, (windows[other], here), mirror, settings)
        if pair is None:
            findings.append(
                Finding(
                    "no-shared-crosses",
                    "warning",
                    f"Files {other + 1} and {index + 1} reach no two places in common that are "
                    "free of pieces: no alignment crosses could be set between them.",
                    where_mm=_place(back(np.array(here.middle))),
                    mend="Line them up by marks drawn on the cloth, or use a larger hoop.",
                )
            )
            continue
        numbers = np.arange(count + len(added), count + len(added) + 2)
        added += [_cross(back(at), settings) for at in pair]
        for window in (other, index):
            rows = np.concatenate([numbers, windows[window].rows])
            windows[window] = replace(windows[window], rows=rows)
    return added, findings


def _common(
    layout: Layout,
    hoop: Hoop,
    windows: tuple[Window, Window],
    mirror: Affine,
    settings: StitchSettings,
) -> Floats | None:
    """Return the two places farthest apart that both fields reach and no piece covers."""
    half = np.array(hoop.field_mm) / 2.0
    if windows[0].turn_deg % 180:
        half = half[::-1]
    arm = settings.cross_mm / 2.0
    middles = np.array([window.middle for window in windows])
    low = middles.max(axis=0) - half + arm
    high = middles.min(axis=0) + half - arm
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
    tree = cKDTree(mirror(layout.xy))
    near = np.asarray(tree.query(places, k=1)[0])
    # A piece of the largest reach anywhere near would be clear of the cross's arms.
    free &= near > reach.max(initial=0.0) + arm
    places = places[free]
    if len(places) < 2:
        return None
    # Farthest along the longer side of what both reach.
    side = int(np.argmax(high - low))
    order = np.lexsort((places[:, 1 - side], places[:, side]))
    pair = places[order[[0, -1]]]
    return pair if float(np.hypot(*(pair[1] - pair[0]))) >= _APART_MM else None
