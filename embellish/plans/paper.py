"""Patterns on paper for cloth that no hoop takes: which seats are pricked, which are cut out.

Every hole lies on a seat: at its centre, or along the length of a long piece. Where seats are too
near for the paper to hold, some are passed over, so that a line of small pieces is a line of holes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.spatial import cKDTree

from embellish.arrays import Floats, Ints, frozen, frozen_ints
from embellish.findings import Finding
from embellish.geometry.clashes import survivors
from embellish.geometry.outlines import bounds
from embellish.geometry.segments import directions
from embellish.layout.layout import Layout, Side
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.templates.holes import whole_outline

PatternKind = Literal["pounce", "stencil"]
SIDES: Final[tuple[Side, ...]] = ("front", "back")
_SHARE: Final = 0.6
"""Of a piece's half length, where the holes that show its turn lie."""
_SLACK_MM: Final = 0.01
_ROW_END, _CENTRE, _TURN = 2, 1, 0
"""What stays where there is not room for all: ends of rows, then centres, then what shows turns."""


@dataclass(frozen=True, eq=False)
class Pattern:
    """Holes of one pattern, in layout mm.

    Parameters
    ----------
    kind, side
        What it is, and from which side of the cloth it is used.
    hole_mm, apart_mm
        Width of each hole, and what stays between two at least.
    seat : array of shape (n,)
        Row of the layout that each hole lies on.
    xy : array of shape (n, 2)
        Its centre.
    along_mm : array of shape (n,)
        How far that is from the seat's centre, along its piece.
    angle_deg : array of shape (n,)
        Of the piece.
    slot_mm : array of shape (n,)
        Length of a slot between the centres of its round ends; 0 where the hole is round.
    """

    kind: PatternKind
    side: Side
    hole_mm: float
    apart_mm: float
    seat: Ints
    xy: Floats
    along_mm: Floats
    angle_deg: Floats
    slot_mm: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "seat", frozen_ints(self.seat))
        for name in ("xy", "along_mm", "angle_deg", "slot_mm"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, eq=False)
class PaperPlan:
    """The patterns asked for, and what the wash-away sheet of each side shows.

    Parameters
    ----------
    settings
        What was asked.
    patterns
        With holes; a side with nothing to set has none.
    wash_away
        Rows of the layout for each side that has a sheet.
    """

    settings: PaperSettings
    patterns: tuple[Pattern, ...]
    wash_away: dict[Side, Ints]
    findings: tuple[Finding, ...] = ()


def plan_paper(
    layout: Layout, settings: PaperSettings, sheet_mm: tuple[float, float] | None = None
) -> PaperPlan:
    """Return the patterns of what is set by hand or sewn on; nothing else wants a mark.

    Parameters
    ----------
    layout
        Where the pieces stand.
    settings
        What is asked.
    sheet_mm
        Of the cutter's sheet, either way round; None where it is not known or has no end.
    """
    if not settings.any_pattern:
        return PaperPlan(settings, (), {})
    rows = {side: _shown(layout, side) for side in SIDES}
    used = {side: mine for side, mine in rows.items() if len(mine)}
    if not used:
        told = Finding(
            "paper-empty",
            "warning",
            "Nothing of this job is set by hand or sewn on, so there is no pattern to make.",
            mend="Leave out pounce, stencil and wash_away under [paper].",
        )
        return PaperPlan(settings, (), {}, (told,))
    patterns = []
    for side, mine in used.items():
        if settings.pounce:
            patterns.append(_pounce(layout, mine, side, settings))
        if settings.stencil:
            patterns.append(_stencil(layout, mine, side, settings))
    noticed = tuple(each for pattern in patterns for each in _too_large(pattern, sheet_mm))
    return PaperPlan(settings, tuple(patterns), used if settings.wash_away else {}, noticed)


def _too_large(pattern: Pattern, sheet_mm: tuple[float, float] | None) -> Iterator[Finding]:
    if pattern.kind != "stencil" or sheet_mm is None:
        return
    reach = pattern.hole_mm / 2.0 + pattern.slot_mm[:, None] / 2.0
    size = (pattern.xy + reach).max(axis=0) - (pattern.xy - reach).min(axis=0)
    if (np.sort(size) > np.sort(sheet_mm)).any():
        wide, high = size.tolist()
        yield Finding(
            "stencil-too-large",
            "warning",
            f"The holes of the stencil take up {wide:.0f} x {high:.0f} mm, and the sheet under "
            f"[template] holds {sheet_mm[0]:g} x {sheet_mm[1]:g} mm.",
            mend="Print its PDF over pages and cut it by hand, or name a larger sheet.",
        )


def _shown(layout: Layout, side: Side) -> Ints:
    lays = [
        index
        for index, lay in enumerate(layout.lays)
        if lay.worked_from == side and lay.set_by in ("hand", "sewn")
    ]
    return np.flatnonzero(np.isin(layout.lay, lays))


def _pounce(layout: Layout, rows: Ints, side: Side, settings: PaperSettings) -> Pattern:
    half = _half_lengths(layout, rows) * _SHARE
    pitch = settings.prick_mm + settings.prick_apart_mm
    turned = np.flatnonzero(half >= pitch)
    pick = np.concatenate([np.arange(len(rows)), turned, turned])
    along = np.concatenate([np.zeros(len(rows)), -half[turned], half[turned]])
    rank = np.concatenate([_rank(layout, rows), np.full(2 * len(turned), _TURN)])
    seat = rows[pick]
    xy = _on(layout, seat, along)
    kept = _kept(xy, np.arange(len(seat)), rank, pitch)
    return _pattern(layout, "pounce", side, settings.prick_mm, settings.prick_apart_mm,
                    seat[kept], along[kept], np.zeros(len(kept)))  # fmt: skip


def _stencil(layout: Layout, rows: Ints, side: Side, settings: PaperSettings) -> Pattern:
    hole, apart = settings.stencil_hole_mm, settings.stencil_apart_mm
    slot = 2.0 * _half_lengths(layout, rows) * _SHARE - hole
    slot = np.where(slot >= hole, slot, 0.0)
    # Discs along each slot, near enough for the slack, stand for it.
    counts = np.where(slot > 0.0, np.ceil(slot / (0.25 * hole)).astype(np.int64) + 1, 1)
    owner = np.repeat(np.arange(len(rows)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(len(owner)) - first) / np.maximum(np.repeat(counts, counts) - 1, 1)
    along = np.where(np.repeat(counts, counts) > 1, (share - 0.5) * slot[owner], 0.0)
    xy = _on(layout, rows[owner], along)
    pitch = hole + apart + (_SLACK_MM if slot.any() else 0.0)
    kept = _kept(xy, owner, _rank(layout, rows), pitch)
    return _pattern(
        layout, "stencil", side, hole, apart, rows[kept], np.zeros(len(kept)), slot[kept]
    )


def _pattern(
    layout: Layout,
    kind: PatternKind,
    side: Side,
    hole_mm: float,
    apart_mm: float,
    seat: Ints,
    along: Floats,
    slot: Floats,
) -> Pattern:
    return Pattern(
        kind,
        side,
        hole_mm,
        apart_mm,
        seat,
        np.round(_on(layout, seat, along), 6),
        np.round(along, 6),
        layout.angle_deg[seat],
        np.round(slot, 6),
    )


def _half_lengths(layout: Layout, rows: Ints) -> Floats:
    """Return how far each piece reaches from its centre along its length; 0 where it is round."""
    halves = []
    for footprint in layout.footprints:
        if footprint.round_radius_mm is not None:
            halves.append(0.0)
            continue
        x0, y0, x1, y1 = bounds(whole_outline(footprint))
        halves.append(min(-x0, x1) if x1 - x0 > y1 - y0 else 0.0)
    return np.array(halves)[layout.footprint[rows]]


def _on(layout: Layout, seat: Ints, along: Floats) -> Floats:
    cos, sin = directions(layout.angle_deg[seat])
    return np.asarray(layout.xy[seat] + np.stack([cos, sin], axis=1) * along[:, None])


def _rank(layout: Layout, rows: Ints) -> Ints:
    """Return which seats stay first: those at the ends of rows."""
    line = np.stack([layout.lay[rows], layout.shape[rows], layout.row[rows]], axis=1)
    turn = np.flatnonzero(np.any(line[1:] != line[:-1], axis=1)) + 1
    rank = np.full(len(rows), _CENTRE)
    rank[np.concatenate([[0], turn, turn - 1, [len(rows) - 1]]).astype(np.int64)] = _ROW_END
    return rank


def _kept(xy: Floats, owner: Ints, rank: Ints, pitch_mm: float) -> Ints:
    """Return which owners of points stay, so that no two have points nearer than the pitch."""
    pairs = cKDTree(xy).query_pairs(pitch_mm, output_type="ndarray")
    apart = np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T)
    both = owner[pairs[apart < pitch_mm - 1e-9]]
    both = both[both[:, 0] != both[:, 1]].astype(np.int64)
    return np.flatnonzero(survivors(int(owner.max()) + 1, both, rank))
