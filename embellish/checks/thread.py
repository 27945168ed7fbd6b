"""Thread where it must not be: in sight beside pieces that are glued, or under those pressed on.

Both look at the needle points of the design itself, after rounding to the machine's grid.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from embellish.arrays import Bools, Floats, Ints, frozen_ints
from embellish.checks.site import PRESSED, Site
from embellish.findings import Finding
from embellish.formats.stitches import STITCH
from embellish.layout.layout import Layout
from embellish.plans.stitching.covers import cover_of, in_frame
from embellish.plans.stitching.values import Hooping
from embellish.units import EPS_MM


@dataclass(frozen=True, eq=False)
class _Runs:
    """Needle points of marks in layout mm, mark after mark, with the number of their mark."""

    points: Floats
    mark: Ints
    seat: Ints
    """Of each mark."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "mark", frozen_ints(self.mark))
        object.__setattr__(self, "seat", frozen_ints(self.seat))


def marks_hide(site: Site) -> Iterator[Finding]:
    """Tell of marks that show beside pieces that no thread holds: it would stay in sight for good.

    Marks along a line or an outline show by their nature, and so do alignment crosses. Sewn pieces
    are left out: their own thread lies there too.
    """
    if site.stitches is None:
        return
    layout = site.as_set
    glued = np.array([lay.set_by != "sewn" for lay in layout.lays], dtype=np.bool_)
    shown: dict[tuple[int, int], list[tuple[int, float]]] = {}
    for hooping in site.stitches.hoopings:
        runs = _single_marks(hooping, glued[layout.lay])
        for mark, out in _out_mm(layout, runs):
            seat = int(runs.seat[mark])
            key = (int(layout.lay[seat]), int(layout.footprint[seat]))
            shown.setdefault(key, []).append((seat, out))
    for (lay, footprint), found in sorted(shown.items()):
        seat, out = max(found, key=lambda each: (round(each[1], 6), -each[0]))
        count = "one mark" if len(found) == 1 else f"{len(found)} marks"
        yield Finding(
            "mark-in-sight",
            "error",
            f"{count} of {_called(layout, footprint)} would stay in sight: the needle comes out"
            f" {out:.2f} mm beside the piece at its least size",
            site.where(seat),
            layout.lays[lay].id,
            "Ask for shape = 'tick' or 'dot' under [marks], or set by the chart (mark = 'none').",
        )


def thread_stays_clear(site: Site) -> Iterator[Finding]:
    """Tell of marks asked under pieces that are pressed on, and of thread of others led there."""
    layout = site.as_set
    for index, lay in enumerate(layout.lays):
        rows = layout.rows(index)
        if lay.set_by not in PRESSED or lay.mark == "none" or not len(rows):
            continue
        yield Finding(
            "marked-under-press",
            "warning",
            f"these pieces are pressed on and marked as well (mark = '{lay.mark}'): thread under a"
            " stone weakens the bond and tips it",
            site.where(int(rows[0])),
            lay.id,
            "Leave marks out (mark = 'none'): the template or the sheet brings them to their"
            " places.",
        )
    if site.stitches is None:
        return
    clear = np.array(
        [lay.set_by in PRESSED and lay.mark == "none" for lay in layout.lays], dtype=np.bool_
    )
    seats = np.flatnonzero(clear[layout.lay])
    for base in (False, True):
        hit = np.zeros(len(layout), dtype=np.bool_)
        for hooping in site.stitches.hoopings:
            hit[_crossed(layout, seats, _threads(hooping, base=base))] = True
        for index, lay in enumerate(layout.lays):
            rows = layout.rows(index)
            under = rows[hit[rows]]
            if len(under):
                where = site.where(int(under[0]))
                yield (
                    _under_base(len(under), where, lay.id)
                    if base
                    else _under(len(under), where, lay.id)
                )


def _under(count: int, where: tuple[float, float], lay: str) -> Finding:
    those = "one of these pieces" if count == 1 else f"{count} of these pieces"
    return Finding(
        "thread-under-press",
        "warning",
        f"thread of other marks is sewn where {those} will be pressed on: it weakens the bond",
        where,
        lay,
        "Mark the other lay at its ends or piece by piece, or lay the two further apart.",
    )


def _under_base(count: int, where: tuple[float, float], lay: str) -> Finding:
    those = "one of these pieces stands" if count == 1 else f"{count} of these pieces stand"
    return Finding(
        "base-under-press",
        "warning",
        f"{those} on the base design's stitching: glue holds less on thread than on the cloth, and"
        " heat may mark the thread",
        where,
        lay,
        "Try on a scrap first, sew these pieces on, or lay them beside the stitching.",
    )


def _called(layout: Layout, footprint: int) -> str:
    if footprint < len(layout.pieces):
        return layout.pieces[footprint].code
    return layout.units[footprint - len(layout.pieces)].name


def _single_marks(hooping: Hooping, wanted: Bools) -> _Runs:
    """Return the marks that show one seat, where it is wanted."""
    points = hooping.to_stitch.inverse()(hooping.design.stitches)
    marks = [
        mark for mark in hooping.marks if mark.kind in ("each", "ends") and wanted[mark.seats[0]]
    ]
    spans = [points[mark.first : mark.last + 1] for mark in marks]
    return _Runs(
        np.concatenate([np.zeros((0, 2)), *spans]),
        np.repeat(np.arange(len(spans)), [len(span) for span in spans]),
        np.array([mark.seats[0] for mark in marks], dtype=np.int64),
    )


def _out_mm(layout: Layout, runs: _Runs) -> Iterator[tuple[int, float]]:
    """Yield the marks that show and how far their needle points lie outside their piece."""
    at = runs.seat[runs.mark]
    inside = in_frame(layout, at, runs.points)
    which = layout.footprint[at]
    for footprint in np.unique(which).tolist():
        mine = which == footprint
        cover = cover_of(layout, footprint, "min").buffer(EPS_MM)
        marks, points = runs.mark[mine], inside[mine]
        away = shapely.distance(cover, shapely.points(points))
        # Between two points that hide, the thread itself may lie across a hollow.
        same = np.flatnonzero(np.diff(marks) == 0)
        steps = shapely.linestrings(np.stack([points[same], points[same + 1]], axis=1))
        bare = ~shapely.covers(cover, steps)
        for mark in np.unique(np.concatenate([marks[away > 0.0], marks[same[bare]]])).tolist():
            yield mark, float(away[marks == mark].max())


def _threads(hooping: Hooping, *, base: bool) -> Floats:
    """Return stitches of a file as steps in layout mm, (m, 2, 2): marks and travel, or the base."""
    steps = [np.zeros((0, 2, 2))]
    of_base = {stop.block for stop in hooping.stops if stop.base}
    for number, block in enumerate(hooping.design.blocks):
        if (number in of_base) != base:
            continue
        # A step is thread on the cloth where it ends in a stitch and starts in one.
        sewn = block.kind == STITCH
        both = np.flatnonzero(sewn[1:] & sewn[:-1])
        steps.append(np.stack([block.xy[both], block.xy[both + 1]], axis=1))
    every = np.concatenate(steps)
    points: Floats = hooping.to_stitch.inverse()(every.reshape(-1, 2)).reshape(-1, 2, 2)
    return points


def _crossed(layout: Layout, seats: Ints, steps: Floats) -> Ints:
    """Return which of these seats have thread under the piece."""
    if not len(seats) or not len(steps):
        return np.zeros(0, dtype=np.int64)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(steps)).tolist())
    near, step = tree.query(
        shapely.points(layout.xy[seats]), predicate="dwithin", distance=layout.reach_mm[seats]
    )
    at = seats[near]
    start, end = (in_frame(layout, at, steps[step, place]) for place in (0, 1))
    lines = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
    met = np.zeros(len(at), dtype=np.bool_)
    which = layout.footprint[at]
    for footprint in np.unique(which).tolist():
        mine = which == footprint
        met[mine] = shapely.intersects(cover_of(layout, footprint, "max"), lines[mine])
    return np.unique(at[met])
