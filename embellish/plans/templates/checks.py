"""What is noticed about templates: thin walls, pieces that drop wrongly, unsuitable sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Protocol

import numpy as np

from embellish.arrays import Bools, Ints
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.walls import Walls

_LOW_SHARE: Final = 0.4
"""A sheet thinner than this share of a piece's height hardly holds it (reasoned, no source)."""


class Grouped(Protocol):
    """What of a template is looked at here."""

    @property
    def title(self) -> str:
        """What it is, for people."""

    @property
    def order(self) -> tuple[str, ...]:
        """Codes in brush-in order."""

    @property
    def rows(self) -> Ints:
        """Its seats, rows of the layout."""


def walls_hold(
    layout: Layout, templates: Sequence[Grouped], walls: Walls, settings: TemplateSettings
) -> Iterator[Finding]:
    """Tell of walls below the one asked, one finding a pair of codes and lays a template."""
    home = np.full(len(layout), -1, dtype=np.int64)
    for index, template in enumerate(templates):
        home[template.rows] = index
    together = home[walls.seats[:, 0]] == home[walls.seats[:, 1]]
    seats, thin, cure = walls.seats[together], walls.wall_mm[together], walls.cure_mm[together]
    if not len(seats):
        return
    names = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
    which = np.sort(layout.footprint[seats], axis=1)
    lays = np.sort(layout.lay[seats], axis=1)
    keys = np.column_stack([home[seats[:, 0]], which, lays])
    kinds, kind = np.unique(keys, axis=0, return_inverse=True)
    for number, (at, first, second, lay, other) in enumerate(kinds.tolist()):
        mine = np.flatnonzero(kind.ravel() == number)
        worst = mine[int(np.argmin(np.round(thin[mine], 6)))]
        pair = seats[worst].tolist()
        x, y = np.round(layout.xy[pair].mean(axis=0), 3).tolist()
        left, gap = float(thin[worst]), float(cure[worst])
        says = (
            f"leave {left:.2f} mm of wall" if left > 0.0 else f"run {-left:.2f} mm into each other"
        )
        whose = f"lay '{layout.lays[lay].id}'"
        if other != lay:
            whose = f"lays '{layout.lays[lay].id}' and '{layout.lays[other].id}'"
        yield Finding(
            "wall-too-thin",
            "error",
            f"Template {templates[at].title}: holes of {names[first]} and {names[second]} {says} "
            f"where {settings.wall_mm:g} mm are asked (seats {pair[0]} and {pair[1]}; "
            f"{len(mine)} such {'pair' if len(mine) == 1 else 'pairs'}).",
            where_mm=(x, y),
            lay=layout.lays[lay].id,
            mend=f"Give {whose} a gap_mm of at least {np.ceil(gap * 1000.0) / 1000.0:g}, or less "
            "clearance or wall under [template].",
        )


def nothing_drops_wrongly(
    templates: Sequence[Grouped], codes: Sequence[str], drops: Bools
) -> Iterator[Finding]:
    """Tell of templates in which a piece brushed in early may drop into a hole of a later one."""
    index = {code: number for number, code in enumerate(codes)}
    for template in templates:
        wrong = [
            (first, later)
            for place, first in enumerate(template.order)
            for later in template.order[place + 1 :]
            if drops[index[first], index[later]]
        ]
        if wrong:
            first, later = wrong[0]
            more = f" ({len(wrong)} such pairs of codes)" if len(wrong) > 1 else ""
            yield Finding(
                "wrong-drop",
                "warning",
                f"Template {template.title}: {first}, brushed in before {later}, may drop into its "
                f"holes{more}.",
                mend="Ask for group = 'fewest' under [template], or cover the holes of the later "
                "one while brushing.",
            )


def sheet_suits_heights(
    layout: Layout, rows: Ints, settings: TemplateSettings
) -> Iterator[Finding]:
    """Compare the sheet's thickness with the heights of the pieces, where both are given."""
    thick = settings.thickness_mm
    if thick is None:
        return
    heights = [
        (piece.height_mm, piece.code)
        for index, piece in enumerate(layout.pieces)
        if piece.height_mm is not None and bool((layout.piece[rows] == index).any())
    ]
    if not heights:
        return
    (low, lowest), (high, highest) = min(heights), max(heights)
    if thick >= low:
        yield Finding(
            "sheet-too-thick",
            "warning",
            f"The template sheet is {thick:g} mm thick and {lowest} only {low:g} mm high: a "
            "transfer sheet cannot touch it in its hole.",
            mend="Cut from a thinner sheet, or set these pieces by hand.",
        )
    if thick < _LOW_SHARE * high:
        yield Finding(
            "sheet-too-thin",
            "note",
            f"The template sheet is {thick:g} mm thick and {highest} {high:g} mm high: the brush "
            "may sweep it out again.",
            mend="Cut from a thicker sheet, or try one first.",
        )
