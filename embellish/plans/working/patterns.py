"""Steps of the work for patterns on paper."""

from __future__ import annotations

from typing import Final

from embellish.layout.layout import Side
from embellish.plans.paper import PaperPlan
from embellish.plans.working.step import Step

_WHERE: Final[dict[Side, str]] = {"front": "", "back": ", on the back of the cloth"}
_ENDING: Final[dict[Side, str]] = {"front": "", "back": "-back"}
_TITLES: Final = {
    "pounce": "Mark with the pounce pattern",
    "stencil": "Mark with the chalk stencil",
}
_THROUGH: Final = {
    "pounce": (
        "Prick the holes once, and smooth the paper's back so that they stay open.",
        "Pin it on by its centre lines, rub chalk or powder through, lift it straight up.",
        "Try first that the powder brushes out of this cloth.",
    ),
    "stencil": (
        "Cut it once.",
        "Pin it on by its centre lines, brush chalk through, lift it straight up.",
        "Try first that the chalk brushes out of this cloth.",
    ),
}
_WASH_AWAY: Final = (
    "Print it at 100 %, lay it on by its centre lines and work through it.",
    "Try on a scrap that the print washes out of this cloth.",
    "Heat can set it: no iron and no press before it is washed away.",
    "Follow the instructions of the makers of sheet, ink and cloth.",
)


def pattern_steps(paper: PaperPlan | None, quantity: int) -> list[Step]:
    """Return the steps that bring patterns on paper onto the cloth, a garment each."""
    if paper is None:
        return []
    steps = []
    for pattern in paper.patterns:
        title = _TITLES[pattern.kind] + _WHERE[pattern.side]
        file = f"paper/{pattern.kind}{_ENDING[pattern.side]}"
        steps.append(Step("paper", title, quantity, _THROUGH[pattern.kind], files=(file,)))
    for side in paper.wash_away:
        title = f"Lay the wash-away print on{_WHERE[side]}"
        file = f"paper/wash-away{_ENDING[side]}"
        steps.append(Step("paper", title, quantity, _WASH_AWAY, files=(file,)))
    return steps
