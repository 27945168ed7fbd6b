"""Cut lengths: how goods sold by the length are cut, and what is lost at the cuts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.catalogue.piece import Piece
from embellish.findings import Finding
from embellish.layout.layout import Layout
from embellish.layout.runs import runs_of

_SHOWN: Final = 8


@dataclass(frozen=True, slots=True)
class Cut:
    """So many cut lengths alike, of one garment."""

    links: int
    length_mm: float
    """From the outer end of the first link to that of the last, straightened."""
    times: int


def cuts_of(layout: Layout, lay: int) -> tuple[Cut, ...]:
    """Return the cut lengths of one lay, the longest first; none where it sets single pieces."""
    pitch = layout.lays[lay].pitch_mm
    mine = layout.rows(lay)
    if not pitch or not len(mine):
        return ()
    links = np.bincount(np.unique(runs_of(layout)[mine], return_inverse=True)[1])
    own = layout.pieces[int(layout.piece[mine[0]])].length_mm.nominal
    return tuple(
        Cut(number, (number - 1) * pitch + own, times)
        for number, times in sorted(Counter(links.tolist()).items(), reverse=True)
    )


def cuts_by_code(layout: Layout) -> dict[str, tuple[Cut, ...]]:
    """Return the cut lengths of each code that is sold by the length."""
    found: dict[str, tuple[Cut, ...]] = {}
    for lay in range(len(layout.lays)):
        cuts = cuts_of(layout, lay)
        if cuts:
            code = layout.pieces[int(layout.piece[layout.rows(lay)[0]])].code
            found[code] = (*found.get(code, ()), *cuts)
    return found


def lost_links(layout: Layout) -> dict[str, int]:
    """Return how many links of each code one garment's cuts lose."""
    pieces = {piece.code: piece for piece in layout.pieces}
    found: dict[str, int] = {}
    for code, cuts in cuts_by_code(layout).items():
        strung = pieces[code].strung
        if strung is not None:
            found[code] = strung.lost_links * sum(cut.times for cut in cuts)
    return found


def cut_words(cuts: Sequence[Cut]) -> str:
    """Return the lengths to cut in words, such as '3 × 12 links (45.1 mm)'."""
    words = [f"{cut.times} × {cut.links} links ({cut.length_mm:.1f} mm)" for cut in cuts[:_SHOWN]]
    more = sum(cut.times for cut in cuts[_SHOWN:])
    return ", ".join(words) + (f" and {more} shorter" if more else "")


def fits(lengths: Iterable[int], reels: Iterable[int]) -> bool:
    """Tell whether lengths can be cut from reels, the longest first, each from the first it fits.

    First fit decreasing (Johnson, "Near-optimal bin packing algorithms", MIT, 1973): what it finds
    room for fits; what it does not may still fit another way.
    """
    left = sorted(reels, reverse=True)
    for length in sorted(lengths, reverse=True):
        place = next((k for k, rest in enumerate(left) if rest >= length), None)
        if place is None:
            return False
        left[place] -= length
    return True


def cuts_noticed(
    layout: Layout, quantity: int, reels: Mapping[str, Sequence[int]], pieces: Mapping[str, Piece]
) -> list[Finding]:
    """Tell of what cannot be cut from the reels that are bought or there.

    Parameters
    ----------
    quantity
        Garments.
    reels
        For each code the links on each reel.
    pieces
        By code.
    """
    found = []
    for code, cuts in cuts_by_code(layout).items():
        strung = pieces[code].strung
        lost = 0 if strung is None else strung.lost_links
        lengths = [cut.links + lost for cut in cuts for _ in range(cut.times * quantity)]
        have = list(reels.get(code, ()))
        if have and not fits(lengths, have):
            longest = max(lengths)
            why = (
                f"its longest length of {longest - lost} links is on no reel in one piece"
                if longest > max(have)
                else "its lengths leave too much over on each reel"
            )
            found.append(
                Finding(
                    "reels-too-short",
                    "warning",
                    f"{code}: what is bought has links enough, but {why}",
                    mend="Buy longer reels, or one more; or cut the line where a join hides.",
                )
            )
    return found
