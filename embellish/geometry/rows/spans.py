"""Spans: the stretches of a row between pinned places, and what stands along them."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.solve import Chains
from embellish.geometry.rows.track import Track

_WINDOW = 0.25
"""Directions are seen over this share of the smallest piece's half on both sides."""

_LONG = 1.25
"""A piece longer than wide by more than this points out of a tip."""


@dataclass(frozen=True, eq=False)
class Spans:
    """Stretches of one track, each with fixed ends.

    Parameters
    ----------
    start, end : arrays of shape (k,)
        Arc length of the ends; a span may run on past the joint of a closed track.
    first, last : arrays of shape (k,)
        Place in the sequence of what stands at the ends, counted from the pin there: 0 the pin
        itself, 1 the piece next to it, -1 a bare end of the path, where nothing stands.
    pinned_start, pinned_end : arrays of shape (k,)
        Whether the sequence counts from that end.
    bare : array of shape (k,)
        Share of a gap that bare ends get.
    low, high : arrays of shape (k,)
        The corners or ends of the path around each span: no tangent is seen across them.
    own_start, own_end : arrays of shape (k,)
        Whether what stands at that end belongs to the span; a pin's own piece does not.
    loop
        Whether the one span is a whole closed track without pins.
    """

    start: Floats
    end: Floats
    first: Ints
    last: Ints
    pinned_start: Bools
    pinned_end: Bools
    bare: Floats
    low: Floats
    high: Floats
    own_start: Bools
    own_end: Bools
    loop: bool = False

    def __len__(self) -> int:
        return len(self.start)

    def taken(self, which: Bools | Ints) -> Spans:
        """Return some of the spans."""
        columns = {
            field.name: getattr(self, field.name)[which]
            for field in fields(self)
            if field.name != "loop"
        }
        return replace(self, **columns)


@dataclass(frozen=True, eq=False)
class Sequence:
    """The pieces that repeat along a row, and how they are dealt out.

    Parameters
    ----------
    bodies
        The pieces.
    mirrored
        Whether each span runs alike from both its ends.
    """

    bodies: Bodies
    mirrored: bool = False

    @property
    def radius(self) -> Floats:
        """Half of what each piece takes along the path, shape (k,)."""
        return self.bodies.along

    @property
    def window(self) -> float:
        """How far on both sides the direction of the path is seen, in mm."""
        return _WINDOW * float(self.radius.min())

    def choice(self, spans: Spans, gaps: Ints) -> tuple[Ints, Ints]:
        """Return which piece stands at each point of the spans (-1 at bare ends), and its span."""
        k = len(self.radius)
        of = np.repeat(np.arange(len(gaps)), gaps + 1)
        begin = np.concatenate([[0], np.cumsum(gaps + 1)[:-1]])
        index = np.arange(len(of)) - begin[of]
        n = gaps[of]
        if k == 1:
            chosen = np.zeros(len(of), dtype=np.int64)
        else:
            up = index + spans.first[of]
            down = n - index + spans.last[of]
            whole = (gaps + spans.first + spans.last) % k == 0
            both = spans.pinned_start & spans.pinned_end
            mirror = (both & ~whole) | (self.mirrored & (spans.pinned_start == spans.pinned_end))
            from_end = spans.pinned_end & ~spans.pinned_start
            alike = self._met(
                np.minimum(up, down), (gaps + spans.first + spans.last)[of], whole[of]
            )
            chosen = np.where(mirror[of], alike, up)
            ends = down if self.mirrored else -down
            chosen = np.where((from_end & ~mirror)[of], ends, chosen) % k
        bare = ((index == 0) & (spans.first < 0)[of]) | ((index == n) & (spans.last < 0)[of])
        chosen[bare] = -1
        return chosen, of

    def _met(self, place: Ints, total: Ints, whole: Bools) -> Ints:
        """Return places counted from the nearer end, changed where two large pieces would meet.

        A sequence that starts large, counted from both ends, may bring two large ones side by side
        in the middle. There small ones stand instead; or one large one with a small one more on
        both its sides.
        """
        k = len(self.radius)
        if self.radius[0] <= self.radius[-1]:
            return place
        half, odd = total // 2, total % 2 == 1
        large = np.where(odd, half, half - 1)
        meets = ~whole & (large >= k) & (large % k == 0)
        changed = np.where(meets & (place == large), k - 1, place)
        return np.where(meets & ~odd & (place == half), 0, changed)

    def chains(self, spans: Spans, gaps: Ints) -> Chains:
        """Return the spans as chains of so many gaps each."""
        chosen, _ = self.choice(spans, gaps)
        taken = np.where(chosen < 0, 0.0, self.radius[chosen])
        back = np.ones(len(chosen), dtype=bool)
        last = np.cumsum(gaps + 1) - 1
        back[last] = False
        at = np.flatnonzero(back)
        share = np.ones(len(at))
        first_gap = np.concatenate([[0], np.cumsum(gaps)[:-1]])
        last_gap = np.cumsum(gaps) - 1
        bare_start, bare_end = spans.first < 0, spans.last < 0
        share[first_gap[bare_start]] = spans.bare[bare_start]
        share[last_gap[bare_end]] = spans.bare[bare_end]
        return Chains(spans.start, spans.end, gaps, taken[at] + taken[at + 1], share)


@dataclass(frozen=True, eq=False)
class Course:
    """What a row is laid on and from: its path, its pieces, and the gap to keep."""

    track: Track
    sequence: Sequence
    asked: float

    @property
    def bodies(self) -> Bodies:
        """The pieces of the sequence."""
        return self.sequence.bodies

    def pin_tangent(self, s: Floats) -> Floats:
        """Return the direction that pieces pinned at corners follow, degrees clockwise as seen.

        It lies half-way between coming and going; but a long piece on a tip points out of it.
        """
        half_way, out, turn = self.track.corner_deg(s, self.sequence.window)
        long = self.bodies.along[0] > _LONG * self.bodies.across[0]
        return np.where(long & (turn >= 90.0), out, half_way)
