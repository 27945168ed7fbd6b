"""The sheet of a cloth test: what to make and try, with room for what the maker writes down."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from embellish.formats.html import Element, element, page, picture, table
from embellish.layout.layout import Layout
from embellish.outputs.worksheet_parts import cautions, css_string, section, steps, style
from embellish.plans.stitching.stitch import StitchPlan
from embellish.plans.title import TitleBlock
from embellish.plans.working.work import WorkPlan

_HOW: Final = {
    "template": "brushed into the template, pressed",
    "face-down": "laid face down, pressed",
    "hand": "set by hand",
    "sewn": "sewn on",
}
_STYLE: Final = """
.record td { height: 9mm; }
.record td:first-child { width: 62mm; }
.rule td { height: 9mm; }
.rule td:first-child { white-space: normal; width: 32mm; }
.rule td:nth-child(2) { width: 52mm; }
img { max-height: 120mm; }
"""
_HEAT: Final = (
    ("Temperature of the plate, measured", "°C"),
    ("Time", "s"),
    ("Pressure", ""),
    ("Peeled", "hot / warm / cold"),
)
_CARE: Final = (
    ("Days left before washing", ""),
    ("Washed", "°C, times"),
    ("Dried", "line / tumbler"),
    ("Stretched by", "%, times"),
    ("What came off, what changed", ""),
    ("By whom, when", ""),
)


def cloth_test_html(
    title: TitleBlock,
    layout: Layout,
    work: WorkPlan,
    stitches: StitchPlan,
    png: bytes,
) -> bytes:
    """Return the sheet.

    Parameters
    ----------
    title
        Of the test.
    layout, work, stitches
        The test's own, not the job's.
    png
        What it looks like when it is set.
    """
    pressed = any(step.kind == "press" for step in work.steps)
    record = [*(_HEAT if pressed else ()), *_CARE]
    after = (*(("after pressing",) if pressed else ()), "after washing", "after stretching")
    used = np.unique(layout.lay).tolist()
    body = [
        element(
            "header",
            element("h1", "Cloth test"),
            element("p", f"{title.words} · not a garment"),
        ),
        element(
            "p",
            "Make this first, on the same cloth, lining and backing. "
            f"{'Press, wash' if pressed else 'Wash'}, dry and stretch it as the garment will be; "
            "then look at every piece.",
        ),
        element("figure", picture(png, "The cloth test as it is set")),
        *cautions(work.cautions),
        element("h2", "Order of work"),
        steps([step for step in work.steps if step.kind != "try"], stitches),
        section(
            "What held",
            _ruled(
                ("lay", "pieces", "set by", *after),
                [(*_lay_words(layout, index), *("" for _ in after)) for index in used],
            ),
            lines=len(used),
        ),
        section(
            "Written down by the maker",
            element("div", table(("what", "value"), record, frozenset()), class_="record"),
            lines=len(record),
        ),
        element("footer", title.words),
    ]
    return page(f"Cloth test · {title.words}", style(css_string(title.words)) + _STYLE, *body)


def _ruled(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Element:
    return element("div", table(head, rows, frozenset()), class_="rule")


def _lay_words(layout: Layout, index: int) -> tuple[str, str, str]:
    lay = layout.lays[index]
    names = [piece.code for piece in layout.pieces] + [unit.name for unit in layout.units]
    which = np.bincount(layout.footprint[layout.rows(index)], minlength=len(names))
    pieces = ", ".join(f"{which[each]} × {names[each]}" for each in np.flatnonzero(which).tolist())
    side = ", from the back" if lay.worked_from == "back" else ""
    return lay.name or lay.id, pieces, f"{_HOW[lay.set_by]}{side}"
