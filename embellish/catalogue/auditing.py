"""What in a catalogue would stop or mislead a job: an explicit list of rules over its pieces."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import cache, partial
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from embellish.catalogue.colour_difference import delta_e, lab_of_hex
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.piece import Piece
from embellish.catalogue.shipped import shipped
from embellish.findings import Finding, Severity

WIDE_SHARE: Final = 0.35
"""A size range wider than this share of the nominal size is more likely a slip of the pen: the
published stone sizes span at most a seventh, seed-bead tables differ by up to a fifth."""

LEAST_MM: Final = 0.5
MOST_MM: Final = 100.0
"""Nothing smaller or larger is set one by one: a unit was mistaken. Common practice, no source."""

LIKE: Final = 1.0
"""Colours less apart than this (CIEDE2000) are hardly told apart side by side."""

LABEL_SHARE: Final = 0.1
"""How far beyond the published range of a size label a nominal size may lie."""

_REACH: Final = 15.0
"""No two screen colours further apart than this in CIELAB differ by less than `LIKE`: none of the
three weights of CIEDE2000 exceeds 7 for them; tests try many."""

_SHOWN = 6


def audited(catalogue: Catalogue, *, every: bool = False) -> tuple[Finding, ...]:
    """Return what a look through the catalogue found, a finding a rule with its codes.

    Parameters
    ----------
    every
        Name every code; else the first few, and how many more.
    """
    named = partial(_named, most=len(catalogue.pieces) if every else _SHOWN)
    pieces = list(catalogue.pieces.values())
    found: list[Finding] = []
    for code, severity, words, mend, applies in _RULES:
        codes = [piece.code for piece in pieces if applies(piece)]
        if codes:
            message = f"{words}: {named(codes)}"
            found.append(Finding(code, severity, message, mend=mend))
    found.extend(_twins(pieces, named))
    found.extend(_codes_alike(pieces))
    found.extend(_colours_alike(pieces, named))
    found.extend(_off_label(pieces, named))
    found.extend(_stray_members(catalogue, named))
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


def _impossible(piece: Piece) -> bool:
    sizes = (piece.length_mm.nominal, piece.width_mm.nominal)
    tall = piece.height_mm is not None and piece.height_mm > 2.0 * max(sizes)
    # A bugle or a strip is long; a stone is not ten times as long as wide.
    thin = piece.kind not in ("bugle", "chain") and max(sizes) > 10.0 * min(sizes)
    return tall or thin or min(sizes) < LEAST_MM or max(sizes) > MOST_MM


_Namer = Callable[[list[str]], str]
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
        "impossible-size",
        "error",
        f"no piece is so small, large, thin or high ({LEAST_MM:g} to {MOST_MM:g} mm)",
        "Check its unit: sizes are in mm.",
        _impossible,
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


def _twins(pieces: list[Piece], named: _Namer) -> Iterator[Finding]:
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
                f"alike in everything but their code: {named(codes)}",
                mend="Keep one, or say what tells them apart.",
            )


def _codes_alike(pieces: list[Piece]) -> Iterator[Finding]:
    """Tell codes that a person reads as the same."""
    alike: dict[str, list[str]] = defaultdict(list)
    for piece in pieces:
        alike[re.sub(r"[\W_]", "", piece.code.casefold()) or piece.code].append(piece.code)
    for codes in alike.values():
        if len(codes) > 1:
            yield Finding(
                "codes-alike",
                "warning",
                f"codes that differ only in capitals, dashes or spaces: {', '.join(codes)}",
                mend="Rename one: on a chart they are mistaken for each other.",
            )


def _colours_alike(pieces: list[Piece], named: _Namer) -> Iterator[Finding]:
    """Tell pieces that only a hardly visible difference in colour tells apart."""
    groups: dict[tuple[object, ...], dict[str, str]] = defaultdict(dict)
    for piece in pieces:
        size = (piece.length_mm.nominal, piece.width_mm.nominal)
        same = (piece.kind, piece.shape, *size, piece.outline_mm, piece.fixing, piece.finish)
        groups[same].setdefault(piece.hex, piece.code)
    found: list[tuple[float, str]] = []
    for by_colour in groups.values():
        colours, codes = list(by_colour), list(by_colour.values())
        if len(colours) < 2:
            continue
        lab = lab_of_hex(colours)
        pairs = cKDTree(lab).query_pairs(_REACH, output_type="ndarray")
        apart = np.round(delta_e(lab[pairs[:, 0]], lab[pairs[:, 1]]), 1)
        for k in np.flatnonzero(apart < LIKE).tolist():
            one, other = sorted(pairs[k].tolist())
            found.append((float(apart[k]), f"{codes[one]} and {codes[other]} ({apart[k]:.1f})"))
    if found:
        yield Finding(
            "colours-alike",
            "note",
            f"alike in size, fixing and finish, with colours less than {LIKE:g} apart (CIEDE2000), "
            f"hardly told apart: {named([words for _, words in sorted(found)])}",
            mend="Check both colours; if they are right, one may do for both.",
        )


def _off_label(pieces: list[Piece], named: _Namer) -> Iterator[Finding]:
    """Tell sizes that are not what their label means in published tables."""
    if not any(piece.size and piece.kind in ("stone", "bead") for piece in pieces):
        return
    ranges = _published()
    found: list[str] = []
    for piece in pieces:
        known = ranges.get((piece.kind, _folded(piece.size)))
        if known is None or piece.shape == "outline":
            continue
        least, most = known
        wide = piece.width_mm.nominal
        if not least * (1 - LABEL_SHARE) <= wide <= most * (1 + LABEL_SHARE):
            found.append(f"{piece.code} ({piece.size} is {least:g} to {most:g} mm, not {wide:g})")
    if found:
        yield Finding(
            "size-label",
            "warning",
            f"not the size that published tables give their label: {named(found)}",
            mend="Check their labels and sizes: the millimetres decide.",
        )


@cache
def _published() -> dict[tuple[str, str], tuple[float, float]]:
    """Return the least and greatest width that the shipped sizes give a label of a kind."""
    found: dict[tuple[str, str], tuple[float, float]] = {}
    for name, kind in (("stones", "stone"), ("beads", "bead")):
        for piece in shipped(name).pieces.values():
            if piece.kind == kind:
                key = (kind, _folded(piece.size))
                least, most = found.get(key, (piece.width_mm.min, piece.width_mm.max))
                found[key] = (min(least, piece.width_mm.min), max(most, piece.width_mm.max))
    return found


def _folded(label: str) -> str:
    return label.casefold().replace(" ", "")


def _stray_members(catalogue: Catalogue, named: _Namer) -> Iterator[Finding]:
    for unit in catalogue.units.values():
        strays = [each.piece for each in unit.members if each.piece not in catalogue.pieces]
        if strays:
            yield Finding(
                "stray-member",
                "note",
                f"unit '{unit.name}' needs pieces of another catalogue: {named(strays)}",
                mend="A job that uses it must list that catalogue too.",
            )


def _named(codes: list[str], most: int) -> str:
    more = f" and {len(codes) - most} more" if len(codes) > most else ""
    return ", ".join(codes[:most]) + more
