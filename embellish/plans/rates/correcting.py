"""Rates corrected by what jobs truly took: as many of them as the jobs logged can tell apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from statistics import median
from typing import Final, cast

from embellish.catalogue.piece import Kind
from embellish.findings import counted
from embellish.layout.layout import SetBy
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.price_settings import PriceSettings
from embellish.plans.rates.breakage import spare_rates
from embellish.plans.rates.rate import FEW, Rate, few_words
from embellish.plans.rates.solving import Solved, Timed, told_apart
from embellish.plans.rates.work_log import UNITS, WorkLog
from embellish.plans.stitching.settings import StitchSettings

_DIGITS: Final = 3
_FAR: Final = 2.0
"""A job so many times off the middle of all is told (common practice, no source)."""

_MOST_SPEED: Final = 2000.0
_JOB_RATES: Final = {
    "passes": ("price", "press_cycle_minutes"),
    "designs": ("price", "setup_minutes"),
    "garments": ("price", "garment_minutes"),
    "stitches": ("marks", "speed_per_min"),
    "trims": ("marks", "trim_s"),
    "stops": ("marks", "stop_s"),
}


@dataclass(frozen=True, slots=True)
class Held:
    """One job held against the corrected rates."""

    what: str
    entry: int
    job: str
    logged: float
    expected: float
    far: bool
    """Whether it took far more or less than most jobs do beside the rates."""


@dataclass(frozen=True)
class Corrected:
    """What a log says of a shop's rates."""

    rates: tuple[Rate, ...]
    held: tuple[Held, ...]


def corrected_rates(
    log: WorkLog,
    prices: PriceSettings | None = None,
    marks: StitchSettings | None = None,
    materials: MaterialSettings | None = None,
) -> Corrected:
    """Return every rate that a log tells, with the jobs held against them.

    Parameters
    ----------
    log
        What was logged.
    prices, marks, materials
        Rates now in force, which keep their proportions where the jobs are too few, or too alike,
        to tell them apart.
    """
    now = _InForce(prices or PriceSettings(), marks or StitchSettings())
    told = log.told()
    rates: list[Rate] = []
    held: list[Held] = []
    for what in UNITS:
        jobs = [
            Timed(row.entry, row.target, float(row.minutes), row.did)
            for row in told
            if row.what == what and row.minutes
        ]
        found, by_rates = _of_work(what, jobs, now)
        rates += found
        held += _held(what, jobs, by_rates)
    rates += spare_rates(told, materials or MaterialSettings())
    return Corrected(tuple(rates), tuple(held))


def _held(what: str, jobs: Sequence[Timed], by_rates: Mapping[Timed, float]) -> list[Held]:
    """Return each job beside its rates; far is one that the middle of all is far from."""
    beyond = [job.minutes / by_rates[job] if by_rates[job] else 1.0 for job in jobs]
    middle = median(beyond) if beyond else 1.0
    far = [len(jobs) >= FEW and not 1.0 / _FAR <= each / middle <= _FAR for each in beyond]
    return [
        Held(what, job.entry, job.job, job.minutes, by_rates[job], off)
        for job, off in zip(jobs, far, strict=True)
    ]


def _of_work(
    what: str, jobs: Sequence[Timed], now: _InForce
) -> tuple[list[Rate], dict[Timed, float]]:
    """Return rates, and minutes of each job by them."""
    rates: list[Rate] = []
    minutes: dict[Timed, float] = {}
    for part in _parts(jobs, now):
        found, solved = _of_part(what, part, now)
        rates += found
        minutes.update(zip(part, solved.expected, strict=True))
    return rates, minutes


def _parts(jobs: Sequence[Timed], now: _InForce) -> list[list[Timed]]:
    """Return the jobs that hang together by a rate they share: others tell nothing of it."""
    parts: list[tuple[set[str], list[Timed]]] = []
    for job in jobs:
        groups = {now.group(unit) for unit, number in job.did.items() if number}
        apart = [part for part in parts if not part[0] & groups]
        met = [part for part in parts if part[0] & groups]
        whole = [each for _, held in met for each in held] + [job]
        parts = [*apart, (groups.union(*(names for names, _ in met)), whole)]
    return [held for _, held in parts]


def _of_part(what: str, jobs: Sequence[Timed], now: _InForce) -> tuple[list[Rate], Solved]:
    for group_of in _groupings(what, jobs, now):
        solved = told_apart(jobs, group_of)
        if solved is not None and _can_be_entered(solved):
            return [_rate(name, jobs, group_of, solved) for name in solved.rates], solved
    return _in_proportion(jobs, now)


def _groupings(what: str, jobs: Sequence[Timed], now: _InForce) -> list[dict[str, str]]:
    """Return which units share a rate, the finest first; a kind alone where one way sets it."""
    coarse = {unit: now.group(unit) for unit in UNITS[what]}
    if what != "setting":
        return [coarse]
    used = {tuple(unit.split(" ")) for job in jobs for unit, number in job.did.items() if number}
    fine = dict(coarse)
    for by, kind in used:
        alone = sum(each == by for each, _ in used) == 1
        one_way = sum(each == kind for _, each in used) == 1
        if one_way and not alone:
            fine[f"{by} {kind}"] = kind
    return [fine, coarse] if fine != coarse else [coarse]


def _can_be_entered(solved: Solved) -> bool:
    """Tell whether a machine of this speed can be: one of no time a stitch cannot."""
    each = solved.rates.get("stitches")
    return each is None or each >= 1.0 / _MOST_SPEED


def _rate(group: str, jobs: Sequence[Timed], group_of: Mapping[str, str], solved: Solved) -> Rate:
    mine = [
        sum(number for unit, number in job.did.items() if group_of[unit] == group) for job in jobs
    ]
    number, count = sum(mine), sum(each > 0 for each in mine)
    what = _ONE.get(group, f"piece ({group})") if number == 1 else _many(group)
    minutes = sum(job.minutes for job in jobs)
    if len(solved.rates) == 1:
        sums = f"{minutes:g} min / {number} {what}, {counted(count, 'job')}"
    else:
        sums = f"{number} {what}, least squares over {counted(count, 'job')}"
    if group in solved.spread:
        ends = sorted(_value(group, each) for each in solved.spread[group])
        sums += f"; {ends[0]:g} to {ends[1]:g} as any one is left out"
    return Rate(_at(group), _value(group, solved.rates[group]), sums, count, few_words(count))


_ONE: Final = {
    "passes": "pass",
    "designs": "design",
    "garments": "garment",
    "stitches": "stitch",
    "trims": "trim",
    "stops": "stop",
}


def _many(group: str) -> str:
    return group if group in _JOB_RATES else f"pieces ({group})"


def _in_proportion(jobs: Sequence[Timed], now: _InForce) -> tuple[list[Rate], Solved]:
    """Return the rates in force, all changed by the one factor that the jobs tell."""
    minutes = sum(job.minutes for job in jobs)
    before = sum(now.minutes(job.did) for job in jobs)
    if not before:
        return [], Solved({}, {}, (0.0,) * len(jobs))
    factor = minutes / before
    units = dict.fromkeys(unit for job in jobs for unit, number in job.did.items() if number)
    groups = {now.group(unit): now.each(unit) for unit in units}
    sums = (
        f"{minutes:g} min logged, {before:.4g} by the rates so far: × {factor:.3g},"
        f" {counted(len(jobs), 'job')}"
    )
    caution = "too few jobs, or too alike, to tell these rates apart: all changed by one factor"
    rates = [
        Rate(_at(name), _value(name, each * factor), sums, len(jobs), caution)
        for name, each in groups.items()
        if each
    ]
    expected = tuple(now.minutes(job.did) * factor for job in jobs)
    return rates, Solved({}, {}, expected)


@dataclass(frozen=True)
class _InForce:
    """Minutes a unit by the rates so far."""

    prices: PriceSettings
    marks: StitchSettings

    def each(self, unit: str) -> float:
        """Return minutes for one."""
        of_job = {
            "stitches": 1.0 / self.marks.speed_per_min,
            "trims": self.marks.trim_s / 60.0,
            "stops": self.marks.stop_s / 60.0,
            "passes": float(self.prices.press_cycle_minutes),
            "designs": float(self.prices.setup_minutes),
            "garments": float(self.prices.garment_minutes),
        }
        if unit in of_job:
            return of_job[unit]
        by, kind = unit.split(" ")
        return float(self.prices.minutes_of_piece(cast("SetBy", by), cast("Kind", kind))[0])

    def group(self, unit: str) -> str:
        """Return by which rate it is counted: the kind's own, or that of the way it is set."""
        if unit in _JOB_RATES:
            return unit
        by, kind = unit.split(" ")
        return kind if kind in self.prices.minutes_per_piece_of_kind else by

    def minutes(self, did: Mapping[str, int]) -> float:
        """Return minutes for all that was done."""
        return sum(number * self.each(unit) for unit, number in did.items())


def _at(group: str) -> tuple[str, ...]:
    if group in _JOB_RATES:
        return _JOB_RATES[group]
    ways = {unit.split(" ")[0] for unit in UNITS["setting"]}
    table = "minutes_per_piece" if group in ways else "minutes_per_piece_of_kind"
    return ("price", table, group)


def _value(group: str, minutes: float) -> float:
    """Return a rate as it is entered: stitches a minute, seconds a trim or stop, else minutes."""
    if group == "stitches":
        return _short(1.0 / minutes)
    return _short(minutes * 60.0 if group in ("trims", "stops") else minutes)


def _short(value: float) -> float:
    """Return a value to three digits: minutes logged are no truer."""
    exact = Decimal(repr(value))
    step = Decimal(1).scaleb(exact.adjusted() - _DIGITS + 1)
    return float(exact.quantize(step, rounding=ROUND_HALF_UP))
