"""A corrected rate: the key it goes under, its value, and the sum behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FEW: Final = 3
"""Jobs from which on a rate is more than a first guess (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rate:
    """One setting of a job.

    Parameters
    ----------
    at
        Where it stands in a job file: ``("price", "press_cycle_minutes")``.
    value
        A number, or a table of numbers.
    sums
        How it came about.
    jobs
        On how many it rests.
    caution
        What the maker should know before it is used.
    """

    at: tuple[str, ...]
    value: float | dict[str, float | int]
    sums: str
    jobs: int
    caution: str = ""


def few_words(jobs: int) -> str:
    """Return what is said where a rate rests on few jobs."""
    return "few jobs: a first guess, log more" if jobs < FEW else ""
