"""What the cloth does not bear: needle holes, thread and glue in sight, heat, stretch.

Nothing is claimed of cloth of which the job says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from embellish.arrays import Ints
from embellish.checks.site import Site
from embellish.findings import Finding
from embellish.layout.layout import Layout

ADHESIVE_FROM_C: Final = 120.0
"""Where the glue of heat-set stones begins to work: 120 to 170 °C are given by a stone maker's
application guide, "Preparation" and "Material check" pages. Others differ: follow the maker's."""

_LONG_MM: Final = 100.0
"""A row that runs on for so long takes the give out of cloth (reasoned, no source)."""
_BREAK_MM: Final = 5.0
"""Free cloth between two pieces that lets it give again (reasoned, no source)."""
_ROWS: Final = frozenset(("row", "border", "rings", "centreline"))


def holes_heal(site: Site) -> Iterator[Finding]:
    """Tell of needle holes in cloth where they stay."""
    if site.cloth.heals or not site.sews or site.stitches is None:
        return
    count = sum(len(hooping.marks) for hooping in site.stitches.hoopings)
    yield Finding(
        "holes-stay",
        "warning",
        f"this cloth does not heal, and {count} marks are sewn: a mark cannot be taken out again"
        " without leaving its holes",
        mend="Try on a scrap, sew only what stays hidden, or take mark = 'none' and work from the"
        " chart.",
    )


def sheer_shows(site: Site) -> Iterator[Finding]:
    """Tell of thread and glue that show through sheer cloth."""
    if not site.cloth.sheer:
        return
    if site.sews:
        yield Finding(
            "sheer-thread",
            "warning",
            "this cloth is sheer: marks and their ends on the back show through",
            mend="Sew them in a thread of the cloth's own colour, or work from the chart.",
        )
    for index, lay in enumerate(site.layout.lays):
        kinds = {piece.fixing for piece in site.pieces(index)} - {"sew-on"}
        if kinds and lay.set_by != "sewn":
            yield Finding(
                "sheer-glue",
                "warning",
                "this cloth is sheer: the glue shows and may go through to the back or the press",
                lay=lay.id,
                mend="Try on a scrap with a sheet beneath that glue does not take to, or sew these"
                " on.",
            )


def nap_sinks(site: Site) -> Iterator[Finding]:
    """Tell of marks that sink into pile, and of the press that flattens it."""
    if not site.cloth.nap:
        return
    if site.sews:
        yield Finding(
            "nap-marks",
            "warning",
            "this cloth has a nap: short marks sink in and are lost",
            mend="Hoop a soluble film on top, or mark along lines in a thread that stands out.",
        )
    for lay in _heated(site):
        yield Finding(
            "nap-press",
            "warning",
            "this cloth has a nap: the press flattens it",
            lay=lay,
            mend="Press from the back where the maker of the pieces allows it, and try on a scrap.",
        )


def heat_bears(site: Site) -> Iterator[Finding]:
    """Tell of heat-set pieces on cloth that may not be heated as far as their glue needs."""
    limit = site.cloth.heat_limit_c
    if limit is None or limit >= ADHESIVE_FROM_C:
        return
    for lay in _heated(site):
        yield Finding(
            "heat-limit",
            "warning",
            f"the cloth bears {limit:g} °C, and the glue of heat-set pieces usually needs"
            f" {ADHESIVE_FROM_C:g} °C and more",
            lay=lay,
            mend="Follow the instructions of both makers: glue or sew these on, or take pieces"
            " that set at less heat.",
        )


def stretch_gives(site: Site) -> Iterator[Finding]:
    """Tell of long unbroken rows on cloth that stretches."""
    stretch = max(site.cloth.stretch_along_percent, site.cloth.stretch_across_percent)
    if stretch <= 0.0:
        return
    layout = site.layout
    for index, lay in enumerate(layout.lays):
        if lay.way not in _ROWS:
            continue
        longest, first, count = 0.0, -1, 0
        for run in _unbroken(layout, layout.rows(index)):
            length = float(np.hypot(*np.diff(layout.xy[run], axis=0).T).sum())
            count += length > _LONG_MM
            if length > longest:
                longest, first = length, int(run[0])
        if count:
            rows = "a row runs on" if count == 1 else f"{count} rows run on, one"
            yield Finding(
                "stretch-row",
                "note",
                f"{rows} for {longest:.0f} mm without a break on cloth that stretches by"
                f" {stretch:g} %: thread may tear and pieces come off",
                site.where(first),
                lay.id,
                f"Leave breaks of {_BREAK_MM:g} mm and more, sew with a thread that gives, or do"
                " not let it be stretched there.",
            )


def _heated(site: Site) -> list[str]:
    """Return the ids of the lays whose pieces are set with heat."""
    return [lay.id for index, lay in enumerate(site.layout.lays) if site.heated(index)]


def _unbroken(layout: Layout, rows: Ints) -> list[Ints]:
    """Return the runs of a lay's rows in which no more than a break is free between pieces."""
    step = np.hypot(*np.diff(layout.xy[rows], axis=0).T)
    reach = layout.reach_mm[rows]
    free = step - reach[1:] - reach[:-1]
    same = (np.diff(layout.shape[rows]) == 0) & (np.diff(layout.row[rows]) == 0)
    return list(np.split(rows, np.flatnonzero(~same | (free > _BREAK_MM)) + 1))
