"""Arrangements: a few pieces set together, by name or as the user lists them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.errors import JobError
from embellish.geometry.footprints import Footprint, Part
from embellish.geometry.gaps.gaps import least_gap
from embellish.layout.ways.way import Kit
from embellish.units import LAY_SLACK_MM

_HALVINGS: Final = 60
DRAWN_MM: Final = 0.002
"""A gap short by less is what was listed and meant."""


@dataclass(frozen=True)
class Place:
    """One member: which of the kit's pieces, where about the cluster's centre, and its turn."""

    choice: int
    dx_mm: float
    dy_mm: float
    angle_deg: float

    @property
    def flipped(self) -> Place:
        """The member as in a mirror set across the cluster's direction."""
        return Place(self.choice, -self.dx_mm, self.dy_mm, 180.0 - self.angle_deg)


def flipped(places: Sequence[Place]) -> tuple[Place, ...]:
    """Return a cluster as in a mirror set across its direction."""
    return tuple(place.flipped for place in places)


def footprint(places: Sequence[Place], kit: Kit) -> Footprint:
    """Return what a cluster covers, as one footprint about its centre."""
    parts: list[Part] = []
    for place in places:
        turn = math.radians(place.angle_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        parts.extend(
            Part(
                part.outline,
                place.dx_mm + cos * part.dx_mm - sin * part.dy_mm,
                place.dy_mm + sin * part.dx_mm + cos * part.dy_mm,
                place.angle_deg + part.angle_deg,
            )
            for part in kit.footprints[place.choice].parts
        )
    return Footprint.of(*parts)


def gap_within(places: Sequence[Place], kit: Kit) -> float:
    """Return the least gap between members, infinity for one."""
    if len(places) < 2:
        return math.inf
    xy = np.array([(place.dx_mm, place.dy_mm) for place in places])
    angle = np.array([place.angle_deg for place in places])
    choice = np.array([place.choice for place in places], dtype=np.int64)
    found = least_gap(xy, angle, choice, kit.footprints)
    return math.inf if found is None else found[0]


def rays(kit: Kit, lengths: Sequence[int]) -> tuple[Place, ...]:
    """Return a centre piece with rays about it, each piece turned outward, as tight as gaps allow.

    The first of the kit's pieces is the centre, the second stands next to it on every ray, and so
    on; where the kit has no more, the last one repeats.

    Parameters
    ----------
    kit
        What is set, and the gap.
    lengths
        How many pieces each ray has; the rays are evenly turned, the first upward.
    """
    gap = kit.gap_mm + 2.0 * LAY_SLACK_MM
    last = len(kit.footprints) - 1
    places = [Place(0, 0.0, 0.0, 0.0)]
    turns = [-90.0 + 360.0 * index / len(lengths) for index in range(len(lengths))]
    low = 0.0
    for ring in range(1, max(lengths) + 1):
        choice = min(ring, last)
        out = [turn for turn, length in zip(turns, lengths, strict=True) if length >= ring]
        high = low + 2.0 * float(kit.reach_mm.max()) + gap
        while gap_within([*places, *_ring(choice, high, out)], kit) < gap:
            high *= 1.5
        near = low
        for _ in range(_HALVINGS):
            middle = (near + high) / 2.0
            if gap_within([*places, *_ring(choice, middle, out)], kit) >= gap:
                high = middle
            else:
                near = middle
        places.extend(_ring(choice, high, out))
        low = high
    return tuple(places)


def _ring(choice: int, radius_mm: float, turns: Sequence[float]) -> list[Place]:
    return [
        Place(
            choice,
            radius_mm * math.cos(math.radians(turn)),
            radius_mm * math.sin(math.radians(turn)),
            turn,
        )
        for turn in turns
    ]


def checked(places: Sequence[Place], kit: Kit) -> tuple[Place, ...]:
    """Return the members as listed, where their own gaps hold.

    Raises
    ------
    JobError
        Where a member names no piece of the lay, or two stand nearer than the gap.
    """
    count = len(kit.footprints)
    for number, place in enumerate(places, 1):
        if not 0 <= place.choice < count:
            raise JobError(
                f"it names piece {place.choice + 1} of the lay, which has {count}",
                item=f"member {number}",
                mend="Count the lay's pieces from 1, in the order the lay lists them.",
            )
    gap = gap_within(places, kit)
    if gap < kit.gap_mm - DRAWN_MM:
        raise JobError(
            f"two members of the cluster stand {gap:.3f} mm apart, less than the gap of "
            f"{kit.gap_mm:g} mm",
            mend="Move the members apart, or lower gap_mm.",
        )
    return tuple(places)
