"""Thread by its length: what hand and machine sew, in whole spools, from the maker's figures."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np

from embellish.formats.stitches import STITCH
from embellish.layout.layout import Layout
from embellish.plans.goods import Good
from embellish.plans.money import product, rounded, smallest
from embellish.plans.stitching.values import StitchPlan
from embellish.plans.thread_settings import ThreadSettings


def plan_thread(
    layout: Layout,
    stitches: StitchPlan,
    quantity: int,
    settings: ThreadSettings | None,
    currency: str,
) -> tuple[Good, ...]:
    """Return the spools that a job takes, hand and machine each by itself.

    Parameters
    ----------
    layout, stitches
        What one garment has.
    quantity
        Garments.
    settings
        The maker's figures; without them no thread is counted.
    currency
        Amounts are rounded to its smallest coin.
    """
    if settings is None:
        return ()
    sewn = sum(
        int(np.count_nonzero(layout.lay == index))
        for index, lay in enumerate(layout.lays)
        if lay.set_by == "sewn"
    )
    wanted = (
        ("thread for sewing on", (settings.piece_mm or 0.0) * sewn),
        ("thread for marks", (settings.marks_factor or 0.0) * stitched_mm(stitches)),
    )
    return tuple(
        _spools(name, length_mm * quantity / 1000.0, settings, currency)
        for name, length_mm in wanted
        if length_mm > 0.0
    )


def stitched_mm(stitches: StitchPlan) -> float:
    """Return the way that all stitches of one garment's marks go; a base design does not count."""
    way = 0.0
    for hooping in stitches.hoopings:
        for block in hooping.own_blocks:
            steps = np.hypot(*np.diff(block.xy, axis=0).T) if len(block.xy) > 1 else np.zeros(0)
            way += float(steps[block.kind[1:] == STITCH].sum())
    return way


def _spools(name: str, metres: float, settings: ThreadSettings, currency: str) -> Good:
    spools = max(1, math.ceil(metres / settings.spool_m - 1e-9))
    price = settings.spool_price
    cost = None if price is None else rounded(product(price, spools), smallest(currency))
    words = f"spool of {settings.spool_m:g} m, {name} ({metres:.0f} m)"
    entered = "spool_price under [materials.thread]"
    return Good(words, spools, Decimal(spools), price, cost, entered_as=entered)
