"""The stitch plan: marks of a layout, in hoopings, blocks and order, as designs ready to write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.plans.stitching.base import BaseDesign, written_base
from embellish.plans.stitching.crosses import registration_crosses
from embellish.plans.stitching.files import Seamstress
from embellish.plans.stitching.hooping import hooped
from embellish.plans.stitching.marks import paths_of, raw_marks
from embellish.plans.stitching.settings import HoopSettings, StitchSettings
from embellish.plans.stitching.values import Hooping, Mark, StitchPlan, Stop
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


def plan_stitches(
    layout: Layout,
    settings: StitchSettings,
    hoop: Hoop | None = None,
    *,
    crosses_mm: Floats | None = None,
    outlines: Mapping[str, Sequence[Floats]] | None = None,
    base: BaseDesign | None = None,
    field_at_mm: tuple[float, float] | None = None,
    name: str = "marks",
) -> StitchPlan:
    """Return what is sewn.

    Parameters
    ----------
    layout
        The seats; each lay says how it is marked. Marks of lays worked from the back of the cloth
        have mirrored hoopings of their own.
    settings
        ``[marks]``.
    hoop
        What it is sewn in; None checks no field.
    crosses_mm : array of shape (m, 2)
        Where the templates' registration holes are, layout mm.
    outlines
        For lays marked ``outline``, by id: lines in layout mm; else lines around their pieces.
    base
        A design sewn in one hooping with the marks, or as many of them as fit.
    field_at_mm
        Where the middle of the first field must lie, layout mm.
    name
        Label of the designs.
    """
    paths = paths_of(layout, settings)
    findings: list[Finding] = []
    if base is not None:
        base, findings = written_base(base, settings.formats)
    back = np.array([lay.worked_from == "back" for lay in layout.lays], dtype=np.bool_)
    # Lines are cut at the field's edge only where a field cannot hold them whole.
    for cut_to in (None, hoop):
        marks, told = raw_marks(layout, settings, paths, outlines or {}, cut_to)
        marks = registration_crosses(crosses_mm, marks, settings) + marks
        if not marks and base is None:
            return StitchPlan(settings, hoop, (), tuple(findings + told))
        found = hooped(layout, marks, hoop, settings, back=back, base=base, field_at_mm=field_at_mm)
        if hoop is None or not found.out:
            break
    sewn = Seamstress(layout, settings, paths, found.marks)
    hoopings = []
    for index, window in enumerate(found.windows):
        label = name if len(found.windows) == 1 else f"{name}-{index + 1}"
        own = base if index == found.with_base else None
        hoopings.append(sewn.hooping(window, label, own))
    findings += [*told, *found.findings, *_stitch_findings(hoopings, settings)]
    return StitchPlan(settings, hoop, tuple(hoopings), tuple(findings), base)


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
            f"{'One mark has' if short == 1 else f'{short} marks have'} stitches shorter than "
            f"{settings.least_mm:g} mm.",
            mend="Mark such small pieces along a line, or lower least_mm.",
        )
    ]
