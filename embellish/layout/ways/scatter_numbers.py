"""Scattering set numbers: to a density, to a count, the tightest packing, a mix that changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Floats, Ints
from embellish.geometry.insets import Room
from embellish.geometry.mixes import SATURATION, Mixed, counts_of, mixed_points, settled_mix
from embellish.geometry.poisson_fades import faded_points
from embellish.geometry.streams import Stream
from embellish.geometry.thresholds import chosen_by, in_plane
from embellish.geometry.tightest import Tightest, tightest_points
from embellish.layout.ways.fields import Mixture
from embellish.layout.ways.fills import dealt
from embellish.layout.ways.way import Kit, Progress

_STREWN: Final = 0.5
"""Share of the room that points of a changing mix take before they are settled."""
_ROOMIER: Final = 1.15


def even_shares(kit: Kit) -> Kit:
    """Return the kit, a list of pieces taken as a mix of equal shares: random has no order."""
    k = len(kit.footprints)
    return kit if kit.shares is not None else replace(kit, shares=(1.0 / k,) * k)


def dealt_out(kit: Kit, xy: Floats, stream: Stream) -> Ints:
    """Return which piece stands at each place, where each has room for any of them."""
    if kit.blend is not None:
        return chosen_by(kit.blend(xy), in_plane(xy, stream.child("blend")))
    return dealt(even_shares(kit), np.arange(len(xy)), stream.child("deal"))


def areal_room(grounds: Sequence[BaseGeometry], half_mm: Floats) -> float:
    """Return the area that pieces with half their gap may cover, in square millimetres."""
    least = int(np.argmin(half_mm))
    return float(grounds[least].buffer(float(half_mm[least])).area)


def lone(grounds: Sequence[BaseGeometry]) -> Mixed:
    """Return the first piece that has room, in the middle of it: of no shape too few are wished."""
    which = next(k for k, ground in enumerate(grounds) if not ground.is_empty)
    # The published types ask for a tolerance, the function does not.
    circle_in: Any = shapely.maximum_inscribed_circle
    middle = circle_in(grounds[which])
    return Mixed(shapely.get_coordinates(middle)[:1], np.array([which]))


def settled(
    grounds: Sequence[BaseGeometry],
    half_mm: Floats,
    kit: Kit,
    wished: int,
    area_mm2: float,
    evenness: float,
    stream: Stream,
    progress: Progress,
) -> Mixed:
    """Return about so many points as are wished, settled, their mix exact to one piece."""
    shares = np.array(even_shares(kit).shares)
    # Sizes alike are one size to the search, dealt out when it is done.
    size, kind = np.unique(half_mm, return_inverse=True)
    counts = counts_of(shares, wished)
    by_size = np.bincount(kind, counts, len(size)).astype(np.int64)
    first = [grounds[int(np.flatnonzero(kind == each)[0])] for each in range(len(size))]
    density = wished * np.pi * float(np.dot(shares, half_mm**2)) / area_mm2
    # Below saturation points start wider apart than their gaps, and stay so.
    wider = max(1.0, (0.97 * SATURATION / density) ** 0.5)
    found = mixed_points(first, size * wider, by_size, stream.child("points"), evenness, progress)
    return Mixed(found.xy, _named(found.size, kind, shares, stream.child("deal")))


def _named(size: Ints, kind: Ints, shares: Floats, stream: Stream) -> Ints:
    """Return which piece stands at each point: those of its size, by shares, shuffled."""
    counts = counts_of(shares, len(size))
    choice = np.empty(len(size), dtype=np.int64)
    for each in np.unique(size).tolist():
        at = np.flatnonzero(size == each)
        pieces = np.flatnonzero(kind == each)
        mine = counts[pieces]
        if mine.sum() != len(at):
            # Not all of each size found room: its own pieces are shared out among those that did.
            mine = counts_of(shares[pieces] / shares[pieces].sum(), len(at))
        order = np.argsort(stream.child(f"size {each}").bits(0, len(at)), kind="stable")
        choice[at[order]] = np.repeat(pieces, mine)
    return choice


def blended_sizes(
    grounds: Sequence[BaseGeometry],
    half_mm: Floats,
    mixture: Mixture,
    wished: int,
    evenness: float,
    stream: Stream,
    progress: Progress,
) -> Mixed:
    """Return pieces of several sizes whose mix changes from place to place, settled.

    Where larger pieces are wanted, places stand wider apart from the start.
    """
    least = int(np.argmin(half_mm))
    small = float(half_mm[least])

    def share(xy: Floats) -> Floats:
        return small**2 / (mixture(xy) @ half_mm**2)

    own, apart = stream.child("points"), 2.0 * small
    for turn in range(8):
        xy, _ = faded_points(grounds[least], apart, share, own.child(f"{turn}"))
        if wished <= len(xy) <= _ROOMIER * wished + 2:
            break
        apart *= max(min((max(len(xy), 1) / (1.03 * wished + 1)) ** 0.5, 2.0), 0.3)
    thresholds = in_plane(xy, stream.child("blend"))
    # Those over go evenly from everywhere.
    kept = np.sort(np.argsort(thresholds, kind="stable")[: min(wished, len(xy))])
    xy = xy[kept]
    choice = chosen_by(mixture(xy), in_plane(xy, stream.child("blend")))
    counts = np.bincount(choice, minlength=len(half_mm))
    return settled_mix(Mixed(xy, choice), grounds, half_mm, counts, evenness, progress)


def tightest(room: Room, kit: Kit, count: int, stream: Stream, progress: Progress) -> Mixed:
    """Return so many pieces as far apart as was found; fewer where they would miss their gap."""
    shares = even_shares(kit).shares or ()

    def found_for(n: int, **how: int) -> tuple[Tightest, Ints]:
        choice = np.repeat(np.arange(len(shares)), counts_of(shares, n))
        own = stream.child(f"tightest {n}")
        return tightest_points(room, kit.reach_mm[choice], own, progress=progress, **how), choice

    found, choice = found_for(count)
    if found.gap_mm < kit.gap_mm:
        # Halving by a quick look, to the most that keep their gap.
        fits, over = 1, count
        while over - fits > 1:
            middle = (fits + over) // 2
            enough = found_for(middle, starts=6, shakes=0)[0].gap_mm >= kit.gap_mm
            fits, over = (middle, over) if enough else (fits, middle)
        found, choice = found_for(fits, starts=6, shakes=0)
    if kit.blend is not None and np.ptp(kit.reach_mm) == 0.0:
        choice = dealt_out(kit, found.xy, stream)
    return Mixed(found.xy, choice[: len(found.xy)])
