"""Lifts and passes: transfer sheets taken for one garment, and closings of the press.

A template is cut once; for each garment a transfer sheet is laid on it and lifted. Set pieces
hold the next transfer sheet off the cloth, so templates that hold neighbours are lifted one after
the other with one sheet, unless the maker asks to split them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints, frozen_ints
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.plans.lift_parts import in_parts
from embellish.plans.registration import Bounds, registration_bounds
from embellish.plans.templates.parts import fits
from embellish.plans.templates.settings import Size
from embellish.plans.templates.template import TemplatePlan
from embellish.units import EPS_MM

SHEET_RIM_MM: Final = 10.0
"""How far a transfer sheet reaches over its pieces, to be held (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Lift:
    """One transfer sheet for one garment.

    Parameters
    ----------
    kind
        'template' where it is lifted from templates, 'face-down' where pieces are laid on it.
    sources
        Names of the template parts in the order they are lifted from, or the lay's id and, where
        it takes several sheets, which of how many.
    rows : array of shape (n,)
        The seats it sets, rows of the layout.
    bounds_mm
        Of its pieces, in layout mm.
    """

    kind: Literal["template", "face-down"]
    sources: tuple[str, ...]
    rows: Ints
    bounds_mm: Bounds

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", frozen_ints(self.rows))


@dataclass(frozen=True, slots=True)
class Pass:
    """One closing of the press for one garment.

    Parameters
    ----------
    lifts
        Numbers of the lifts that are pressed together.
    bounds_mm
        Of their pieces, in layout mm.
    heights_mm
        Least and greatest height of what is pressed, where the catalogue has it.
    keep_out
        Codes of sewn, glued or hand-set pieces that stand under the platen, its middle over the
        pieces pressed: set them afterwards, and none of them under heat.
    """

    lifts: tuple[int, ...]
    bounds_mm: Bounds
    heights_mm: tuple[float, float] | None
    keep_out: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class LiftPlan:
    """All lifts and passes of one garment, and how many garments there are."""

    lifts: tuple[Lift, ...]
    passes: tuple[Pass, ...]
    quantity: int
    findings: tuple[Finding, ...] = ()

    @property
    def lift_count(self) -> int:
        """Transfer sheets over all garments."""
        return len(self.lifts) * self.quantity

    @property
    def pass_count(self) -> int:
        """Closings of the press over all garments."""
        return len(self.passes) * self.quantity


def plan_lifts(layout: Layout, plan: TemplatePlan) -> LiftPlan:
    """Plan the transfer sheets and press passes of one garment.

    Parameters
    ----------
    layout
        Where the pieces stand.
    plan
        Its templates.
    """
    lifts = _template_lifts(layout, plan) + _face_down_lifts(layout, plan)
    passes = _passes(layout, lifts, plan)
    findings = [*_split_neighbours(layout, lifts, plan), *_unregistered(lifts, plan)]
    return LiftPlan(tuple(lifts), tuple(passes), plan.quantity, tuple(findings))


def _template_lifts(layout: Layout, plan: TemplatePlan) -> list[Lift]:
    """Return the lifts from templates: whole ones first, then those of tiles, tile by tile."""
    sets: dict[int, list[_Source]] = {}
    alone: list[_Source] = []
    for template in plan.templates:
        if template.lifts == 1:
            names = tuple(part.name for part in template.parts)
            sets.setdefault(0, []).append((names, template.rows))
            continue
        for part in template.parts:
            own = ((part.name,), part.rows)
            if part.tile:
                sets.setdefault(part.tile, []).append(own)
            else:
                # Other templates have other seams: nothing of theirs lies on the same sheet.
                alone.append(own)
    groups = [group for number in sorted(sets) for group in _gathered(layout, plan, sets[number])]
    lifts = []
    for group in [*groups, *([each] for each in alone)]:
        rows = np.sort(np.concatenate([rows for _, rows in group]))
        names = tuple(name for names, _ in group for name in names)
        lifts.append(_lift(layout, "template", names, rows))
    return lifts


_Source: TypeAlias = tuple[tuple[str, ...], Ints]
"""Names of template parts that are lifted from at once, and their seats."""


def _gathered(layout: Layout, plan: TemplatePlan, sources: list[_Source]) -> list[list[_Source]]:
    """Return sources joined by neighbours, or all, each group with its lowest pieces first."""
    asked, many = plan.settings.neighbours, len(sources)
    if asked == "split":
        return [[source] for source in sources]
    near = [
        (first, second)
        for first in range(many)
        for second in range(first + 1, many)
        if asked == "all"
        or _have_neighbours(
            layout, sources[first][1], sources[second][1], plan.settings.neighbour_mm
        )
    ]
    ends = np.array(near, dtype=np.int64).reshape(-1, 2)
    graph = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(many, many))
    count, label = connected_components(graph.tocsr(), directed=False)
    groups = []
    for number in range(count):
        members = np.flatnonzero(label == number).tolist()
        # Pieces already on the sheet hold it off the next template by their height.
        members.sort(key=lambda index: (_height(layout, sources[index][1]), index))
        groups.append([sources[index] for index in members])
    return groups


def _have_neighbours(layout: Layout, first: Ints, second: Ints, within_mm: float) -> bool:
    reach = layout.reach_mm
    most = within_mm + float(reach[first].max()) + float(reach[second].max())
    pairs = cKDTree(layout.xy[first]).sparse_distance_matrix(
        cKDTree(layout.xy[second]), most + EPS_MM, output_type="coo_matrix"
    )
    free = pairs.data - reach[first][pairs.row] - reach[second][pairs.col]
    return bool((free <= within_mm).any())


def _height(layout: Layout, rows: Ints) -> float:
    """Return the greatest height of these seats' pieces; half its width where none is given."""
    tall = []
    for index in np.unique(layout.footprint[rows]).tolist():
        for piece in _pieces(layout, index):
            high = layout.pieces[piece].height_mm
            tall.append(layout.pieces[piece].width_mm.max / 2.0 if high is None else high)
    return max(tall)


def _pieces(layout: Layout, footprint: int) -> list[int]:
    """Return which pieces stand on a seat of this footprint."""
    if footprint < len(layout.pieces):
        return [footprint]
    index = {piece.code: number for number, piece in enumerate(layout.pieces)}
    unit = layout.units[footprint - len(layout.pieces)]
    return [index[member.piece] for member in unit.members]


def _face_down_lifts(layout: Layout, plan: TemplatePlan) -> list[Lift]:
    lifts = []
    for index, lay in enumerate(layout.lays):
        if lay.set_by != "face-down" or not len(layout.rows(index)):
            continue
        parts = in_parts(layout, layout.rows(index), plan.settings.lift_limit_mm)
        for number, rows in enumerate(parts, 1):
            which = (f"part {number} of {len(parts)}",) if len(parts) > 1 else ()
            lifts.append(_lift(layout, "face-down", (lay.id, *which), rows))
    return lifts


def _unregistered(lifts: list[Lift], plan: TemplatePlan) -> list[Finding]:
    """Tell where one sheet is to be lifted from several templates that nothing aligns."""
    home = {part.name: each.name for each in plan.templates for part in each.parts}
    many = [lift for lift in lifts if len({home.get(name) for name in lift.sources}) > 1]
    gathered = [lift for lift in many if lift.kind == "template"]
    if not gathered or len(plan.registration_mm):
        return []
    return [
        Finding(
            "gathered-unregistered",
            "error",
            f"One transfer sheet is lifted from {len(set(map(home.get, gathered[0].sources)))} "
            "templates one after the other, and they have no registration holes to lay it by.",
            mend="Give registration_count = 3 under [template], or neighbours = 'split'.",
        )
    ]


def _lift(
    layout: Layout, kind: Literal["template", "face-down"], sources: tuple[str, ...], rows: Ints
) -> Lift:
    keep = np.zeros(len(layout), dtype=np.bool_)
    keep[rows] = True
    bounds = registration_bounds(layout, keep)
    if bounds is None:
        raise ValueError("a lift has at least one piece")
    return Lift(kind, sources, rows, bounds)


def _passes(layout: Layout, lifts: list[Lift], plan: TemplatePlan) -> list[Pass]:
    """Put lifts into passes: together where sheets do not lap and the platen takes both.

    Without a platen nothing is known of what it takes, so each lift is its own pass.
    """
    platen = plan.settings.platen
    limit = (max(platen), min(platen)) if isinstance(platen, tuple) else None
    groups: list[list[int]] = []
    for index, lift in enumerate(lifts):
        for group in groups:
            apart = all(
                not _lap(lift.bounds_mm, lifts[other].bounds_mm, SHEET_RIM_MM) for other in group
            )
            around = _around([lift.bounds_mm, *(lifts[other].bounds_mm for other in group)])
            size = (around[2] - around[0], around[3] - around[1])
            if limit is not None and apart and fits(size, limit):
                group.append(index)
                break
        else:
            groups.append([index])
    held = platen if isinstance(platen, tuple) else None
    return [_pass(layout, lifts, group, held) for group in groups]


def _pass(layout: Layout, lifts: list[Lift], group: list[int], platen: Size | None) -> Pass:
    bounds = _around([lifts[index].bounds_mm for index in group])
    rows = np.concatenate([lifts[index].rows for index in group])
    heights = [
        high
        for index in np.unique(layout.footprint[rows]).tolist()
        for piece in _pieces(layout, index)
        if (high := layout.pieces[piece].height_mm) is not None
    ]
    x0, y0, x1, y1 = _pressed(bounds, platen)
    least, most = layout.xy - layout.reach_mm[:, None], layout.xy + layout.reach_mm[:, None]
    later = np.array([lay.set_by in ("hand", "sewn") for lay in layout.lays], dtype=np.bool_)
    under = (most > np.array([x0, y0])).all(axis=1) & (least < np.array([x1, y1])).all(axis=1)
    under &= later[layout.lay]
    names = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
    keep_out = [names[index] for index in np.unique(layout.footprint[under]).tolist()]
    span = (min(heights), max(heights)) if heights else None
    return Pass(tuple(group), bounds, span, tuple(keep_out))


def _pressed(bounds: Bounds, platen: Size | None) -> Bounds:
    """Return what the platen presses with its middle over these pieces; their sheet at least."""
    x0, y0, x1, y1 = bounds
    wide, high = x1 - x0 + 2.0 * SHEET_RIM_MM, y1 - y0 + 2.0 * SHEET_RIM_MM
    if platen is not None:
        upright = x1 - x0 <= platen[0] + EPS_MM and y1 - y0 <= platen[1] + EPS_MM
        across, down = platen if upright else platen[::-1]
        wide, high = max(wide, across), max(high, down)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    return x - wide / 2.0, y - high / 2.0, x + wide / 2.0, y + high / 2.0


def _around(boxes: list[Bounds]) -> Bounds:
    every = np.array(boxes)
    low, high = every[:, :2].min(axis=0), every[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _lap(first: Bounds, second: Bounds, rim_mm: float) -> bool:
    """Return whether two transfer sheets, each with its rim, would lie on one another."""
    reach = 2.0 * rim_mm
    return (
        first[0] < second[2] + reach
        and second[0] < first[2] + reach
        and first[1] < second[3] + reach
        and second[1] < first[3] + reach
    )


def _split_neighbours(layout: Layout, lifts: list[Lift], plan: TemplatePlan) -> list[Finding]:
    """Tell of neighbours on two transfer sheets: the first set holds the second sheet off."""
    home = np.full(len(layout), -1, dtype=np.int64)
    for index, lift in enumerate(lifts):
        home[lift.rows] = index
    rows = np.flatnonzero(home >= 0)
    within = plan.settings.neighbour_mm
    if len(lifts) < 2:
        return []
    xy, reach = layout.xy[rows], layout.reach_mm[rows]
    pairs: Ints = cKDTree(xy).query_pairs(
        within + 2.0 * float(reach.max()) + EPS_MM, output_type="ndarray"
    )
    apart: Floats = np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T)
    free = apart - reach[pairs].sum(axis=1)
    split = (free <= within) & (home[rows[pairs[:, 0]]] != home[rows[pairs[:, 1]]])
    if not split.any():
        return []
    pair = pairs[split][int(np.argmin(np.round(free[split], 6)))]
    x, y = np.round(xy[pair].mean(axis=0), 3).tolist()
    asked = plan.settings.neighbours == "split"
    return [
        Finding(
            "neighbours-split",
            "note" if asked else "warning",
            f"{int(split.sum())} pairs of neighbours nearer than {within:g} mm are set from two "
            "transfer sheets: pieces already set hold the second sheet off the cloth.",
            where_mm=(x, y),
            mend="Press the lowest pieces first, with a pad, or let one sheet take them all "
            "(neighbours = 'gather', a larger transfer sheet or platen).",
        )
    ]
