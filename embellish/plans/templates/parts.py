"""The parts of a template: its sheets to be cut, each with its map, trim, label and holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from embellish.arrays import Bools, Floats, Ints, frozen, frozen_ints
from embellish.findings import Finding
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.plans.registration import RIM_MM, Bounds
from embellish.plans.templates.groups import brush_order, hole_extent, least_extents, wrong_drops
from embellish.plans.templates.holes import Holes, hole_outlines, holes_of
from embellish.plans.templates.label import (
    LEAST_WIDTH_MM,
    label_height_mm,
    label_lines,
    short_lines,
    wrapped,
)
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.tiles import Tile, Tiling, tiles_of
from embellish.plans.title import TitleBlock
from embellish.units import EPS_MM, ROUND_DECIMALS

PAGE_RIM_MM: Final = 2.0
"""Between the trim and the edge of the file's page, so that the cut is on the page."""


@dataclass(frozen=True, eq=False)
class TemplatePart:
    """One sheet to be cut: a whole template or a tile of one. Lengths in the part's own mm.

    Parameters
    ----------
    name
        Plain letters, for the file.
    rows : array of shape (n,)
        The seats, rows of the layout, in order.
    holes
        One a seat, in that order.
    to_template
        From layout mm to the part's page.
    width_mm, height_mm
        Of the page.
    trim : array of shape (k, 2)
        The closed line along which the sheet is cut out.
    registration : array of shape (m, 2)
        Centres of the registration holes that lie on this part.
    matches
        Ticks across the seams that fall together with those of the neighbouring tiles.
    label
        Its lines; ``label_top_mm`` is where the strip for them begins.
    tile
        Number of the tile, from 1, where all templates of the job are cut along the same seams:
        tiles of one number have one outline. 0 otherwise.
    """

    name: str
    rows: Ints
    holes: Holes
    to_template: Affine
    width_mm: float
    height_mm: float
    trim: Floats
    registration: Floats
    matches: tuple[Floats, ...]
    label: tuple[str, ...]
    label_top_mm: float
    tile: int = 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", frozen_ints(self.rows))
        object.__setattr__(self, "trim", frozen(self.trim))
        object.__setattr__(self, "registration", frozen(self.registration))

    @property
    def mirrored(self) -> bool:
        """Whether the file is the mirror image of the layout."""
        return self.to_template.mirrors


@dataclass(frozen=True, eq=False)
class Template:
    """One template.

    Parameters
    ----------
    name
        Plain letters, digits, dots and dashes; unique in the job.
    title
        What it is, for people.
    order
        Codes of pieces and names of units, in brush-in order: largest holes first.
    counts
        How many of each, one garment.
    rows : array of shape (n,)
        The seats, rows of the layout, in order.
    parts
        One, or the tiles it is cut into.
    lifts
        How often it is lifted from for one garment: tiles that one transfer sheet and one press
        take together are laid edge to edge and lifted at once.
    """

    name: str
    title: str
    order: tuple[str, ...]
    counts: tuple[int, ...]
    rows: Ints
    parts: tuple[TemplatePart, ...]
    lifts: int = 1

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", frozen_ints(self.rows))


@dataclass(frozen=True, eq=False)
class Sorting:
    """What the grouping needs to know of the footprints, by their index."""

    codes: list[str]
    order: list[int]
    drops: Bools

    @classmethod
    def of(cls, layout: Layout, clearance: Floats) -> Sorting:
        """Sort the footprints of a layout."""
        codes = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
        holes = [hole_extent(hole) for hole in hole_outlines(layout.footprints, clearance)]
        order = brush_order(codes, holes)
        return cls(codes, order, wrong_drops(order, least_extents(layout), holes))


def frame_around(boxes: Floats, points: Floats, settings: TemplateSettings) -> Bounds:
    """Return the sheet around all holes and registration holes, in layout mm."""
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    low, high = low - settings.edge_mm, high + settings.edge_mm
    if len(points):
        around = settings.registration_mm / 2.0 + min(RIM_MM, settings.edge_mm)
        low = np.minimum(low, points.min(axis=0) - around)
        high = np.maximum(high, points.max(axis=0) + around)
    # Around a small design the sheet is widened, so that its label can be read.
    high[0] = max(high[0], low[0] + LEAST_WIDTH_MM)
    low, high = np.round(low, ROUND_DECIMALS), np.round(high, ROUND_DECIMALS)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


@dataclass(frozen=True, eq=False)
class Bench:
    """What all templates of a job share.

    Parameters
    ----------
    layout
        Where the pieces stand.
    settings
        What is asked.
    clearance_mm : array of shape (k,)
        Of each of the layout's footprints.
    sorting
        Codes, brush-in order and wrong drops.
    frame
        The sheet around all, in layout mm.
    points : array of shape (m, 2)
        Registration holes in layout mm.
    title
        For the labels.
    """

    layout: Layout
    settings: TemplateSettings
    clearance_mm: Floats
    sorting: Sorting
    frame: Bounds
    points: Floats
    title: TitleBlock | None

    @property
    def mirrored(self) -> bool:
        """Whether files are the mirror image of the layout."""
        return self.settings.cut_from == "back"


def shared_tiles(bench: Bench, rows: Ints, words: Sequence[str]) -> list[Tile]:
    """Return tiles that suit all templates at once; none where they need none, or there are none.

    Then tiles of one place are lifted one after the other with one transfer sheet.

    Parameters
    ----------
    rows : array of shape (n,)
        All seats set by template, ascending.
    words
        Titles of the templates.
    """
    holes = holes_of(bench.layout, rows, bench.clearance_mm)
    tiles, findings = tiles_of(holes, bench.points, bench.frame, _tiling(bench, words))
    return [] if findings or len(tiles) == 1 else tiles


def made_template(
    bench: Bench, rows: Ints, name: str, words: str, shared: tuple[Ints, Sequence[Tile]]
) -> tuple[Template, tuple[Finding, ...]]:
    """Make the template of these seats, cut into tiles where it is larger than what takes it.

    Parameters
    ----------
    rows : array of shape (n,)
        Its seats, ascending.
    name, words
        For files, and for people.
    shared
        All seats of all templates, and the tiles that suit them all, if there are such.
    """
    codes = bench.sorting.codes
    holes = holes_of(bench.layout, rows, bench.clearance_mm)
    every, common = shared
    findings: list[Finding] = []
    if common:
        numbered = [
            (number, replace(tile, members=np.flatnonzero(np.isin(rows, every[tile.members]))))
            for number, tile in enumerate(common, 1)
        ]
        count = len(common)
        numbered = [(number, tile) for number, tile in numbered if len(tile.members)]
    else:
        tiles, findings = tiles_of(holes, bench.points, bench.frame, _tiling(bench, [words]))
        numbered, count = list(enumerate(tiles, 1)), len(tiles)
    parts = []
    for number, tile in numbered:
        mine = rows[tile.members]
        whole = count == 1
        part, said = name, words
        if not whole:
            part, said = f"{name}_tile-{number}", f"{words}, tile {number} of {count}"
        label = _label(bench, mine, said, max(float(np.ptp(tile.trim[:, 0])), LEAST_WIDTH_MM))
        across, body = np.ptp(tile.trim, axis=0).tolist()
        page = (across + 2.0 * PAGE_RIM_MM, body + 2.0 * PAGE_RIM_MM + label_height_mm(len(label)))
        if not fits(page, bench.settings.limit_mm):
            label = _short(bench, said)
        made = _part(bench, (part, label), tile, (mine, holes), whole=whole)
        parts.append(replace(made, tile=number) if common else made)
    counts = np.bincount(bench.layout.footprint[rows], minlength=len(codes))
    order = [index for index in bench.sorting.order if counts[index]]
    template = Template(
        name,
        words,
        tuple(codes[index] for index in order),
        tuple(int(counts[index]) for index in order),
        rows,
        tuple(parts),
        1 if _lifted_at_once(bench) else len(parts),
    )
    return template, tuple(findings)


def _tiling(bench: Bench, words: Sequence[str]) -> Tiling:
    """Return how tiles are to be, for templates of these titles."""
    settings = bench.settings
    lines = max(len(_short(bench, f"{each}, tile 88 of 88")) for each in words)
    strip, limit = label_height_mm(lines), settings.limit_mm
    rooms = []
    if limit is not None:
        rooms = [
            (across - 2.0 * PAGE_RIM_MM, down - 2.0 * PAGE_RIM_MM - strip)
            for across, down in (limit, limit[::-1])
        ]
    radius = settings.registration_mm / 2.0
    return Tiling(tuple(rooms), settings.wall_mm, radius, ", ".join(words))


def _lifted_at_once(bench: Bench) -> bool:
    """Return whether one transfer sheet and one press take the whole frame."""
    x0, y0, x1, y1 = bench.frame
    return fits((x1 - x0, y1 - y0), bench.settings.lift_limit_mm)


def fits(size: tuple[float, float], limit: tuple[float, float] | None) -> bool:
    """Return whether a rectangle lies within a long and a short side, turned if need be."""
    if limit is None:
        return True
    return max(size) <= limit[0] + EPS_MM and min(size) <= limit[1] + EPS_MM


def _label(bench: Bench, rows: Ints, words: str, width_mm: float) -> list[str]:
    codes = bench.sorting.codes
    here = np.bincount(bench.layout.footprint[rows], minlength=len(codes))
    told = [
        (codes[index], int(here[index]), float(bench.clearance_mm[index]))
        for index in bench.sorting.order
        if here[index]
    ]
    lines = label_lines(words, told, mirrored=bench.mirrored, title=bench.title)
    return wrapped(lines, width_mm)


def _short(bench: Bench, words: str) -> list[str]:
    lines = short_lines(words, mirrored=bench.mirrored, title=bench.title)
    return wrapped(lines, LEAST_WIDTH_MM)


def _part(
    bench: Bench,
    words: tuple[str, list[str]],
    tile: Tile,
    seats: tuple[Ints, Holes],
    *,
    whole: bool,
) -> TemplatePart:
    (name, label), (rows, holes) = words, seats
    low, high = tile.trim.min(axis=0), tile.trim.max(axis=0)
    strip = label_height_mm(len(label))
    # A narrow tile's page is wider than the tile: its label stands outside the trim.
    across = max(float(high[0] - low[0]), LEAST_WIDTH_MM)
    width = round(across + 2.0 * PAGE_RIM_MM, ROUND_DECIMALS)
    body = float(high[1] - low[1])
    height = round(body + strip + 2.0 * PAGE_RIM_MM, ROUND_DECIMALS)
    to_page = Affine.move(
        round(PAGE_RIM_MM - float(low[0]), ROUND_DECIMALS),
        round(PAGE_RIM_MM - float(low[1]), ROUND_DECIMALS),
    )
    if bench.mirrored:
        to_page = Affine.mirror_x(width / 2.0) @ to_page
    trim = to_page(tile.trim)
    if whole:
        # The label stays on the sheet: the trim runs around it too.
        bottom = trim[:, 1] >= trim[:, 1].max() - EPS_MM
        trim[bottom, 1] += strip
    return TemplatePart(
        name,
        rows,
        holes.taken(tile.members).mapped(to_page),
        to_page,
        width,
        height,
        trim,
        to_page(bench.points[tile.points]),
        tuple(to_page(match) for match in tile.matches),
        tuple(label),
        PAGE_RIM_MM + body,
    )
