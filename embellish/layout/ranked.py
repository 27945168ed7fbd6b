"""Seats with what decides which of them stay, while a layout is made."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.layout.layout import Layout

ALONE = -1
"""The twin of a seat that has none."""

NO_EDIT = -1
"""The edit of a seat that was laid, and not touched."""


@dataclass(frozen=True, eq=False)
class Ranked:
    """A layout under way.

    Parameters
    ----------
    layout
        The seats, in artwork scale.
    weight : array of shape (n,)
        Within a lay, the higher stays: 1 for a corner's seat, 0 for others.
    edit : array of shape (n,)
        For a seat that a hand has set or pinned, the number of the first edit of its place, which
        its twin shares; else -1. Such seats outrank all lays.
    twin : array of shape (n,)
        In a symmetric lay the index of each seat's mirror image, its own on the axis; else -1.
        Twins stand or fall together.
    """

    layout: Layout
    weight: Floats
    edit: Ints
    twin: Ints

    @classmethod
    def of(cls, layout: Layout, weight: Floats | None = None, twin: Ints | None = None) -> Ranked:
        """Return a layout of which no seat was set by hand."""
        n = len(layout)
        return cls(
            layout,
            np.zeros(n) if weight is None else weight,
            np.full(n, NO_EDIT, dtype=np.int64),
            np.full(n, ALONE, dtype=np.int64) if twin is None else twin,
        )

    def __len__(self) -> int:
        return len(self.layout)

    @property
    def by_hand(self) -> Bools:
        """Which seats a hand has set or pinned, shape (n,)."""
        touched: Bools = self.edit != NO_EDIT
        return touched

    def taken(self, rows: Ints) -> Ranked:
        """Return these seats in this order; a seat whose twin is left behind has none any more."""
        place = np.full(len(self) + 1, ALONE, dtype=np.int64)
        place[rows] = np.arange(len(rows))
        return Ranked(
            self.layout.taken(rows), self.weight[rows], self.edit[rows], place[self.twin[rows]]
        )

    def joined(self, other: Ranked) -> Ranked:
        """Return these seats and, after them, others of the same lays."""
        theirs = np.where(other.twin == ALONE, ALONE, other.twin + len(self))
        return Ranked(
            self.layout.joined(other.layout),
            np.concatenate([self.weight, other.weight]),
            np.concatenate([self.edit, other.edit]),
            np.concatenate([self.twin, theirs]),
        )

    def with_twins(self, mask: Bools) -> Bools:
        """Return a mask of seats with the twins of those in it."""
        both = mask.copy()
        paired = np.flatnonzero(mask & (self.twin != ALONE))
        both[self.twin[paired]] = True
        return both

    @property
    def pair(self) -> Ints:
        """The number of each seat's pair: of both twins the lower index; its own without a twin."""
        own = np.arange(len(self))
        return np.where(self.twin == ALONE, own, np.minimum(own, self.twin))
