"""What in a catalogue would stop or mislead a job: an explicit list of rules over its pieces."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Final

from embellish.catalogue.contents import Catalogue
from embellish.catalogue.piece import Piece
from embellish.findings import Finding, Severity

WIDE_SHARE: Final = 0.35
"""A size range wider than this share of the nominal size is more likely a slip of the pen: the
published stone sizes span at most a seventh, seed-bead tables differ by up to a fifth."""

_SHOWN = 6


def audited(catalogue: Catalogue) -> tuple[Finding, ...]:
    """Return what a look through the catalogue found, a finding a rule with its codes."""
    pieces = list(catalogue.pieces.values())
    found: list[Finding] = []
    for code, severity, words, mend, applies in _RULES:
        codes = [piece.code for piece in pieces if applies(piece)]
        if codes:
            message = f"{words}: {_named(codes)}"
            found.append(Finding(code, severity, message, mend=mend))
    found.extend(_twins(pieces))
    found.extend(_stray_members(catalogue))
    return tuple(found)


def _free(piece: Piece) -> bool:
    return any(pack.price == 0 for pack in piece.packs)


def _wide(piece: Piece) -> bool:
    return any(
        (span.max - span.min) > WIDE_SHARE * span.nominal
        for span in (piece.length_mm, piece.width_mm)
    )


def _dearer_by_the_larger(piece: Piece) -> bool:
    packs = sorted(piece.packs, key=lambda pack: pack.pieces)
    return any(
        large.price * small.pieces > small.price * large.pieces for small, large in pairwise(packs)
    )


_Rule = tuple[str, Severity, str, str, Callable[[Piece], bool]]
_RULES: Final[tuple[_Rule, ...]] = (
    (
        "no-packs",
        "warning",
        "no pack to buy",
        "Add packs with prices, or a job's cost is not known.",
        lambda piece: not piece.packs,
    ),
    ("free-pack", "warning", "a pack costs nothing", "Enter what you pay.", _free),
    (
        "wide-size",
        "warning",
        "the size range is wide",
        "Check min and max: spacing and holes use the greatest size.",
        _wide,
    ),
    (
        "dearer-pack",
        "note",
        "a larger pack costs more a piece than a smaller one",
        "Check its price.",
        _dearer_by_the_larger,
    ),
    (
        "no-height",
        "note",
        "the height is not known",
        "Measure it: press pads and template sheets are chosen by it.",
        lambda piece: piece.height_mm is None and piece.fixing == "heat-set",
    ),
    (
        "no-source",
        "note",
        "no source of the sizes",
        "Say where they come from, such as 'measured'.",
        lambda piece: not piece.source,
    ),
    (
        "no-holes",
        "warning",
        "to sew on, and no thread hole is given",
        "Add holes, so that marks show where the thread goes.",
        lambda piece: piece.fixing == "sew-on" and not piece.holes,
    ),
)


def _twins(pieces: list[Piece]) -> Iterator[Finding]:
    """Tell pieces that differ in nothing but their code."""
    alike: dict[tuple[object, ...], list[str]] = defaultdict(list)
    for piece in pieces:
        key = (
            piece.name,
            piece.kind,
            piece.shape,
            piece.length_mm,
            piece.width_mm,
            piece.outline_mm,
            piece.hex,
            piece.finish,
            piece.fixing,
            piece.supplier,
            piece.lot,
        )
        alike[key].append(piece.code)
    for codes in alike.values():
        if len(codes) > 1:
            yield Finding(
                "twins",
                "warning",
                f"alike in everything but their code: {_named(codes)}",
                mend="Keep one, or say what tells them apart.",
            )


def _stray_members(catalogue: Catalogue) -> Iterator[Finding]:
    for unit in catalogue.units.values():
        strays = [each.piece for each in unit.members if each.piece not in catalogue.pieces]
        if strays:
            yield Finding(
                "stray-member",
                "note",
                f"unit '{unit.name}' needs pieces of another catalogue: {_named(strays)}",
                mend="A job that uses it must list that catalogue too.",
            )


def _named(codes: list[str]) -> str:
    more = f" and {len(codes) - _SHOWN} more" if len(codes) > _SHOWN else ""
    return ", ".join(codes[:_SHOWN]) + more
