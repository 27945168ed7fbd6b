"""Several garments of one job made together: a folder each, counted and bought as one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from embellish.errors import EmbellishError
from embellish.findings import Finding
from embellish.job.files import OpenJob
from embellish.job.making import Made, made_files
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.materials import materials_csv, materials_json
from embellish.plans.lengths import lengths_of
from embellish.plans.materials import MaterialsPlan, plan_counted
from embellish.plans.piece_counts import piece_counts


@dataclass(frozen=True, eq=False)
class Garment:
    """One of several to be made.

    ``kind`` is the word for what it differs by: size, name.
    """

    kind: str
    name: str
    folder: str
    job: OpenJob
    quantity: int

    @property
    def label(self) -> str:
        """What it is called in messages."""
        return f"{self.kind} '{self.name}'"


@dataclass(frozen=True, eq=False)
class MadeGarment:
    """One of several, made."""

    garment: Garment
    made: Made
    pieces: dict[str, int]
    """Pieces of one of it, by code."""


@dataclass(frozen=True, eq=False)
class MadeTogether:
    """All of them, and the buying of all together."""

    garments: tuple[MadeGarment, ...]
    counts: dict[str, int]
    """Pieces of all, by code; also those of which none are taken."""
    materials: MaterialsPlan
    files: dict[str, bytes]

    @property
    def stopped(self) -> bool:
        """Whether an error stands in any."""
        return any(each.made.checked.stopped for each in self.garments)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed; what was not noticed of every one has its name in front."""
        seen = Counter(finding for each in self.garments for finding in each.made.checked.findings)
        found = [
            finding
            if seen[finding] == len(self.garments)
            else replace(
                finding,
                message=f"{each.garment.kind} {each.garment.name}: {finding.message}",
            )
            for each in self.garments
            for finding in each.made.checked.findings
        ]
        return tuple(dict.fromkeys([*found, *self.materials.findings]))


def made_together(
    garments: Sequence[Garment],
    opened: OpenJob,
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> MadeTogether:
    """Make garments, and plan what to buy for all of them.

    Parameters
    ----------
    garments
        What is made.
    opened
        The job they are all of: its catalogue and its spares hold.

    Raises
    ------
    EmbellishError
        For what the user must mend first; it says in which of them.
    """
    files: dict[str, bytes] = {}
    parts: list[MadeGarment] = []
    counts: dict[str, int] = {}
    having: Counter[str] = Counter()
    for garment in garments:
        named = partial(_stage_of, garment, progress)
        try:
            made = made_files(garment.job, anyway=anyway, progress=named)
        except EmbellishError as wrong:
            # Which one is not told by the lay alone: another may have an outline of its own.
            raise wrong.inside(garment.label) from wrong
        files |= {f"{garment.folder}/{name}": content for name, content in made.files.items()}
        pieces = piece_counts(made.checked.layout)
        for code, number in pieces.items():
            counts[code] = counts.get(code, 0) + number * garment.quantity
            having[code] += garment.quantity
        # Its files are in the whole now; held twice they would fill the memory.
        parts.append(MadeGarment(garment, replace(made, files={}), pieces))
    together = plan_counted(
        {code: number for code, number in counts.items() if number},
        1,
        opened.catalogue,
        opened.job.materials,
        garments=having,
        lengths=lengths_of((part.made.checked.layout, part.garment.quantity) for part in parts),
    )
    files["materials-all.json"] = materials_json(together)
    files["materials-all.csv"] = materials_csv(together)
    return MadeTogether(tuple(parts), counts, together, files)


def _stage_of(garment: Garment, progress: Callable[[str], Progress], stage: str) -> Progress:
    return progress(f"{garment.kind} {garment.name}, {stage}")
