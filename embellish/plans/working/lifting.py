"""Steps of lifting and pressing: each transfer sheet by its number, and what goes in which pass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from embellish.arrays import Ints
from embellish.layout.layout import Layout
from embellish.plans.lifts import Lift, LiftPlan, Pass
from embellish.plans.templates.parts import Template, TemplatePart
from embellish.plans.templates.settings import PressSettings
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.working.step import Step

_PINS_THAT_HOLD = 2
"""Fewer registration holes than this let a sheet turn."""


def lifting_steps(
    layout: Layout, templates: TemplatePlan, lifts: LiftPlan, heat_words: str = ""
) -> list[Step]:
    """Return the transfer sheets of each pass, and the pass, with what heat the cloth bears."""
    steps = []
    for number, each in enumerate(lifts.passes, 1):
        for index in each.lifts:
            lift = lifts.lifts[index]
            make = _face_down if lift.kind == "face-down" else _lifting
            steps.append(make(layout, templates, lifts, index))
        steps.append(_pressing(each, number, lifts, templates.settings.press, heat_words))
    return steps


def seat_counts(layout: Layout, rows: Ints) -> tuple[tuple[str, int], ...]:
    """Return how many of each piece and unit stand on these seats."""
    names = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
    counts = np.bincount(layout.footprint[rows], minlength=len(names))
    return tuple((names[index], int(counts[index])) for index in np.flatnonzero(counts).tolist())


def _numbered(lifts: LiftPlan, index: int, words: str) -> str:
    many = len(lifts.lifts)
    return words if many == 1 else f"Transfer sheet {index + 1} of {many}: {words}"


def _face_down(layout: Layout, _: TemplatePlan, lifts: LiftPlan, index: int) -> Step:
    lift = lifts.lifts[index]
    lay = next(each for each in layout.lays if each.id == lift.sources[0])
    what = ", ".join((f"lay '{lay.name or lay.id}' face down", *lift.sources[1:]))
    return Step(
        "face-down",
        _numbered(lifts, index, what if len(lifts.lifts) > 1 else what[0].upper() + what[1:]),
        lifts.quantity,
        (
            "Put a transfer sheet, sticky side up, over the MIRRORED chart.",
            "Lay each piece face down on its outline, turned as drawn.",
            "Turn the sheet over onto the garment.",
        ),
        seat_counts(layout, lift.rows),
    )


def _lifting(layout: Layout, templates: TemplatePlan, lifts: LiftPlan, index: int) -> Step:
    lift = lifts.lifts[index]
    sources = _sources(templates, lift)
    words: list[str] = []
    for template, parts in sources:
        rows = np.concatenate([part.rows for part in parts])
        here = dict(seat_counts(layout, rows))
        order = [f"{code} ({here[code]})" for code in template.order if code in here]
        name = f"Template {_named(template, parts)}"
        if len(parts) > 1:
            name += ", its tiles laid edge to edge"
        if len(order) == 1:
            words.append(f"{name}: brush in {order[0]}, face up.")
        else:
            words.append(
                f"{name}: brush in, face up, each until all its holes are filled: "
                f"{', then '.join(order)}."
            )
        pins = sum(len(part.registration) for part in parts)
        by = "the registration holes"
        if pins < _PINS_THAT_HOLD:
            by = "the edges and ticks of the tile" + (" and its registration hole" if pins else "")
        words.append(f"Lay the transfer sheet on by {by}, rub, lift straight up.")
    if len(sources) > 1:
        words.append(
            "One sheet takes them all, in this order: pieces already on it stand off the next "
            "template, so press it down between them."
        )
    names = "; ".join(_named(template, parts) for template, parts in sources)
    what = f"template{'s' * (len(sources) > 1)} {names}"
    title = f"Brush in and lift from {what}"
    if len(lifts.lifts) > 1:
        title = _numbered(lifts, index, title[0].lower() + title[1:])
    return Step(
        "lift",
        title,
        lifts.quantity,
        tuple(words),
        seat_counts(layout, lift.rows),
        lift.sources,
    )


def _sources(templates: TemplatePlan, lift: Lift) -> list[tuple[Template, list[TemplatePart]]]:
    """Return the templates of a lift in its order, each with the parts it is lifted from."""
    home = {part.name: (each, part) for each in templates.templates for part in each.parts}
    found: dict[str, tuple[Template, list[TemplatePart]]] = {}
    for name in lift.sources:
        template, part = home[name]
        found.setdefault(template.name, (template, []))[1].append(part)
    return list(found.values())


def _named(template: Template, parts: Sequence[TemplatePart]) -> str:
    if len(parts) == len(template.parts):
        return template.title
    tiles = [part.name.rpartition("_tile-")[2] for part in parts]
    return f"{template.title}, tile {' and '.join(tiles)}"


def _pressing(
    each: Pass, number: int, lifts: LiftPlan, press: PressSettings, heat_words: str
) -> Step:
    many = len(lifts.passes)
    words = []
    if len(lifts.lifts) > 1:
        named = " and ".join(str(index + 1) for index in each.lifts)
        together = "s" if len(each.lifts) > 1 else ""
        words.append(f"For transfer sheet{together} {named}{' at once' * bool(together)}.")
    words += [
        "Lay each on the garment as transfer.pdf shows." if len(each.lifts) > 1
        else "Lay the transfer sheet on the garment as transfer.pdf shows.",
        f"Press from the {press.side}.",
    ]  # fmt: skip
    entered = []
    if press.temperature_c is not None:
        entered.append(f"{press.temperature_c:g} °C")
    if press.seconds is not None:
        entered.append(f"{press.seconds:g} s")
    if press.pressure:
        entered.append(press.pressure)
    if entered:
        words.append(f"As entered in the job: {', '.join(entered)}.")
    if heat_words:
        words.append(f"{heat_words[0].upper()}{heat_words[1:]}, as entered in the job.")
    words.append("Heat, time and pressure are those of the makers of pieces and cloth.")
    if press.note:
        words.append(press.note)
    x0, y0, x1, y1 = each.bounds_mm
    words.append(f"Its pieces take {x1 - x0:.0f} × {y1 - y0:.0f} mm of the platen.")
    if each.heights_mm is not None and each.heights_mm[0] != each.heights_mm[1]:
        low, high = each.heights_mm
        words.append(f"Heights run from {low:g} to {high:g} mm: use a compensating pad.")
    if each.keep_out:
        words.append(f"Set afterwards, they stand under the platen: {', '.join(each.keep_out)}.")
    title = "Press" if many == 1 else f"Press, pass {number} of {many}"
    return Step("press", title, lifts.quantity, tuple(words))
