"""Cautions of a work sheet: which hold for a job, in what words, and where they come from.

They are the usual ones and stand beside, never instead of, the makers' instructions and the laws
of the place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.catalogue.piece import Piece
from embellish.layout.layout import Layout


@dataclass(frozen=True, slots=True)
class Danger:
    """What of a job cautions hang on."""

    heated: bool
    pressed: bool
    sewn_by_machine: bool
    glued: bool
    pieces: tuple[Piece, ...]
    sequins: bool
    metal: bool
    cut: bool


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution.

    Parameters
    ----------
    code
        Stable name.
    words
        For the maker.
    source
        Where it comes from.
    """

    code: str
    words: str
    source: str


_RULES: Final[tuple[tuple[Caution, Callable[[Danger], bool]], ...]] = (
    (
        Caution(
            "makers-instructions",
            "Follow the makers' instructions for pieces, sheets, glue, cloth and machines, and the "
            "laws and codes where you sell.",
            "the makers and the law come first; our wording",
        ),
        lambda danger: bool(danger.pieces),
    ),
    (
        Caution(
            "needle",
            "Never reach into the hoop while the machine runs; a needle that meets a bead or stone "
            "breaks and flies. Set pieces after all sewing near them is done.",
            "common practice, no source",
        ),
        lambda danger: danger.sewn_by_machine,
    ),
    (
        Caution(
            "hot-press",
            "Press plates, irons and hot hand tools burn. Never leave one alone while it is hot.",
            "common practice, no source",
        ),
        lambda danger: danger.heated,
    ),
    (
        Caution(
            "dial",
            "The dial does not always show what the plate has: check with a probe or strip, and "
            "try the cloth with a few pieces first.",
            "application guide of a maker of stones, on checking material",
        ),
        lambda danger: danger.pressed,
    ),
    (
        Caution(
            "unsuitable-cloth",
            "Heat-set pieces hold badly on very tight weaves, tulle and organza, smooth leather, "
            "and cloth with water-repellent, silicone or softener finish, or metallic dye.",
            "application guide of a maker of stones, on checking material",
        ),
        lambda danger: danger.heated,
    ),
    (
        Caution(
            "no-heat-on-sequins",
            "No heat on sequins: press before they are set.",
            "Textile School, article 498, on sequins",
        ),
        lambda danger: danger.heated and danger.sequins,
    ),
    (
        Caution(
            "glue",
            "Solvent glue: air the room well, no flames, wear gloves, no soft contact lenses. Some "
            "glues hold toluene, hexane or chlorinated solvents.",
            "Oregon Metro, the regional government, on adhesives",
        ),
        lambda danger: danger.glued,
    ),
    (
        Caution(
            "blade",
            "Cutter blades and weeding knives cut fingers too.",
            "common practice, no source",
        ),
        lambda danger: danger.cut,
    ),
    (
        Caution(
            "small-parts",
            "Pieces that come off are small parts: a choking danger for children under 3.",
            "16 CFR 1501.4 for what a small part is; 1501.3(d) exempts clothing of children, not "
            "toys and other articles",
        ),
        lambda danger: bool(danger.pieces),
    ),
    (
        Caution(
            "lead",
            "For children of 12 and under, US law allows at most 100 ppm of lead; glass crystal "
            "may hold more. Ask the seller for a test.",
            "CPSIA s.101(a), 74 FR 43031; vote of the CPSC of July 2009 on crystal and glass",
        ),
        lambda danger: any(
            piece.kind in ("stone", "bead", "bugle", "pearl") for piece in danger.pieces
        ),
    ),
    (
        Caution(
            "nickel",
            "Metal that touches the skin may give off nickel: in the EU at most 0.5 µg/cm² a week.",
            "Regulation (EC) 1907/2006 (REACH), Annex XVII, entry 27",
        ),
        lambda danger: danger.metal,
    ),
)


def cautions_for(layout: Layout, *, sewn_by_machine: bool, cut: bool) -> tuple[Caution, ...]:
    """Return the cautions that hold for what a layout sets.

    Parameters
    ----------
    layout
        Where the pieces stand.
    sewn_by_machine
        Whether marks are sewn.
    cut
        Whether templates are cut.
    """
    here = {int(index) for index in np.unique(layout.piece) if index >= 0}
    by_code = {piece.code: index for index, piece in enumerate(layout.pieces)}
    for index in np.unique(layout.unit).tolist():
        if index >= 0:
            here.update(by_code[member.piece] for member in layout.units[index].members)
    pieces = tuple(layout.pieces[index] for index in sorted(here))
    how = {layout.lays[lay].set_by for lay in np.unique(layout.lay).tolist()}
    pressed = bool(how & {"template", "face-down"})
    danger = Danger(
        heated=pressed or any(piece.fixing == "heat-set" for piece in pieces),
        pressed=pressed,
        sewn_by_machine=sewn_by_machine,
        glued=any(piece.fixing == "glue" for piece in pieces),
        pieces=pieces,
        sequins=any(piece.kind == "sequin" for piece in pieces),
        metal=any(piece.kind in ("stud", "chain") for piece in pieces),
        cut=cut,
    )
    return tuple(caution for caution, holds in _RULES if holds(danger))
