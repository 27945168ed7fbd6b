"""Whether pieces suit how they are set, and one another."""

from __future__ import annotations

from collections.abc import Iterator

from embellish.checks.site import PRESSED, Site
from embellish.findings import Finding

_SEWN_OVER = frozenset(("chain",))
"""Kinds that thread is led over, not through, as it is over all that is strung already."""


def sewn_through_holes(site: Site) -> Iterator[Finding]:
    """Tell of sewn pieces that have no hole for the thread."""
    for index, lay in enumerate(site.layout.lays):
        if lay.set_by != "sewn":
            continue
        for piece in site.pieces(index):
            if piece.holes or piece.strung is not None or piece.kind in _SEWN_OVER:
                continue
            yield Finding(
                "no-thread-hole",
                "warning",
                f"{piece.code} is to be sewn on, and the catalogue knows no hole in it",
                site.where(site.first_seat(index, piece.code)),
                lay.id,
                "Enter its holes in your catalogue, or take set_by = 'hand' and glue it.",
            )


def pressed_with_glue(site: Site) -> Iterator[Finding]:
    """Tell of pieces that go under the press and have no glue that heat sets."""
    for index, lay in enumerate(site.layout.lays):
        if lay.set_by not in PRESSED:
            continue
        for piece in site.pieces(index):
            if piece.fixing == "heat-set":
                continue
            if piece.kind == "sequin":
                why = "sequins take no heat: cups go flat and colours change"
            else:
                why = f"the catalogue has it as '{piece.fixing}', not heat-set"
            yield Finding(
                "not-heat-set",
                "warning",
                f"{piece.code} is to be pressed on (set_by = '{lay.set_by}'), yet {why}",
                site.where(site.first_seat(index, piece.code)),
                lay.id,
                "Take a heat-set piece, or set_by = 'sewn' or 'hand'.",
            )


def shaped_do_not_brush(site: Site) -> Iterator[Finding]:
    """Tell of pieces brushed into a template that are not round: they do not turn in themselves.

    Common practice, no source.
    """
    for index, lay in enumerate(site.layout.lays):
        if lay.set_by != "template":
            continue
        for piece in site.pieces(index):
            if piece.shape == "round":
                continue
            yield Finding(
                "does-not-brush",
                "warning",
                f"{piece.code} is not round: brushed in, it does not turn into its hole by itself",
                site.where(site.first_seat(index, piece.code)),
                lay.id,
                "Put each in by hand, or take set_by = 'face-down'.",
            )


def sequins_after_heat(site: Site) -> Iterator[Finding]:
    """Tell the order of work where sequins and heat meet on one garment.

    No heat on sequins: textileschool.com/articles/498.
    """
    hot = [lay.id for index, lay in enumerate(site.layout.lays) if site.heated(index)]
    if not hot:
        return
    for index, lay in enumerate(site.layout.lays):
        if lay.set_by in PRESSED:
            continue
        sequins = [piece.code for piece in site.pieces(index) if piece.kind == "sequin"]
        if sequins:
            yield Finding(
                "heat-near-sequins",
                "warning",
                f"sequins ({', '.join(sequins)}) and heat-set pieces ({', '.join(hot)}) are on one"
                " garment: no heat may reach the sequins",
                site.where(site.first_seat(index, sequins[0])),
                lay.id,
                "Press first and let it cool, then sew the sequins on; do not iron or press"
                " afterwards.",
            )
