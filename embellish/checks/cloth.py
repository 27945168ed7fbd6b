"""What the cloth does not bear: needle holes, thread and glue in sight, heat, stretch.

Nothing is claimed of cloth of which the job says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.checks.site import PRESSED, Site
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.layout.spacing import near_pairs
from embellish.units import EPS_MM

ADHESIVE_FROM_C: Final = 120.0
"""Where the glue of heat-set stones begins to work: 120 to 170 °C are given by a stone maker's
application guide, "Preparation" and "Material check" pages. Others differ: follow the maker's."""

_LONG_MM: Final = 100.0
"""A row that runs on for so long takes the give out of cloth (reasoned, no source)."""
_BREAK_MM: Final = 5.0
"""Free cloth between two pieces that lets it give again (reasoned, no source)."""
_WITHIN_DEG: Final = 30.0
"""Rows nearer than this to the way cloth gives are stretched with it (reasoned, no source)."""
_ROWS: Final = frozenset(("row", "border", "rings", "centreline", "chain"))


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
        mend="Try on a scrap, sew only what stays hidden, or work from the chart (mark = 'none').",
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
    limit = site.cloth.bears_c
    if limit is None or limit >= ADHESIVE_FROM_C:
        return
    for lay in _heated(site):
        yield Finding(
            "heat-limit",
            "warning",
            f"{site.cloth.bears_words}, and the glue of heat-set pieces usually needs"
            f" {ADHESIVE_FROM_C:g} °C and more",
            lay=lay,
            mend="Follow the instructions of both makers: glue or sew these on, or take pieces"
            " that set at less heat.",
        )


def press_is_borne(site: Site) -> Iterator[Finding]:
    """Tell of a press entered hotter than the cloth bears.

    That an iron's limit is held for a press's too, where nothing else is known, is reasoned, no
    source.
    """
    limit = site.cloth.bears_c
    press_c = site.templates.settings.press.temperature_c if site.templates else None
    pressed = any(
        lay.set_by in PRESSED and len(site.layout.rows(index))
        for index, lay in enumerate(site.layout.lays)
    )
    if pressed and limit is not None and press_c is not None and press_c > limit:
        yield Finding(
            "press-too-hot",
            "warning",
            f"the press is entered at {press_c:g} °C, and {site.cloth.bears_words}: the cloth may"
            " melt, scorch or shine there",
            mend="Follow the instructions of both makers: press at less heat where the pieces"
            " allow it, or glue or sew them on.",
        )


def gaps_hold_stretched(site: Site) -> Iterator[Finding]:
    """Tell where pieces stand nearer than asked once the cloth is drawn out, on the board or worn.

    Pieces do not stretch and keep their turn, their places move. Between round pieces gaps only
    grow where the cloth grows; long pieces side by side, or cloth that gets narrower, may close up.
    """
    cloth = site.cloth
    for state in (cloth.as_set, *cloth.as_worn):
        if state.relaxed:
            continue
        layout = site.layout.stretched(state.map(site.layout.page_mm)).rounded()
        gaps_mm = site.gaps_mm or [lay.gap_mm for lay in layout.lays]
        lays = [replace(lay, gap_mm=gap) for lay, gap in zip(layout.lays, gaps_mm, strict=True)]
        layout = replace(layout, lays=tuple(lays))
        pairs = near_pairs(layout)
        bad = pairs.gap_mm < pairs.asked_mm
        seats, gaps, asked = pairs.seats[bad], pairs.gap_mm[bad], pairs.asked_mm[bad]
        between = np.sort(layout.lay[seats], axis=1)
        how = "on the board" if state.name == "board" else "as worn"
        for first, second in np.unique(between, axis=0).tolist():
            here = np.flatnonzero((between[:, 0] == first) & (between[:, 1] == second))
            worst = int(here[np.argmin(gaps[here])])
            count = "a pair" if len(here) == 1 else f"{len(here)} pairs"
            names = " and ".join(dict.fromkeys(layout.lays[each].id for each in (first, second)))
            x, y = site.layout.xy[seats[worst]].mean(axis=0).tolist()
            yield Finding(
                "gap-stretched",
                "error",
                f"{count} of '{names}' stand nearer than {asked[worst]:g} mm once the cloth is"
                f" stretched {how} ({state.amounts}); the nearest have {gaps[worst]:.3f} mm",
                (round(x, 3), round(y, 3)),
                layout.lays[second].id,
                "Turn them or move them apart, or let the cloth be stretched less.",
            )


def stretch_gives(site: Site) -> Iterator[Finding]:
    """Warn of long unbroken rows that run the way the cloth stretches.

    A row takes the give out of the cloth, or its thread breaks and its pieces come off. A step of
    a row counts where it lies within 30 degrees of a way the cloth gives, and so, where it gives
    both ways, wherever it is lengthened as much.
    """
    cloth = site.cloth
    gives = np.array([cloth.stretch_along_percent, cloth.stretch_across_percent])
    if not gives.any():
        return
    least = gives[gives > 0.0].min() * np.cos(np.radians(_WITHIN_DEG)) ** 2
    layout = site.layout
    for index, lay in enumerate(layout.lays):
        if lay.way not in _ROWS:
            continue
        longest, first, count, most = 0.0, -1, 0, 0.0
        for run in _unbroken(layout, layout.rows(index)):
            step = np.diff(layout.xy[run], axis=0)
            length, strain = np.hypot(*step.T), _lengthened(step, gives, cloth.grain_deg)
            counts = strain >= least - EPS_MM
            for part in _stretches(counts):
                total = float(length[part].sum())
                count += total > _LONG_MM
                if total > longest:
                    longest, first, most = total, int(run[part.start]), float(strain[part].max())
        if count:
            rows = "a row runs on" if count == 1 else f"{count} rows run on, one"
            fate = "its thread" if lay.set_by == "sewn" else "its pieces"
            what = "may break" if lay.set_by == "sewn" else "may come off"
            yield Finding(
                "stretch-row",
                "warning",
                f"{rows} for {longest:.0f} mm without a break where the cloth stretches by"
                f" {most:.0f} %: it holds the cloth, or {fate} {what}",
                site.where(first),
                lay.id,
                f"Leave breaks of {_BREAK_MM:g} mm and more, sew with a thread that gives, or do"
                " not let it be stretched there.",
            )


def _lengthened(step: Floats, gives: Floats, grain_deg: float) -> Floats:
    """Return by how many per cent each step is lengthened, for small stretches, shape (n,)."""
    grain = np.radians(grain_deg)
    unit = step / np.maximum(np.hypot(*step.T), EPS_MM)[:, None]
    along = unit @ np.array([np.cos(grain), np.sin(grain)])
    result: Floats = gives[0] * along**2 + gives[1] * (1.0 - along**2)
    return result


def _stretches(counts: Bools) -> Iterator[slice]:
    """Yield the runs of steps that count."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], counts, [False]]).astype(np.int8)))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield slice(start, stop)


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
