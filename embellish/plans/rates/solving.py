"""Minutes a unit from minutes of whole jobs, in which several units come together.

The rates are those by which the jobs together take exactly what they were logged to take, each
job counting by its length: minutes scatter as the work they are of, so each square is divided by
the minutes expected. For one unit alone that is all minutes by all units.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy

from embellish.arrays import Floats

_MOST_CONDITION: Final = 30.0
"""Above this, columns are too alike to be told apart (Belsley, Kuh and Welsch, 'Regression
Diagnostics', 1980: condition indexes of 30 and more; from memory)."""

_MOST_SPREAD: Final = 3.0
"""Where leaving out one job changes a rate by more than this, it rests on that job alone (common
practice, no source)."""

_ROUNDS: Final = 60
_SETTLED: Final = 1e-12


@dataclass(frozen=True, eq=False, slots=True)
class Timed:
    """Work of one job: how long it took, and what was done, by unit."""

    entry: int
    job: str
    minutes: float
    did: Mapping[str, int]


@dataclass(frozen=True)
class Solved:
    """Rates of several units, from jobs.

    Parameters
    ----------
    rates
        Minutes a unit, by group.
    spread
        The least and the most of each as any one job is left out; none for a single job.
    expected
        Minutes of each job by these rates.
    """

    rates: dict[str, float]
    spread: dict[str, tuple[float, float]]
    expected: tuple[float, ...]


def told_apart(jobs: Sequence[Timed], group_of: Mapping[str, str]) -> Solved | None:
    """Return a rate for each group of units, or None where the jobs do not tell them apart.

    Parameters
    ----------
    group_of
        The group each unit is counted in; its units share one rate.
    """
    groups = list(dict.fromkeys(group_of[unit] for job in jobs for unit in job.did))
    counts = np.zeros((len(jobs), len(groups)))
    for row, job in enumerate(jobs):
        for unit, number in job.did.items():
            counts[row, groups.index(group_of[unit])] += number
    used = counts.sum(axis=0) > 0.0
    counts, groups = (
        counts[:, used],
        [name for name, held in zip(groups, used, strict=True) if held],
    )
    minutes = np.array([job.minutes for job in jobs])
    if not groups or (len(groups) > 1 and not _apart(counts, minutes)):
        return None
    rates = _rates(counts, minutes)
    others = [_left_out(counts, minutes, row) for row in range(len(jobs))]
    known = np.array([each for each in others if each is not None])
    spread = {}
    if len(known):
        low, high = known.min(axis=0), known.max(axis=0)
        if len(groups) > 1 and (np.any(low <= 0.0) or np.any(high > _MOST_SPREAD * low)):
            return None
        spread = {
            name: (float(low[k]), float(high[k]))
            for k, name in enumerate(groups)
            if np.count_nonzero(counts[:, k]) > 1
        }
    if np.any(rates <= 0.0):
        return None
    expected = tuple((counts @ rates).tolist())
    return Solved(dict(zip(groups, rates.tolist(), strict=True)), spread, expected)


def _apart(counts: Floats, minutes: Floats) -> bool:
    """Tell whether there are more jobs than rates, and these are not in one proportion in all."""
    if len(counts) <= counts.shape[1]:
        return False
    weighed = counts / np.sqrt(minutes)[:, None]
    lengths = np.linalg.norm(weighed, axis=0)
    return float(np.linalg.cond(weighed / lengths)) <= _MOST_CONDITION


def _rates(counts: Floats, minutes: Floats) -> Floats:
    """Return non-negative rates, each job's square divided by what is expected of it."""
    if counts.shape[1] == 1:
        return np.array([minutes.sum() / counts.sum()])
    expected = minutes
    rates: Floats = np.zeros(counts.shape[1])
    floor = 1e-4 * minutes
    for _ in range(_ROUNDS):
        weights = 1.0 / np.sqrt(np.maximum(expected, floor))
        found = np.asarray(
            scipy.optimize.nnls(counts * weights[:, None], minutes * weights)[0], dtype=np.float64
        )
        done = bool(np.all(np.abs(found - rates) <= _SETTLED * np.maximum(found, rates)))
        rates, expected = found, counts @ found
        if done:
            break
    return rates


def _left_out(counts: Floats, minutes: Floats, row: int) -> Floats | None:
    kept = np.arange(len(counts)) != row
    rest = counts[kept]
    if np.linalg.matrix_rank(rest) < counts.shape[1]:
        return None
    return _rates(rest, minutes[kept])
