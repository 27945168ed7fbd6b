"""A step of the order of work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

StepKind = Literal[
    "try",
    "cut",
    "stretch",
    "paper",
    "sew-marks",
    "lift",
    "face-down",
    "press",
    "hand",
    "sew-on",
    "glue",
]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work.

    Parameters
    ----------
    kind
        What is done.
    title
        In a few words.
    times
        How often over the whole job: once for a template, once a garment for a lift.
    words
        What to do, a sentence each.
    counts
        Codes of pieces and names of units with their count a time, in order of work.
    files
        Names of the files it needs, without ending.
    """

    kind: StepKind
    title: str
    times: int
    words: tuple[str, ...] = ()
    counts: tuple[tuple[str, int], ...] = ()
    files: tuple[str, ...] = ()
