"""Where each transfer sheet is laid on the garment: from its marks, its middle and its pins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from embellish.arrays import Floats, frozen
from embellish.layout.layout import Layout
from embellish.plans.lifts import SHEET_RIM_MM, LiftPlan
from embellish.plans.registration import Bounds, registration_bounds
from embellish.plans.templates.template import TemplatePlan
from embellish.units import ROUND_DECIMALS


@dataclass(frozen=True, slots=True)
class FromMark:
    """How far a sheet lies from one mark of the garment, one way; negative for the other way.

    Parameters
    ----------
    mark
        Its name, as the maker entered it.
    way
        'down' from a line that runs across, such as a collar seam; 'right' from one that runs
        down, such as the centre front; as the garment is seen.
    to_centre_mm
        To the middle of the design, as entered.
    to_pieces_mm
        To the near edge of the pieces on the sheet: upper edge, or left edge.
    """

    mark: str
    way: Literal["down", "right"]
    to_centre_mm: float
    to_pieces_mm: float


@dataclass(frozen=True, slots=True)
class LaidSheet:
    """One transfer sheet on the garment, in layout mm.

    Parameters
    ----------
    lift
        Number of the lift, from 0.
    pieces_mm
        Bounds of its pieces.
    sheet_mm
        Bounds of the least sheet that holds them with a rim.
    middle_from_centre_mm
        From the middle of the design to the middle of these pieces: right and down.
    marks
        From each mark of the garment.
    """

    lift: int
    pieces_mm: Bounds
    sheet_mm: Bounds
    middle_from_centre_mm: tuple[float, float]
    marks: tuple[FromMark, ...]


@dataclass(frozen=True, eq=False)
class TransferPlan:
    """All transfer sheets of one garment.

    Parameters
    ----------
    centre_mm
        Middle of the bounds of all pieces of the design, in layout mm.
    design_mm
        These bounds.
    sheets
        One a lift, in their order.
    registration_mm : array of shape (m, 2)
        Registration holes in layout mm.
    quantity
        Garments.
    """

    centre_mm: tuple[float, float]
    design_mm: Bounds
    sheets: tuple[LaidSheet, ...]
    registration_mm: Floats
    quantity: int

    def __post_init__(self) -> None:
        object.__setattr__(self, "registration_mm", frozen(self.registration_mm))


def plan_transfer(layout: Layout, templates: TemplatePlan, lifts: LiftPlan) -> TransferPlan | None:
    """Return where each transfer sheet is laid; None where there is none.

    Parameters
    ----------
    layout
        Where the pieces stand.
    templates
        For registration, and for the garment's marks of ``[[template.place]]``.
    lifts
        What each sheet holds.
    """
    bounds = registration_bounds(layout, np.ones(len(layout), dtype=np.bool_))
    if bounds is None or not lifts.lifts:
        return None
    x, y = _middle(bounds)
    sheets = []
    for number, lift in enumerate(lifts.lifts):
        x0, y0, x1, y1 = lift.bounds_mm
        rim = SHEET_RIM_MM
        middle = _middle(lift.bounds_mm)
        marks: list[FromMark] = []
        for place in templates.settings.place:
            if place.right_mm is not None:
                right = round(x0 - (x - place.right_mm), ROUND_DECIMALS)
                marks.append(FromMark(place.mark, "right", place.right_mm, right))
            if place.down_mm is not None:
                down = round(y0 - (y - place.down_mm), ROUND_DECIMALS)
                marks.append(FromMark(place.mark, "down", place.down_mm, down))
        sheets.append(
            LaidSheet(
                number,
                lift.bounds_mm,
                (x0 - rim, y0 - rim, x1 + rim, y1 + rim),
                (
                    round(middle[0] - x, ROUND_DECIMALS),
                    round(middle[1] - y, ROUND_DECIMALS),
                ),
                tuple(marks),
            )
        )
    by_template = any(lift.kind == "template" for lift in lifts.lifts)
    points = templates.registration_mm if by_template else np.zeros((0, 2))
    return TransferPlan((x, y), bounds, tuple(sheets), points, lifts.quantity)


def _middle(bounds: Bounds) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds
    return (x0 + x1) / 2.0, (y0 + y1) / 2.0
