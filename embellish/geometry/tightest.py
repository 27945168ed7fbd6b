"""The tightest packing: a set number of pieces in a region, as far apart as they can be.

Points thrown at random push one another apart all at once; then linear programmes take over. A
distance is never less than its projection on a fixed direction, so with each pair's distance, and
each point's distance to a stretch of edge, replaced by that projection, whatever a programme finds
holds in truth, and no step is ever for the worse. Near the end the steps are Newton's own. The best
of many starts is shaken, and searched again from there, as long as that gains.

Torquato & Jiao 2010, "Robust algorithm to generate a diverse class of dense disordered and ordered
sphere packings" (sequential linear programming); Grosso, Jamali, Locatelli & Schoen 2010, "Solving
the problem of packing equal and unequal circles in a circular container" (shaking what is best).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import scipy
import shapely
from scipy.sparse import coo_array
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Bools, Floats, Ints
from embellish.geometry.insets import Room
from embellish.geometry.regions import areal
from embellish.geometry.settling import put_back
from embellish.geometry.streams import Stream
from embellish.geometry.walls import Walls

_LEAST_SHAKES: Final = 32
_MOST_SHAKES: Final = 72
_RELAXING: Final = 160
_SPOTS: Final = 12
_POOL: Final = 3
"""How many of the best are shaken, in turns: the very best may lead nowhere."""
_SOFT: Final = 0.5
"""How far the softest start's points push one another, as a share of the widest possible."""
_MOST_STEPS: Final = 60
_ROUGH_STEPS: Final = 12
_STALLED: Final = 1e-11
_SHAKEN: Final = 0.35
"""How far shaking moves points, in distances."""
_SEARCHED: Final = 0.4
"""Share of the work, roughly, that is done before shaking."""
_HIGHS: Final[Any] = {
    "primal_feasibility_tolerance": 1e-10,
    "dual_feasibility_tolerance": 1e-10,
    "presolve": False,
}


@dataclass(frozen=True, eq=False)
class Tightest:
    """Points as far apart as was found.

    Parameters
    ----------
    xy : array of shape (n, 2)
        The points.
    gap_mm
        The least free distance between any two pieces on them; below 0 they overlap.
    """

    xy: Floats
    gap_mm: float


def tightest_points(
    room: Room,
    radius_mm: Floats,
    stream: Stream,
    *,
    starts: int = 32,
    shakes: int | None = None,
    progress: Callable[[float], None] | None = None,
) -> Tightest:
    """Return places for pieces in a room, the least free distance between any two the greatest.

    Parameters
    ----------
    room
        The region, its edge margin, and what else to keep off.
    radius_mm : array of shape (n,)
        Radius of each piece.
    stream
        All randomness comes from here.
    starts
        How many random starts to search from.
    shakes
        How often in a row to shake the best one in vain before it is taken; None: more often the
        more there are.
    progress
        Called with the share that is done, which may stop it by raising.

    Returns
    -------
    Tightest
        Empty where some piece has no room at all. One piece stands where it is freest.
    """
    n = len(radius_mm)
    if shakes is None:
        shakes = min(max(_LEAST_SHAKES, 2 * n + 8), _MOST_SHAKES)
    sizes, ground = np.unique(radius_mm, return_inverse=True)
    grounds = [room.centres(float(size)) for size in sizes]
    if n == 0 or any(each.is_empty for each in grounds):
        return Tightest(np.zeros((0, 2)), np.inf)
    if n == 1:
        circle: Any = shapely.maximum_inscribed_circle(areal(grounds[0]))
        # The line of its radius begins in its centre.
        return Tightest(shapely.get_coordinates(circle)[:1], np.inf)
    walls = Walls.of(room)
    search = _Search(walls, np.asarray(radius_mm, dtype=np.float64))
    begun = _relaxed(grounds, ground, search.radius_mm, starts, stream.child("starts"))
    told = progress or (lambda _: None)
    rough, finished = [], []
    for k, xy in enumerate(begun):
        told(_SEARCHED * k / (2 * starts))
        rough.append(search.improved(xy, _ROUGH_STEPS))
    # The better half of the rough ones is worth finishing.
    order = sorted(range(len(rough)), key=lambda k: (-rough[k].gap_mm, k))
    for done, k in enumerate(order[: (starts + 1) // 2]):
        told(_SEARCHED * (starts + done * 2) / (2 * starts))
        finished.append(search.improved(rough[k].xy, _MOST_STEPS))
    order = sorted(range(len(finished)), key=lambda k: (-finished[k].gap_mm, k))
    best = [finished[k] for k in order[:_POOL]]
    best = _shaken(best, search, grounds, ground, shakes, stream.child("shakes"), told)
    return search.eased(max(best, key=lambda found: found.gap_mm))


def _shaken(
    pool: list[Tightest],
    search: _Search,
    grounds: list[BaseGeometry],
    ground: Ints,
    shakes: int,
    stream: Stream,
    told: Callable[[float], None],
) -> list[Tightest]:
    """Shake each of a few and search again, until so many shakes in a row gained nothing."""
    pool, idle, turn, most = list(pool), 0, 0, 0
    while idle < shakes:
        most = max(most, idle)
        told(_SEARCHED + (1.0 - _SEARCHED) * most / shakes)
        which = turn % len(pool)
        held, own = pool[which], stream.child(f"{turn}")
        apart = held.gap_mm + 2.0 * float(search.radius_mm.mean())
        # All a little; or one of them, to where there is room.
        if turn // len(pool) % 2:
            move = [own.child(axis).uniform(0, len(ground)) - 0.5 for axis in ("x", "y")]
            xy = held.xy + 2.0 * _SHAKEN * apart * np.stack(move, axis=1)
        else:
            xy = _one_moved(held.xy, grounds, ground, own)
        back = put_back(xy, grounds, ground)[None]
        xy = _spread(back, grounds, ground, search.radius_mm, np.array([0.9 * apart]), 20)[0]
        found = search.improved(xy, _ROUGH_STEPS)
        if found.gap_mm > held.gap_mm - 0.02 * apart:
            found = search.improved(found.xy, _MOST_STEPS)
        gained = found.gap_mm > held.gap_mm + 1e-9 * apart
        pool[which] = found if gained else held
        idle, turn = 0 if gained else idle + 1, turn + 1
    return pool


def _one_moved(xy: Floats, grounds: list[BaseGeometry], ground: Ints, stream: Stream) -> Floats:
    """Return the points with one of them taken to a roomy place, of a few thrown at random."""
    which = int(stream.child("which").uniform(0, 1)[0] * len(xy))
    spots = _thrown(grounds[ground[which]], _SPOTS, stream.child("spots"))
    others = np.delete(xy, which, axis=0)
    room = np.asarray(cKDTree(others).query(spots)[0])
    moved = xy.copy()
    moved[which] = spots[int(np.argmax(np.round(room, 9)))]
    return moved


def _relaxed(
    grounds: list[BaseGeometry], ground: Ints, radius_mm: Floats, starts: int, stream: Stream
) -> Floats:
    """Return points thrown at random that have pushed one another apart, shape (starts, n, 2)."""
    n = len(ground)
    xy = np.empty((starts, n, 2))
    for size, region in enumerate(grounds):
        mine = np.flatnonzero(ground == size)
        xy[:, mine] = _thrown(region, starts * len(mine), stream.child(f"size {size}")).reshape(
            starts, len(mine), 2
        )
    apart = _widest(grounds, n) * np.linspace(_SOFT, 1.0, starts)
    return _spread(xy, grounds, ground, radius_mm, apart, _RELAXING)


def _widest(grounds: list[BaseGeometry], n: int) -> float:
    """Return the distance at which the bound of Groemer and Oler allows n: none stand wider."""
    area = max(float(each.area) for each in grounds)
    length = max(float(each.length) for each in grounds)
    a, b, c = n - 1.0, -length / 2.0, -2.0 * area / 3.0**0.5
    return float((-b + (b * b - 4.0 * a * c) ** 0.5) / (2.0 * a))


def _thrown(region: BaseGeometry, count: int, stream: Stream) -> Floats:
    """Return random points of a region."""
    x0, y0, x1, y1 = region.bounds
    found, drawn, have = [], 0, 0
    shapely.prepare(region)
    while have < count:
        if drawn > 1000 * count + 10_000:
            # A thread of a region: what was missed goes to its nearest place.
            rest = np.stack([np.full(count, x0), np.full(count, y0)], axis=1)
            found.append(put_back(rest, [region], np.zeros(count, dtype=np.int64)))
            break
        shares = [stream.child(axis).uniform(drawn, 4 * count) for axis in ("x", "y")]
        xy = np.stack(shares, axis=1) * (x1 - x0, y1 - y0) + (x0, y0)
        xy = xy[shapely.contains_xy(region, xy[:, 0], xy[:, 1])]
        found.append(xy)
        drawn, have = drawn + 4 * count, have + len(xy)
    return np.concatenate(found)[:count]


def _spread(
    xy: Floats,
    grounds: list[BaseGeometry],
    ground: Ints,
    radius_mm: Floats,
    apart: Floats,
    rounds: int,
) -> Floats:
    """Let the points of every start push one another apart, all starts at once.

    Points hard pressed all end alike, so starts differ in how far ``apart`` their points push.
    """
    starts, n = xy.shape[:2]
    off = ~np.eye(n, dtype=np.bool_)
    extra = radius_mm[:, None] + radius_mm[None, :] - 2.0 * float(radius_mm.mean())
    need = np.where(off, extra + apart[:, None, None], -np.inf)
    longest = 0.15 * apart[:, None]
    where = np.tile(ground, starts)
    speed = np.zeros_like(xy)
    for _ in range(rounds):
        step = xy[:, :, None] - xy[:, None, :]
        away = np.maximum(np.hypot(step[..., 0], step[..., 1]), 1e-9)
        push = np.maximum(need - away, 0.0) * (0.5 / away)
        speed = 0.5 * speed + 0.4 * (step * push[..., None]).sum(axis=2)
        size = np.maximum(np.hypot(speed[..., 0], speed[..., 1]), 1e-12)
        speed *= np.minimum(1.0, longest / size)[..., None]
        moved = put_back((xy + speed).reshape(-1, 2), grounds, where).reshape(xy.shape)
        speed, xy = moved - xy, moved
    return xy


@dataclass(frozen=True, eq=False)
class _Search:
    """Linear programmes over the steps of all points."""

    walls: Walls
    radius_mm: Floats

    def gap(self, xy: Floats) -> float:
        """Return the least free distance between two pieces."""
        i, j = np.triu_indices(len(xy), 1)
        step = xy[i] - xy[j]
        return float(
            (np.hypot(step[:, 0], step[:, 1]) - self.radius_mm[i] - self.radius_mm[j]).min()
        )

    def improved(self, xy: Floats, most: int) -> Tightest:
        """Step uphill until nothing is gained."""
        gap = self.gap(xy)
        loose = np.ones(len(xy), dtype=np.bool_)
        return self._climbed(xy, gap, loose, most)

    def eased(self, found: Tightest) -> Tightest:
        """Put pieces that are free to rattle in the middle of their room; the rest stays."""
        xy = found.xy
        unit = found.gap_mm + 2.0 * float(self.radius_mm.mean())
        _, stress = self._programme(xy, found.gap_mm, np.ones(len(xy), dtype=np.bool_), 1e-4 * unit)
        # What nothing presses on is free to rattle, even where it leans on its neighbours.
        loose = stress < 1e-7
        if loose.any() and not loose.all():
            gap = self._loose_gap(xy, loose)
            eased = self._climbed(xy, gap, loose, _ROUGH_STEPS).xy
            xy = eased if self.gap(eased) >= found.gap_mm else xy
        return Tightest(xy, self.gap(xy))

    def _loose_gap(self, xy: Floats, loose: Bools) -> float:
        i, j = np.triu_indices(len(xy), 1)
        some = loose[i] | loose[j]
        i, j = i[some], j[some]
        step = xy[i] - xy[j]
        return float(
            (np.hypot(step[:, 0], step[:, 1]) - self.radius_mm[i] - self.radius_mm[j]).min()
        )

    def _pairs(self, xy: Floats, within_mm: float) -> tuple[Ints, Ints, Floats]:
        """Return the pairs whose free distance is below a bound, and their centre distances."""
        widest = 2.0 * float(self.radius_mm.max()) + max(within_mm, 0.0)
        pairs = cKDTree(xy).query_pairs(widest, output_type="ndarray")
        i, j = pairs[:, 0], pairs[:, 1]
        step = xy[i] - xy[j]
        apart = np.hypot(step[:, 0], step[:, 1])
        near = apart - self.radius_mm[i] - self.radius_mm[j] < within_mm
        return i[near], j[near], apart[near]

    def _climbed(self, xy: Floats, gap: float, loose: Bools, most: int) -> Tightest:
        """Step uphill with the loose points alone; the others stand."""
        unit = gap + 2.0 * float(self.radius_mm.mean())
        trust = 0.25 * unit
        for _ in range(most):
            moved, _ = self._programme(xy, gap, loose, trust)
            if moved is None:
                break
            now = self.gap(moved) if loose.all() else self._loose_gap(moved, loose)
            if now <= gap + _STALLED * unit:
                if trust < 1e-3 * unit:
                    break
                trust *= 0.2
                continue
            xy, gap = moved, now
        return Tightest(xy, gap)

    def _programme(
        self, xy: Floats, gap: float, loose: Bools, trust: float
    ) -> tuple[Floats | None, Floats]:
        """Return the points after the best step within a trust radius, and what presses on each."""
        n = len(xy)
        i, j, apart = self._pairs(xy, gap + 6.0 * trust)
        some = loose[i] | loose[j]
        i, j, apart = i[some], j[some], apart[some]
        way = (xy[i] - xy[j]) / np.maximum(apart, 1e-12)[:, None]
        at, out, room = self.walls.near(xy, self.radius_mm, trust)
        mine = loose[at]
        at, out, room = at[mine], out[mine], room[mine]
        p, w = len(i), len(at)
        row = np.arange(p)
        walls = p + np.arange(w)
        # gap - way . (move_i - move_j) <= apart - radii;  -out . move <= room
        data = [-way[:, 0], -way[:, 1], way[:, 0], way[:, 1], np.ones(p), -out[:, 0], -out[:, 1]]
        rows = [row, row, row, row, row, walls, walls]
        columns = [2 * i, 2 * i + 1, 2 * j, 2 * j + 1, np.full(p, 2 * n), 2 * at, 2 * at + 1]
        matrix = coo_array(
            (np.concatenate(data), (np.concatenate(rows), np.concatenate(columns))),
            shape=(p + w, 2 * n + 1),
        ).tocsr()
        bound = np.concatenate([apart - self.radius_mm[i] - self.radius_mm[j], room])
        limit = np.where(np.repeat(loose, 2), trust, 0.0)
        span = np.stack([np.append(-limit, -np.inf), np.append(limit, np.inf)], axis=1)
        cost = np.zeros(2 * n + 1)
        cost[-1] = -1.0
        solve: Any = scipy.optimize.linprog  # the published types know no sparse arrays
        found = solve(cost, A_ub=matrix, b_ub=bound, bounds=span, method="highs-ds", options=_HIGHS)
        if found.x is None:
            return None, np.zeros(n)
        press = np.abs(np.asarray(found.ineqlin.marginals))[:p]
        stress = np.bincount(i, weights=press, minlength=n)
        stress += np.bincount(j, weights=press, minlength=n)
        moved: Floats = xy + np.asarray(found.x)[:-1].reshape(-1, 2)
        return moved, stress.astype(np.float64)
