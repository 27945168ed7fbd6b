"""The care card that goes with a garment: small, to be printed four to a sheet and cut apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from embellish.catalogue.care import Care
from embellish.catalogue.piece import Piece
from embellish.formats.html import Element, element, page
from embellish.plans.title import TitleBlock

_STYLE: Final = """
@page { size: A4; margin: 10mm }
body { font: 9.5pt/1.4 system-ui, "DejaVu Sans", sans-serif; color: #1d1f24; margin: 0;
  display: grid; grid-template-columns: repeat(2, 90mm); gap: 6mm }
article { border: 0.3mm dashed #8a8f99; padding: 5mm; min-height: 120mm; break-inside: avoid;
  overflow-wrap: anywhere }
h1 { font-size: 12pt; margin: 0 0 2mm }
h2 { font-size: 10pt; margin: 3mm 0 1mm }
p { margin: 0 0 1.5mm; white-space: pre-line }
ul { margin: 0; padding-left: 5mm }
.faint { color: #5d6270; font-size: 8pt }
"""
_CARDS: Final = 4
_GENERAL: Final = (
    "As far as the makers of cloth and pieces have said it; the garment's own label goes first."
    " Lay it flat, do not wring or rub the pieces, keep perfume and solvents off them."
)
_SMALL: Final = "Pieces that come off are small parts: keep them from children under 3."


def care_card_html(
    title: TitleBlock,
    care: Care,
    words: str,
    pieces: Sequence[Piece],
    spares: int,
    fibre: str = "",
) -> bytes:
    """Return a page of cards.

    Parameters
    ----------
    title
        Of the job.
    care
        What the whole garment stands.
    words
        The maker's own.
    pieces, spares
        What is set, and how many spare pieces of each go with it.
    fibre
        Of the cloth, where it is known.
    """
    cards = (_card(title, care, words, pieces, spares, fibre) for _ in range(_CARDS))
    return page(f"Care · {title.words}", _STYLE, *cards)


def _card(
    title: TitleBlock, care: Care, words: str, pieces: Sequence[Piece], spares: int, fibre: str
) -> Element:
    parts = [element("h1", title.title)]
    if fibre:
        parts.append(element("p", f"Cloth: {fibre}"))
    if care.lines:
        parts.append(element("ul", *(element("li", line) for line in care.lines)))
    if words:
        parts.append(element("p", words))
    parts.append(element("p", _GENERAL, class_="faint"))
    if pieces:
        parts.append(element("p", _SMALL, class_="faint"))
    if spares and pieces:
        parts.append(element("h2", "Spare pieces with it"))
        parts.append(
            element(
                "ul",
                *(
                    element("li", f"{spares} × {piece.name or piece.code} ({piece.code})")
                    for piece in pieces
                ),
            )
        )
    parts.append(element("p", title.words, class_="faint"))
    return element("article", *parts)
