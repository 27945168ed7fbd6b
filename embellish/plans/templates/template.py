"""Templates: sheets with a hole for each seat, brushed full and lifted with a transfer sheet.

A pure plan of the layout: which seats share a template, their holes, where the sheet is trimmed,
cut into tiles and registered. Brushed-in pieces lie face up and are lifted straight up and laid
down, so a template is not mirrored, unless its sheet is cut lying on its face.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats, Ints, frozen
from embellish.catalogue.piece import Piece
from embellish.findings import Finding
from embellish.formats.tables import nearest
from embellish.layout.layout import Layout
from embellish.plans.registration import by_template, registration_bounds, registration_points
from embellish.plans.templates import checks as template_checks
from embellish.plans.templates.groups import fewest_classes, group_names
from embellish.plans.templates.holes import holes_of
from embellish.plans.templates.parts import (
    Bench,
    Sorting,
    Template,
    frame_around,
    made_template,
    shared_tiles,
)
from embellish.plans.templates.settings import TemplateSettings, usual_clearance_mm
from embellish.plans.templates.walls import Walls, thin_walls
from embellish.plans.title import TitleBlock


@dataclass(frozen=True, eq=False)
class TemplatePlan:
    """All templates of a job.

    Parameters
    ----------
    templates
        In the order they are made.
    quantity
        Garments: each template is lifted from so often.
    clearance_mm : array of shape (k,)
        Of each of the layout's footprints.
    registration_mm : array of shape (m, 2)
        Registration holes in layout mm, the same for every template.
    settings
        What was asked.
    findings
        What was noticed: thin walls, wrong drops, sheets too small or too thick.
    """

    templates: tuple[Template, ...]
    quantity: int
    clearance_mm: Floats
    registration_mm: Floats
    settings: TemplateSettings
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "clearance_mm", frozen(self.clearance_mm))
        object.__setattr__(self, "registration_mm", frozen(self.registration_mm))

    @property
    def holes(self) -> int:
        """Holes over all templates: the seats set by template of one garment."""
        return sum(len(template.rows) for template in self.templates)


def plan_templates(
    layout: Layout,
    settings: TemplateSettings,
    quantity: int = 1,
    title: TitleBlock | None = None,
) -> TemplatePlan:
    """Plan the templates of all seats that are set by template.

    Parameters
    ----------
    layout
        Where the pieces stand.
    settings
        What is asked; sheets by size, not by name (see `TemplateSettings.with_sizes`).
    quantity
        Garments.
    title
        For the labels.
    """
    clearance, findings = clearances(layout, settings)
    rows = np.flatnonzero(by_template(layout))
    bounds = registration_bounds(layout)
    if bounds is None:
        return TemplatePlan((), quantity, clearance, np.zeros((0, 2)), settings, tuple(findings))
    points = registration_points(bounds, settings.registration_count, settings.registration_mm)
    walls = thin_walls(layout, rows, clearance, settings.wall_mm)
    sorting = Sorting.of(layout, clearance)
    boxes = holes_of(layout, rows, clearance).boxes()
    frame = frame_around(boxes, points, settings)
    bench = Bench(layout, settings, clearance, sorting, frame, points, title)
    templates = []
    grouped = _grouped(layout, rows, settings, sorting, walls)
    common = shared_tiles(bench, rows, [words for _, words, _ in grouped])
    for name, words, mine in grouped:
        template, noticed = made_template(bench, mine, name, words, (rows, common))
        templates.append(template)
        findings.extend(noticed)
    findings.extend(template_checks.walls_hold(layout, templates, walls, settings))
    findings.extend(template_checks.nothing_drops_wrongly(templates, sorting.codes, sorting.drops))
    findings.extend(template_checks.sheet_suits_heights(layout, rows, settings))
    return TemplatePlan(tuple(templates), quantity, clearance, points, settings, tuple(findings))


def clearances(layout: Layout, settings: TemplateSettings) -> tuple[Floats, list[Finding]]:
    """Return the clearance of each of the layout's footprints in mm, and entries not used."""
    by_code = {piece.code: piece for piece in layout.pieces}
    asked = settings.clearance_mm
    table = asked if isinstance(asked, dict) else {}
    used: set[str] = set()

    def of_piece(piece: Piece) -> float:
        if isinstance(asked, (int, float)):
            return float(asked)
        for key in (piece.code, piece.size):
            if key in table:
                used.add(key)
                return table[key]
        return usual_clearance_mm(piece)

    values = [of_piece(piece) for piece in layout.pieces]
    for unit in layout.units:
        if unit.name in table:
            used.add(unit.name)
            values.append(table[unit.name])
        else:
            values.append(max(of_piece(by_code[member.piece]) for member in unit.members))
    known = [*by_code, *(piece.size for piece in layout.pieces), *(u.name for u in layout.units)]
    findings = [
        Finding(
            "clearance-unused",
            "note",
            f"[template] clearance_mm names '{key}', and no piece of this job has that code or "
            "size.",
            mend=nearest(key, known),
        )
        for key in table
        if key not in used
    ]
    return np.array(values, dtype=np.float64), findings


def _grouped(
    layout: Layout, rows: Ints, settings: TemplateSettings, sorting: Sorting, walls: Walls
) -> list[tuple[str, str, Ints]]:
    """Return file name, title and seats of each template, in order."""
    which = layout.footprint[rows]
    if settings.group == "fewest":
        apart = sorting.drops.copy()
        pairs = layout.footprint[walls.seats]
        unlike = pairs[:, 0] != pairs[:, 1]
        apart[pairs[unlike, 0], pairs[unlike, 1]] = True
        present = set(which.tolist())
        classes = fewest_classes(apart, [index for index in sorting.order if index in present])
        labels = np.array([classes[index] for index in which.tolist()])
        count = int(labels.max()) + 1
        return [
            (
                f"template-{label + 1}",
                f"{label + 1} of {count}",
                rows[labels == label],
            )
            for label in range(count)
        ]
    names = group_names(layout, rows, settings.group)
    place: dict[str, int] = {}
    labels = np.array([place.setdefault(name, len(place)) for name in names])
    files = _file_names(list(place))
    return [
        (files[label], f"{name} ({label + 1} of {len(place)})", rows[labels == label])
        for name, label in place.items()
    ]


def _file_names(titles: list[str]) -> list[str]:
    """Return a plain file name for each title, all different even where case is not told."""
    taken: set[str] = set()
    names = []
    for index, each in enumerate(titles, 1):
        flat = unicodedata.normalize("NFKD", each).encode("ascii", "ignore").decode()
        base = re.sub(r"[^A-Za-z0-9.]+", "-", flat).strip("-.").lower()[:40] or f"template-{index}"
        name, again = base, 2
        while name in taken:
            name, again = f"{base}-{again}", again + 1
        taken.add(name)
        names.append(name)
    return names
