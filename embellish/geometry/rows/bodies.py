"""What stands along a row, how it is turned, and which of it clashes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.footprints import Footprint, Part, Standing
from embellish.geometry.gaps.gaps import gaps_between, neighbour_gaps, neighbour_gaps_between
from embellish.geometry.outlines import placed
from embellish.geometry.rows.suspects import may_clash
from embellish.units import LAY_SLACK_MM

_FEW = 400_000


@dataclass(frozen=True, eq=False)
class Bodies:
    """The pieces of a row's sequence and how they are turned.

    Parameters
    ----------
    footprints
        What each piece of the sequence covers.
    follows
        Whether pieces turn with the path; else they keep one angle.
    turn_deg
        Added to the path's direction, or the one angle.
    """

    footprints: tuple[Footprint, ...]
    follows: bool = True
    turn_deg: float = 0.0

    @cached_property
    def reach(self) -> Floats:
        """Radius of the circle that holds each piece, shape (k,)."""
        return np.array([footprint.reach_mm for footprint in self.footprints])

    @cached_property
    def every_round(self) -> bool:
        """Whether all are circles about their centres, so that their turn does not matter."""
        return all(footprint.round_radius_mm is not None for footprint in self.footprints)

    @cached_property
    def along(self) -> Floats:
        """Half of what each piece takes along the path, shape (k,): a first guess for shapes."""
        return np.array([self._halves(footprint)[0] for footprint in self.footprints])

    @cached_property
    def across(self) -> Floats:
        """Half of what each piece takes across the path, shape (k,)."""
        return np.array([self._halves(footprint)[1] for footprint in self.footprints])

    def _halves(self, footprint: Footprint) -> tuple[float, float]:
        if footprint.round_radius_mm is not None:
            return footprint.round_radius_mm, footprint.round_radius_mm
        turned = _turned(footprint, self.turn_deg) if self.follows else footprint
        x0, y0, x1, y1 = turned.bounds_mm
        along, across = 0.5 * (x1 - x0), 0.5 * (y1 - y0)
        # Pieces that keep one angle lie along the path here and across it there.
        return (along, across) if self.follows else (min(along, across),) * 2

    def angle(self, tangent_deg: Floats) -> Floats:
        """Return how pieces are turned where the path has these directions; round ones are not."""
        if self.every_round:
            return np.zeros(len(tangent_deg))
        if self.follows:
            return np.mod(tangent_deg + self.turn_deg, 360.0)
        return np.full(len(tangent_deg), np.mod(self.turn_deg, 360.0))

    def standing(self, along: Lined) -> Standing:
        """Return pieces as footprints in their places."""
        return Standing(along.xy, self.angle(along.tangent), along.choice, self.footprints)

    def next_gaps(self, along: Lined, pairs: Ints) -> Floats:
        """Return the free distance of pairs of pieces."""
        standing = self.standing(along)
        return gaps_between(standing, standing, pairs)

    def clashes(self, along: Lined, asked: float) -> Ints:
        """Return the pairs (i, j), i < j, that stand nearer together than the gap asked.

        A quarter of the slack that ways lay to is forgiven, so that the last bits of an equal gap
        are no clash; what is left outlives a turn and one rounding (1.4142e-6 mm at most).
        """
        suspects = np.flatnonzero(may_clash(along.xy, self.reach[along.choice], asked))
        if len(suspects) < 2:
            return np.zeros((0, 2), dtype=np.int64)
        some = along if len(suspects) == len(along) else along.taken(suspects)
        pairs, _ = neighbour_gaps(
            some.xy,
            self.angle(some.tangent),
            some.choice,
            self.footprints,
            asked - 0.25 * LAY_SLACK_MM,
        )
        return suspects[pairs]

    def room(self, along: Lined, others: Standing, asked: float, within: float) -> Floats:
        """Return by how much each piece clears its gap to all others, at most ``within``."""
        clear = np.full(len(along), within)
        round_ = others.round_radius_mm if len(others) else None
        if self.every_round and round_ is not None and len(along) * len(others) <= _FEW:
            # Few round ones: every distance at once is quicker than looking up who is near.
            apart = along.xy[:, None, :] - others.xy
            free = np.hypot(apart[..., 0], apart[..., 1]) - round_
            least: Floats = free.min(axis=1) - self.reach[along.choice] - asked
            return np.minimum(within, least)
        if len(along) and len(others):
            pairs, gaps = neighbour_gaps_between(self.standing(along), others, asked + within)
            np.minimum.at(clear, pairs[:, 0], gaps - asked)
        return clear


def _turned(footprint: Footprint, angle_deg: float) -> Footprint:
    parts = []
    for part in footprint.parts:
        whole = placed(part.outline, part.dx_mm, part.dy_mm, part.angle_deg)
        parts.append(Part(placed(whole, 0.0, 0.0, angle_deg)))
    return replace(footprint, parts=tuple(parts))


@dataclass(frozen=True, eq=False)
class Lined:
    """Pieces that stand along a track, in path order.

    Parameters
    ----------
    s : array of shape (n,)
        Arc length; it may run on past a closed track's joint.
    xy : array of shape (n, 2)
        Centres.
    tangent : array of shape (n,)
        Direction of the path, degrees clockwise as seen.
    choice : array of shape (n,)
        Which piece of the sequence.
    weight : array of shape (n,)
        The greater stays: 2 at corners, 1 between the sides of a tip, 0 along spans.
    span : array of shape (n,)
        The span it belongs to, -1 for those of corners.
    """

    s: Floats
    xy: Floats
    tangent: Floats
    choice: Ints
    weight: Floats
    span: Ints

    @classmethod
    def none(cls) -> Lined:
        """Return no pieces."""
        no, index = np.zeros(0), np.zeros(0, dtype=np.int64)
        return cls(no, np.zeros((0, 2)), no, index, no, index)

    def __len__(self) -> int:
        return len(self.s)

    def taken(self, which: Bools | Ints) -> Lined:
        """Return some of the pieces."""
        return Lined(*(getattr(self, name)[which] for name in _COLUMNS))

    def joined(self, *others: Lined) -> Lined:
        """Return these pieces and others, in path order."""
        every = [lined for lined in (self, *others) if len(lined)]
        if not every:
            return self
        if len(every) == 1 and (every[0].s[1:] >= every[0].s[:-1]).all():
            return every[0]
        order = np.argsort(np.concatenate([lined.s for lined in every]), kind="stable")
        return Lined(
            *(np.concatenate([getattr(lined, n) for lined in every])[order] for n in _COLUMNS)
        )


_COLUMNS = ("s", "xy", "tangent", "choice", "weight", "span")
