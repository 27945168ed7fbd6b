"""How fast rows of a hundred thousand pieces are: `python -m tests.benchmarks rows`."""

from __future__ import annotations

from functools import partial

import numpy as np

from embellish.arrays import Floats
from embellish.geometry.footprints import Footprint
from embellish.geometry.outline_forms import oval
from embellish.geometry.rows.bodies import Bodies
from embellish.geometry.rows.row import Rule, round_bodies, space_row
from embellish.geometry.rows.track import Track
from embellish.geometry.strings import Link, strung_along
from tests.benchmarks.yardstick import kd_seconds, seconds, tell

_COUNT = 100_000
_DIAMETER_MM = 2.8
_GAP_MM = 0.5
_LENGTH_MM = _COUNT * (_DIAMETER_MM + _GAP_MM)


def _turn(count: int) -> Floats:
    return np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)


def _polar(radius: Floats, turn: Floats) -> Floats:
    return np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)


def _scaled(points: Floats) -> Floats:
    """Scale a closed line to the length that holds about a hundred thousand pieces."""
    steps = np.diff(np.concatenate([points, points[:1]]), axis=0)
    return points * (_LENGTH_MM / float(np.hypot(steps[:, 0], steps[:, 1]).sum()))


def smooth() -> Floats:
    """A flower, flattened as finely as its bends ask for at 1e-4 mm."""
    turn = _turn(60_000)
    return _scaled(_polar(1.0 + 0.3 * np.sin(5.0 * turn), turn))


def wavy() -> Floats:
    """A ring of two thousand waves, sixteen vertices a piece."""
    turn = _turn(16 * _COUNT)
    return _scaled(_polar(1.0 + 0.0005 * np.sin(2_000.0 * turn), turn))


def corners() -> Floats:
    """A cogged ring: ten thousand corners, nine pieces between two."""
    turn = _turn(10_000)
    return _scaled(_polar(np.where(np.arange(len(turn)) % 2, 1.0, 1.0008), turn))


def cusps() -> Floats:
    """An epicycloid of a thousand cusps."""
    turn, k = _turn(300_000), 1_000.0
    x = (k + 1.0) * np.cos(turn) - np.cos((k + 1.0) * turn)
    y = (k + 1.0) * np.sin(turn) - np.sin((k + 1.0) * turn)
    return _scaled(np.stack([x, y], axis=1))


def round_rows() -> None:
    """Rows of round pieces against one look at all their neighbour pairs."""
    bodies, rule = round_bodies(np.array([_DIAMETER_MM / 2.0])), Rule(_GAP_MM)
    paths = (
        ("smooth", smooth, 1.0),
        ("smooth, 16 vertices a piece", wavy, 10.0),
        ("corners", corners, 2.0),
        ("cusps", cusps, 10.0),
    )
    for name, path, target in paths:
        points = path()
        row = space_row(points, True, bodies, rule)  # noqa: FBT003 - closed, as the name says
        kd = kd_seconds(row.xy, _DIAMETER_MM + _GAP_MM, rounds=5)
        taken = seconds(lambda points=points: space_row(points, True, bodies, rule), rounds=5)  # type: ignore[misc] # noqa: FBT003 - the same
        tell(f"rows, {name}, {len(row):,} pieces", taken / kd, target, "kd")


def even_chords() -> None:
    """By how much the straight gaps of a long smooth row differ."""
    bodies, rule = round_bodies(np.array([_DIAMETER_MM / 2.0])), Rule(_GAP_MM)
    row = space_row(smooth(), True, bodies, rule)  # noqa: FBT003 - closed
    step = np.diff(np.concatenate([row.xy, row.xy[:1]]), axis=0)
    tell("spread of chords, smooth", float(np.ptp(np.hypot(step[:, 0], step[:, 1]))), 1e-9, "mm")


def shaped_rows() -> None:
    """Rows of ovals whose true gaps are evened out, a neighbour pair."""
    turn = _turn(40_000)
    points = _polar(6_000.0 * (1.0 + 0.3 * np.sin(5.0 * turn)), turn)
    bodies, rule = Bodies((Footprint.of(oval(6.0, 4.0)),)), Rule(_GAP_MM)
    row = space_row(points, True, bodies, rule)  # noqa: FBT003 - closed
    taken = seconds(lambda: space_row(points, True, bodies, rule), rounds=1)  # noqa: FBT003 - closed
    tell(f"rows of ovals, {len(row):,} pieces", 1e6 * taken / len(row), 10.0, "µs a pair")


def chains() -> None:
    """Links strung along a line of a thousand corners, and round a smooth one, a link."""
    link = Link(pitch_mm=3.3, half_mm=1.4, gap_mm=_GAP_MM, least_bend_mm=8.0, least_links=2)
    steps = np.random.default_rng(7).uniform(-20.0, 20.0, (1_000, 2)) + np.array([15.0, 0.0])
    lines = {
        "smooth": Track.of(smooth(), closed=True),
        "corners": Track.of(steps.cumsum(axis=0), closed=False),
    }
    for name, track in lines.items():
        strung = strung_along(track, link, "on", 25.0)
        count = sum(len(run) for run in strung.runs)
        taken = seconds(partial(strung_along, track, link, "on", 25.0), rounds=1)
        why = "an absolute time of loops: from 27 to 54 µs in runs on one shared machine"
        tell(f"chain, {name}, {count:,} links", 1e6 * taken / count, 50.0, "µs a link", why=why)


BENCHMARKS = (round_rows, even_chords, shaped_rows, chains)
