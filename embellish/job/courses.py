"""What may change of a job to bring it under a budget, in steps from the least change on.

A course is a line of jobs: step 0 is the job itself, each step goes a little further from its look.
Gaps grow by 0.01 mm, a like but cheaper piece takes one more hundredth of the places, or pieces
become the next size of their kind and colour.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from typing import Final, Literal

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece
from embellish.catalogue.substitutes import proposals
from embellish.job.model import Job, LayTable
from embellish.layout.ways.table import WAYS

By = Literal["gap", "cheaper", "size"]

STEP_MM: Final = 0.01
_HUNDREDTHS: Final = 100


@dataclass(frozen=True)
class Bounds:
    """How far a job may change, and which lays of it first.

    Parameters
    ----------
    lays
        Ids of the lays that may change, in the order of their turn.
    in_turn
        Whether each goes as far as it may before the next begins; else all go together.
    most_mm
        The most that a gap is widened; of a lay in ``own_mm`` what stands there.
    most_apart
        How different the colour of a cheaper piece may look (CIEDE2000).
    """

    lays: tuple[str, ...]
    in_turn: bool = False
    most_mm: float = 5.0
    own_mm: Mapping[str, float] = field(default_factory=dict)
    most_apart: float = 10.0


@dataclass(frozen=True)
class Course:
    """A line of jobs.

    Parameters
    ----------
    lengths
        By lay, how many steps it can go.
    changed
        A lay, so many steps on.
    steadily
        Whether a further step nearly always takes less, so that a bracket may be halved.
    notes
        By lay, what the maker should know where it changes.
    """

    by: By
    lengths: Mapping[str, int]
    changed: Callable[[LayTable, int], LayTable]
    in_turn: bool
    steadily: bool
    notes: Mapping[str, str] = field(default_factory=dict)

    @property
    def length(self) -> int:
        """How many steps there are."""
        each = self.lengths.values()
        return sum(each) if self.in_turn else max(each, default=0)

    def steps_of(self, step: int) -> dict[str, int]:
        """Return how far each lay has gone at a step of the whole."""
        if not self.in_turn:
            return {lay: min(step, most) for lay, most in self.lengths.items()}
        found = {}
        for lay, most in self.lengths.items():
            found[lay] = min(step, most)
            step -= found[lay]
        return found

    def at(self, job: Job, step: int) -> Job:
        """Return the job at a step."""
        gone = {lay: steps for lay, steps in self.steps_of(step).items() if steps}
        if not gone:
            return job
        lays = tuple(self.changed(lay, gone[lay.id]) if lay.id in gone else lay for lay in job.lay)
        return job.model_copy(update={"lay": lays})


def course(by: By, job: Job, catalogue: Catalogue, bounds: Bounds) -> Course:
    """Return one course of a job; of no length where nothing can change so."""
    lays = sorted((lay for lay in job.lay if lay.id in bounds.lays), key=_turn(bounds.lays))
    match by:
        case "gap":
            lengths = {
                lay.id: round(bounds.own_mm.get(lay.id, bounds.most_mm) / STEP_MM) for lay in lays
            }
            return Course(by, lengths, _wider, bounds.in_turn, steadily=True)
        case "cheaper":
            return _cheaper(lays, catalogue, bounds)
        case _:
            return _sized(lays, catalogue, bounds)


def _turn(ids: Sequence[str]) -> Callable[[LayTable], int]:
    return lambda lay: ids.index(lay.id)


def _wider(lay: LayTable, steps: int) -> LayTable:
    return lay.model_copy(update={"gap_mm": round(lay.gap_mm + steps * STEP_MM, 4)})


def _plain(lay: LayTable) -> bool:
    """Tell whether which piece stands where is the mix's alone."""
    return lay.settings.blend is None and lay.settings.mosaic is None


def _cheaper(lays: Sequence[LayTable], catalogue: Catalogue, bounds: Bounds) -> Course:
    """Move shares to the likest cheaper piece of that size, one hundredth a step."""
    instead: dict[str, dict[str, str]] = {}
    notes: dict[str, str] = {}
    for lay in lays:
        if not (WAYS[lay.way].mixes and _plain(lay)):
            continue
        if not (isinstance(lay.pieces, dict) or len(lay.pieces) == 1):
            continue  # a pattern that repeats: another piece in it is another pattern
        found = {}
        for code in lay.codes:
            piece = catalogue.pieces.get(code)
            like = [
                each
                for each in (proposals(piece, catalogue, cheaper=True) if piece else ())
                if each.delta_e <= bounds.most_apart and each.piece.code not in lay.codes
            ]
            if like:
                found[code] = like[0].piece.code
                notes[lay.id] = (
                    f"{like[0].words} in place of {code}: compare them on a sample card first"
                )
        if found:
            instead[lay.id] = found

    def changed(lay: LayTable, steps: int) -> LayTable:
        return lay.model_copy(update={"pieces": _shares_moved(lay, instead[lay.id], steps)})

    lengths = dict.fromkeys(instead, _HUNDREDTHS)
    return Course("cheaper", lengths, changed, bounds.in_turn, steadily=True, notes=notes)


def _shares_moved(
    lay: LayTable, instead: Mapping[str, str], hundredths: int
) -> dict[str, float] | tuple[str, ...]:
    """Return a lay's mix with so many hundredths of each share moved; a share of 0 is left out."""
    own = lay.pieces if isinstance(lay.pieces, dict) else {lay.pieces[0]: 100.0}
    moved: dict[str, Decimal] = {}
    for code, share in own.items():
        whole = Decimal(str(share))
        away = whole * hundredths / _HUNDREDTHS if code in instead else Decimal(0)
        for name, part in ((code, whole - away), (instead.get(code, code), away)):
            if part:
                moved[name] = moved.get(name, Decimal(0)) + part
    if len(moved) == 1 and not isinstance(lay.pieces, dict):
        return tuple(moved)
    return {code: float(part) for code, part in moved.items()}


def _sized(lays: Sequence[LayTable], catalogue: Catalogue, bounds: Bounds) -> Course:
    """Give pieces the next size up, the next down, two up, two down, and so on."""
    ladders: dict[str, list[dict[str, str]]] = {}
    for lay in lays:
        if not _plain(lay):
            continue
        rungs = [_other_sizes(lay.codes, catalogue, away) for away in _away(len(catalogue.pieces))]
        if any(rungs):
            ladders[lay.id] = [each for each in rungs if each]

    def changed(lay: LayTable, steps: int) -> LayTable:
        names = ladders[lay.id][steps - 1]
        if isinstance(lay.pieces, dict):
            return lay.model_copy(
                update={"pieces": {names[code]: share for code, share in lay.pieces.items()}}
            )
        return lay.model_copy(update={"pieces": tuple(names[code] for code in lay.pieces)})

    lengths = {lay: len(rungs) for lay, rungs in ladders.items()}
    return Course("size", lengths, changed, bounds.in_turn, steadily=False)


_MOST_SIZES: Final = 3
"""Further sizes away than this are another design."""


def _away(pieces: int) -> list[int]:
    return [sign * n for n in range(1, min(_MOST_SIZES, pieces) + 1) for sign in (1, -1)]


def _other_sizes(codes: Sequence[str], catalogue: Catalogue, away: int) -> dict[str, str]:
    """Return by code the piece so many sizes larger (below 0 smaller); empty where one is not."""
    found: dict[str, str] = {}
    for code in codes:
        piece = catalogue.pieces.get(code)
        sizes = [] if piece is None else _sizes_of(piece, catalogue)
        place = next((n for n, each in enumerate(sizes) if each.code == code), -1) + away
        if not sizes or not 0 <= place < len(sizes):
            return {}
        found[code] = sizes[place].code
    return found


def _sizes_of(piece: Piece, catalogue: Catalogue) -> list[Piece]:
    """Return what is like a piece in all but its size, from the smallest, one of each size."""

    def looks(each: Piece) -> tuple[object, ...]:
        return each.kind, each.shape, each.fixing, each.colour, each.hex, each.finish, each.supplier

    if piece.strung is not None:
        return []
    like = sorted(
        (each for each in catalogue.pieces.values() if looks(each) == looks(piece)),
        key=lambda each: (
            each.length_mm.nominal,
            each.width_mm.nominal,
            each.code != piece.code,
            each.code,
        ),
    )
    doubled = {
        b.code
        for a, b in pairwise(like)
        if (a.length_mm.nominal, a.width_mm.nominal) == (b.length_mm.nominal, b.width_mm.nominal)
    }
    return [each for each in like if each.code not in doubled]
