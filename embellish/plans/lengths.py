"""Cut lengths: how goods sold by the length are cut, and what is lost at the cuts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

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


@dataclass(frozen=True, slots=True)
class Lengths:
    """The cut lengths of one code.

    Parameters
    ----------
    times
        By links of a length, without those lost, how many of it.
    lost_each
        Links lost at each cut.
    """

    times: Mapping[int, int]
    lost_each: int = 0

    @property
    def lost(self) -> int:
        """Links lost at all cuts."""
        return self.lost_each * sum(self.times.values())

    def off_reel(self, garments: int) -> dict[int, int]:
        """Return by links taken off a reel, those lost among them, how many lengths."""
        return {links + self.lost_each: n * garments for links, n in self.times.items()}


def lengths_of(parts: Iterable[tuple[Layout, int]]) -> dict[str, Lengths]:
    """Return the cut lengths of each code that is sold by the length, of layouts times numbers."""
    found: dict[str, Lengths] = {}
    for layout, number in parts:
        for lay in range(len(layout.lays)):
            cuts = cuts_of(layout, lay)
            if not cuts:
                continue
            piece = layout.pieces[int(layout.piece[layout.rows(lay)[0]])]
            lost = piece.strung.lost_links if piece.strung is not None else 0
            before = found.get(piece.code, Lengths({}))
            times = Counter(before.times)
            for cut in cuts:
                times[cut.links] += cut.times * number
            found[piece.code] = Lengths(dict(times), max(lost, before.lost_each))
    return found


def cut_words(cuts: Sequence[Cut]) -> str:
    """Return the lengths to cut in words, such as '3 × 12 links (45.1 mm)'."""
    words = [f"{cut.times} × {cut.links} links ({cut.length_mm:.1f} mm)" for cut in cuts[:_SHOWN]]
    more = sum(cut.times for cut in cuts[_SHOWN:])
    return ", ".join(words) + (f" and {more} shorter" if more else "")
