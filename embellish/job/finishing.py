"""The last of laying: clashes, the holes they leave, and gaps evened out where that is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from embellish.arrays import Bools
from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import region_of
from embellish.findings import Finding, counted
from embellish.job.model import LayTable
from embellish.job.one_lay import Site
from embellish.layout.clashes import without_clashes
from embellish.layout.edits import Edit
from embellish.layout.fill_in import filled_in
from embellish.layout.keep_out import without_kept_out
from embellish.layout.layout import Layout
from embellish.layout.plots import Plot
from embellish.layout.ranked import Ranked
from embellish.layout.runs import short_runs
from embellish.layout.settle import settled_lays
from embellish.layout.ways.scatter import ScatterSettings
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Progress


def finished(
    site: Site,
    ranked: Ranked,
    chosen: Sequence[tuple[Shape, ...]],
    edits: Sequence[Edit],
    progress: Progress,
) -> tuple[Ranked, list[Finding]]:
    """Return the seats clear of keep-outs and each other, holes filled, settled where asked.

    Parameters
    ----------
    site
        What all lays share.
    ranked
        All seats, laid and edited, where they stand.
    chosen
        The shapes of each lay, as drawn.
    edits
        What was done by hand.
    progress
        Told the share done of the evening out, which takes longest.
    """
    clear, kept_out = without_kept_out(ranked, site.keep_out)
    dropped: list[Finding] = []
    # A string that loses a link is two, and their ends keep the gap to one another.
    parts = any(lay.pitch_mm for lay in clear.layout.lays)
    again = True
    while again:
        clear, kept, told = without_clashes(clear)
        dropped.extend(told)
        again = parts and not kept.all()
    short = short_runs(clear.layout)
    dropped.extend(_too_short(clear.layout, short))
    clear = clear.taken(np.flatnonzero(~short))
    plots = list(_plots(site, chosen))
    deleted = [
        (edit.lay, np.array([edit.x_mm, edit.y_mm])) for edit in edits if edit.do == "delete"
    ]
    whole, filled = filled_in(ranked, clear, plots, deleted)
    # A scatter has settled itself while it was laid, and knows its fade: only what came in moves.
    changed = {finding.lay for finding in (*kept_out, *dropped, *filled)}
    changed |= {site.job.lay[edit.lay].id for edit in edits}
    plots = [
        plot
        if site.job.lay[plot.lay].way != "scatter" or site.job.lay[plot.lay].id in changed
        else replace(plot, settle=0.0)
        for plot in plots
    ]
    return settled_lays(whole, plots, progress), [*kept_out, *dropped, *filled]


def _too_short(layout: Layout, short: Bools) -> Iterator[Finding]:
    """Tell of links left out since too few of them were left together for a length."""
    for lay in np.unique(layout.lay[short]).tolist():
        first = int(np.flatnonzero(short & (layout.lay == lay))[0])
        links = counted(int(np.count_nonzero(short & (layout.lay == lay))), "link")
        name = layout.lays[lay].name or layout.lays[lay].id
        yield Finding(
            "string-too-short",
            "warning",
            f"{links} of '{name}' left out as well: too few are together there for a length",
            (float(layout.xy[first, 0]), float(layout.xy[first, 1])),
            layout.lays[lay].id,
            mend="Move what stands in the way, or the line.",
        )


def _plots(site: Site, chosen: Sequence[tuple[Shape, ...]]) -> Sequence[Plot]:
    placed = site.frames.placed_shapes(site.artwork)
    index_of = {id(shape): index for index, shape in enumerate(site.artwork.shapes)}
    plots: list[Plot] = []
    for number, (lay, shapes) in enumerate(zip(site.job.lay, chosen, strict=True)):
        way = WAYS[lay.way]
        if not (way.fills and way.mixes):
            # Rows and centrelines are even along their lines, which only their ways know.
            continue
        for shape in shapes:
            index = index_of[id(shape)]
            plots.append(
                Plot(
                    lay=number,
                    shape=index,
                    region=region_of(placed[index]),
                    edge_mm=lay.edge_mm,
                    sorts=tuple(site.sorts.names[code] for code in lay.codes),
                    settle=0.0 if _fades(lay) or lay.lapped else lay.settings.settle,
                    tops_up=_tops_up(lay),
                    keeps_edge=lay.way == "rings",
                    keep_out=site.keep_out,
                )
            )
    return plots


def _fades(lay: LayTable) -> bool:
    return isinstance(lay.settings, ScatterSettings) and lay.settings.fade is not None


def _tops_up(lay: LayTable) -> bool:
    """Tell whether a lay sets as many pieces as fit, and not a number that was asked."""
    settings = lay.settings
    if not isinstance(settings, ScatterSettings):
        return True
    return settings.count is None and settings.density == "random" and settings.fade is None
