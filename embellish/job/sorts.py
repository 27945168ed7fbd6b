"""What a job may set: its pieces and units, looked up and with their footprints."""

from __future__ import annotations

from dataclasses import dataclass

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.piece import Piece, Unit
from embellish.catalogue.shapes import (
    centred_piece,
    centred_unit,
    piece_footprint,
    turn_symmetry_deg,
    unit_footprint,
)
from embellish.catalogue.shipped import PREFIX, shipped, shipped_names
from embellish.errors import CatalogueError, JobError
from embellish.formats.nearest import close_to, nearest
from embellish.geometry.footprints import Footprint
from embellish.job.model import Job


@dataclass(frozen=True, eq=False)
class Sorts:
    """Everything the job's lays may set: pieces, then units, each with footprint and symmetry."""

    pieces: tuple[Piece, ...]
    units: tuple[Unit, ...]
    footprints: tuple[Footprint, ...]
    turns: tuple[float, ...]

    @classmethod
    def of(cls, job: Job, catalogue: Catalogue) -> Sorts:
        """Gather what the job names, in the order it names it; members of units come with them.

        Raises
        ------
        JobError
            For a name that no catalogue of the job has.
        """
        pieces: dict[str, Piece] = {}
        units: dict[str, Unit] = {}
        named = [(name, f"lay '{lay.id}'") for lay in job.lay for name in lay.codes]
        named += [(edit.piece, f"edit '{edit.words}'") for edit in job.edit if edit.piece]
        for name, item in named:
            if name in catalogue.pieces:
                pieces[name] = centred_piece(catalogue.pieces[name])
            elif name in catalogue.units:
                units[name] = _unit(catalogue.units[name], catalogue)
            else:
                raise JobError(
                    f"no catalogue of this job has a piece '{name}'",
                    item=item,
                    mend=_meant(name, catalogue),
                )
        for unit in units.values():
            for member in unit.members:
                pieces.setdefault(member.piece, centred_piece(catalogue.pieces[member.piece]))
        return cls(
            tuple(pieces.values()),
            tuple(units.values()),
            (
                *(piece_footprint(piece) for piece in pieces.values()),
                *(unit_footprint(unit, catalogue.pieces) for unit in units.values()),
            ),
            (*(turn_symmetry_deg(piece) for piece in pieces.values()), *(360.0 for _ in units)),
        )

    @property
    def names(self) -> dict[str, int]:
        """Index of each piece code and unit name."""
        every = [*(piece.code for piece in self.pieces), *(unit.name for unit in self.units)]
        return {name: index for index, name in enumerate(every)}

    @property
    def hexes(self) -> tuple[str, ...]:
        """The screen colour of each piece, '' for units."""
        return (*(piece.hex for piece in self.pieces), *("" for _ in self.units))

    def pieces_of(self, sort: int) -> tuple[Piece, ...]:
        """Return the pieces that stand on a seat of this sort."""
        if sort < len(self.pieces):
            return (self.pieces[sort],)
        by_code = {piece.code: piece for piece in self.pieces}
        return tuple(by_code[m.piece] for m in self.units[sort - len(self.pieces)].members)

    def fixings(self, sort: int) -> set[str]:
        """Return the fixings of what stands on a seat of this sort."""
        return {piece.fixing for piece in self.pieces_of(sort)}


def _meant(name: str, catalogue: Catalogue) -> str:
    """Return what a name that no catalogue of the job has may stand for."""
    for each in shipped_names("pieces"):
        there = shipped(each)
        if name in there.pieces or name in there.units:
            return f'It is in another catalogue: add "{PREFIX}{each}" to the job\'s catalogues.'
    codes = [*catalogue.pieces, *catalogue.units]
    close = close_to(name, codes)
    if close is None and len(codes) > _FEW:
        return "See the codes there are with: embellish catalogue list, and the catalogue's name."
    return nearest(name, codes) or "Add pieces to the catalogue."


_FEW = 12


def _unit(unit: Unit, catalogue: Catalogue) -> Unit:
    for member in unit.members:
        if member.piece not in catalogue.pieces:
            raise CatalogueError(
                f"its member '{member.piece}' is not in the catalogues",
                item=f"unit '{unit.name}'",
                mend=nearest(member.piece, catalogue.pieces),
            )
    return centred_unit(unit, catalogue.pieces)
