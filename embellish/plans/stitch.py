"""The stitch plan: marks of a layout, in hoopings, blocks and order, as designs ready to write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window, bounds_of, middle_of, out_mm
from embellish.plans.stitch_crosses import hooped, registration_crosses
from embellish.plans.stitch_files import Seamstress
from embellish.plans.stitch_marks import RawMark, paths_of, raw_marks
from embellish.plans.stitch_settings import HoopSettings, StitchSettings
from embellish.plans.stitch_values import Hooping, Mark, StitchPlan, Stop
from embellish.units import EPS_MM

__all__ = [
    "HoopSettings",
    "Hooping",
    "Mark",
    "StitchPlan",
    "StitchSettings",
    "Stop",
    "plan_stitches",
]

_SHOWN = 12
"""Pieces named in one sentence."""


def plan_stitches(
    layout: Layout,
    settings: StitchSettings,
    hoop: Hoop | None = None,
    *,
    crosses_mm: Floats | None = None,
    outlines: Mapping[str, Sequence[Floats]] | None = None,
    name: str = "marks",
) -> StitchPlan:
    """Return what is sewn.

    Parameters
    ----------
    layout
        The seats; each lay says how it is marked.
    settings
        ``[marks]``.
    hoop
        What it is sewn in; None checks no field.
    crosses_mm : array of shape (m, 2)
        Where the templates' registration holes are, layout mm.
    outlines
        For lays marked ``outline``, by id: lines in layout mm; else lines around their pieces.
    name
        Label of the designs.
    """
    paths = paths_of(layout, settings)
    mirror = Affine.mirror_x() if settings.mirrored else IDENTITY
    # Lines are cut at the field's edge only where a field cannot hold them whole.
    for cut_to in (None, hoop):
        marks, findings = raw_marks(layout, settings, paths, outlines or {}, cut_to)
        marks = registration_crosses(crosses_mm, marks, settings) + marks
        if not marks:
            return StitchPlan(settings, hoop, (), tuple(findings))
        windows = [Window(np.arange(len(marks)), 0, "", middle_of(_boxes(marks, mirror)), 0)]
        if hoop is None:
            break
        windows, shared, told = hooped(layout, marks, hoop, mirror, settings)
        marks += shared
        told += _field_findings(layout, marks, hoop, _boxes(marks, mirror), windows)
        findings += told
        if not any(finding.code == "outside-hoop" for finding in told):
            break
    sewn = Seamstress(layout, settings, paths, marks)
    hoopings = []
    for index, window in enumerate(windows):
        label = name if len(windows) == 1 else f"{name}-{index + 1}"
        hoopings.append(sewn.hooping(window, window.to_stitch(mirror), label))
    findings += _stitch_findings(hoopings, settings)
    return StitchPlan(settings, hoop, tuple(hoopings), tuple(findings))


def _boxes(marks: Sequence[RawMark], mirror: Affine) -> Floats:
    return bounds_of(mirror(mark.path) for mark in marks)


def _field_findings(
    layout: Layout,
    marks: Sequence[RawMark],
    hoop: Hoop,
    boxes: Floats,
    windows: Sequence[Window],
) -> list[Finding]:
    findings = []
    width, height = hoop.field_mm
    for window in windows:
        out = out_mm(hoop, boxes[window.rows], window.middle, window.turn_deg)
        rows = window.rows[out > EPS_MM]
        if not len(rows):
            continue
        worst = marks[int(window.rows[int(np.argmax(out))])]
        seats = sorted({seat for row in rows.tolist() for seat in marks[row].seats})
        named = ", ".join(str(seat) for seat in seats[:_SHOWN])
        more = f" and {len(seats) - _SHOWN} more" if len(seats) > _SHOWN else ""
        where = worst.path.mean(axis=0)
        findings.append(
            Finding(
                "outside-hoop",
                "error",
                f"Marks reach {out.max():.1f} mm out of the {hoop.shape} field of {width:g} x "
                f"{height:g} mm (seats {named}{more})."
                if seats
                else f"An alignment cross lies {out.max():.1f} mm out of the field.",
                where_mm=(float(where[0]), float(where[1])),
                lay=layout.lays[int(layout.lay[worst.seats[0]])].id if worst.seats else None,
                mend="Use a larger hoop, mark the ends or each piece instead of a line, or make "
                "the design smaller.",
            )
        )
    if any(window.turn_deg for window in windows):
        findings.append(
            Finding(
                "hoop-turned", "note", "The design fits the field only when turned by 90 degrees."
            )
        )
    if len(windows) > 1:
        placings = len({window.hooping for window in windows})
        x0, y0 = boxes[:, :2].min(axis=0)
        x1, y1 = boxes[:, 2:].max(axis=0)
        findings.append(
            Finding(
                "several-hoopings",
                "warning",
                f"The marks cover {x1 - x0:.1f} x {y1 - y0:.1f} mm and the field holds {width:g} "
                f"x {height:g} mm: {len(windows)} files in {placings} hoopings.",
                mend="Hoop the cloth again for each file along the shared alignment crosses.",
            )
        )
    return findings


def _stitch_findings(hoopings: Sequence[Hooping], settings: StitchSettings) -> list[Finding]:
    short = 0
    for hooping in hoopings:
        points = hooping.design.stitches
        for mark in hooping.marks:
            steps = np.hypot(*np.diff(points[mark.first : mark.last + 1], axis=0).T)
            short += int((steps < settings.least_mm - EPS_MM).any())
    if not short:
        return []
    return [
        Finding(
            "stitch-short",
            "note",
            f"{short} marks have stitches shorter than {settings.least_mm:g} mm.",
            mend="Mark such small pieces along a line, or lower least_mm.",
        )
    ]
