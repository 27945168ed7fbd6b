"""What a maker may ask of templates: the `[template]` table of a job."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from embellish.catalogue.equipment import Equipment
from embellish.catalogue.fields import Money
from embellish.catalogue.piece import Piece
from embellish.errors import CatalogueError, UnfitError
from embellish.formats.fields import NoTruth

Group = Literal["fewest", "one", "colour", "size", "lay", "area"]
Format = Literal["svg", "dxf", "plt", "pdf"]

# Above 3 mm a clearance or wall would reach the registration holes, and no cutter needs it.
ClearanceMm = Annotated[float, Field(ge=0, le=3)]
SizeMm = Annotated[float, Field(gt=0, le=100_000)]
Size = tuple[SizeMm, SizeMm]

USUAL_CLEARANCE_MM: Final[tuple[tuple[float, float], ...]] = ((3.0, 0.3), (5.0, 0.4))
"""Up to this greatest width in mm, this clearance."""
USUAL_CLEARANCE_LARGE_MM: Final = 0.5
"""Above. 0.3 to 0.5 mm over the largest of the size range: common practice, no source; to be
calibrated by a test cut."""


class PressSettings(BaseModel):
    """``[template.press]``: what the maker enters from the makers' instructions; never a default.

    Parameters
    ----------
    temperature_c, seconds
        Of one pass.
    pressure
        In the maker's own words, such as ``medium, 3 bar``.
    side
        Which side of the cloth the platen meets.
    note
        Anything else for the work sheet, such as how to peel.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    temperature_c: Annotated[float, Field(gt=0, le=300)] | None = None
    seconds: Annotated[float, Field(gt=0, le=600)] | None = None
    pressure: Annotated[str, Field(max_length=80)] = ""
    side: Literal["front", "back"] = "front"
    note: Annotated[str, Field(max_length=200)] = ""


class PlaceSettings(BaseModel):
    """``[[template.place]]``: where the design's middle lies, seen from a mark of the garment.

    Parameters
    ----------
    mark
        Its name, such as ``collar seam``.
    right_mm, down_mm
        From the mark to the middle of the design, as the garment is seen; negative for left and
        up. A line that runs across gives ``down_mm`` alone, one that runs down ``right_mm``.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    mark: Annotated[str, Field(min_length=1, max_length=60)]
    right_mm: Annotated[float, Field(ge=-5000, le=5000)] | None = None
    down_mm: Annotated[float, Field(ge=-5000, le=5000)] | None = None

    @model_validator(mode="after")
    def _some_way(self) -> PlaceSettings:
        if self.right_mm is None and self.down_mm is None:
            raise UnfitError(
                "this place has no distance from its mark",
                "Add right_mm, down_mm or both: from the mark to the design's middle.",
            )
        return self


class TemplateSettings(BaseModel):
    """``[template]`` of a job.

    Parameters
    ----------
    clearance_mm
        How much wider a hole is than the largest piece of its size: one number, or a table by
        piece code, unit name or size label. Left out: 0.3 to 0.5 mm by size (common practice, no
        source; calibrate by a test cut).
    wall_mm
        Least wall between two holes (common practice, not confirmed by a source).
    edge_mm
        Least distance from a hole to the edge of the cut sheet.
    sheet, transfer, platen
        What templates are cut from, the transfer sheet, the press: ``[width, height]`` in mm, or
        the name of one from the shipped or own equipment. A template larger than any of them is
        cut into tiles.
    thickness_mm
        Of the template sheet.
    group
        Which pieces share a template: ``fewest`` templates such that no piece can drop into
        another's hole and every wall holds, ``one`` for all, one a ``colour``, ``size``, ``lay``
        or ``area`` (shape of the artwork).
    formats
        Files written a template.
    roll
        Whether ``sheet`` is a length of a roll: then the last one is only cut as long as needed.
    copies
        How often each template is cut, where it wears or several people work from it.
    sheet_gap_mm
        Left between two templates on one sheet.
    sheet_price, transfer_price
        Of one sheet (or length of a roll) and of one transfer sheet, in the job's currency, for
        materials and quote; a named sheet's own price unless entered here.
    cut_from
        ``back`` for sheets that are cut lying on their face: then files are mirrored.
    registration_count, registration_mm
        How many registration holes (0, 3 or 4), and their diameter.
    circles_as
        ``arcs`` writes round holes as paths, for programs that know no circles.
    blade_offset_mm
        Of a drag knife, for plotter files only; 0 where the cutter's own driver compensates.
    neighbours
        ``gather``: templates that hold neighbours are lifted one after the other with one transfer
        sheet; ``all``: every template is, neighbours or not; ``split``: each has its own transfer
        sheet, though set pieces hold the next one off.
    neighbour_mm
        Pieces nearer than this are neighbours (common practice, no source).
    place
        Distances from marks of the garment, for the drawing of where transfer sheets are laid.
    press
        Press settings for the work sheet; what is not entered is not said.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    clearance_mm: ClearanceMm | dict[str, ClearanceMm] | None = None
    wall_mm: Annotated[float, Field(gt=0, le=3)] = 0.5
    edge_mm: Annotated[float, Field(gt=0, le=100)] = 5.0
    sheet: str | Size | None = None
    transfer: str | Size | None = None
    platen: str | Size | None = None
    thickness_mm: Annotated[float, Field(gt=0, le=10)] | None = None
    group: Group = "fewest"
    formats: tuple[Format, ...] = ("svg",)
    roll: bool = False
    copies: Annotated[int, Field(ge=1, le=100)] = 1
    sheet_gap_mm: Annotated[float, Field(ge=0, le=100)] = 3.0
    sheet_price: Money | None = None
    transfer_price: Money | None = None
    cut_from: Literal["front", "back"] = "front"
    registration_count: Annotated[Literal[0, 3, 4], NoTruth] = 3
    registration_mm: Annotated[float, Field(ge=0.5, le=10)] = 3.0
    circles_as: Literal["circle", "arcs"] = "circle"
    blade_offset_mm: Annotated[float, Field(ge=0, le=2)] = 0.0
    neighbours: Literal["gather", "all", "split"] = "gather"
    neighbour_mm: Annotated[float, Field(ge=0, le=100)] = 5.0
    place: tuple[PlaceSettings, ...] = ()
    press: PressSettings = PressSettings()

    def with_sizes(self, equipment: Equipment) -> TemplateSettings:
        """Return the settings with names of sheets and presses replaced by their sizes.

        Raises
        ------
        CatalogueError
            For a name that the equipment does not have.
        """
        try:
            return self.model_copy(update=self._sizes(equipment))
        except CatalogueError as wrong:
            raise wrong.within(item="[template]") from wrong

    def _sizes(self, equipment: Equipment) -> dict[str, object]:
        changed: dict[str, object] = {}
        if isinstance(self.sheet, str):
            sheet = equipment.sheet(self.sheet)
            changed["sheet"] = (sheet.width_mm, sheet.height_mm)
            changed["roll"] = self.roll or sheet.roll
            if self.thickness_mm is None:
                changed["thickness_mm"] = sheet.thickness_mm
            if self.sheet_price is None:
                changed["sheet_price"] = sheet.price
        if isinstance(self.transfer, str):
            transfer = equipment.sheet(self.transfer)
            changed["transfer"] = (transfer.width_mm, transfer.height_mm)
            if self.transfer_price is None:
                changed["transfer_price"] = transfer.price
        if isinstance(self.platen, str):
            changed["platen"] = equipment.press(self.platen).platen_mm
        return changed

    @property
    def limit_mm(self) -> Size | None:
        """The long and short side of the largest template that all of them take, or None.

        Each of sheet, transfer sheet and platen may be turned.

        Raises
        ------
        TypeError
            Where a name still stands for a size.
        """
        return _least(self.sheet, self.transfer, self.platen)

    @property
    def lift_limit_mm(self) -> Size | None:
        """The long and short side of what one transfer sheet and one press take, or None."""
        return _least(self.transfer, self.platen)


def _least(*sizes: str | Size | None) -> Size | None:
    known = []
    for size in sizes:
        if isinstance(size, str):
            raise TypeError(f"'{size}' is a name; replace names by sizes first")
        if size is not None:
            known.append((max(size), min(size)))
    if not known:
        return None
    return min(long for long, _ in known), min(short for _, short in known)


def usual_clearance_mm(piece: Piece) -> float:
    """Return the usual clearance of a piece's hole in mm (common practice, no source)."""
    for width, clearance in USUAL_CLEARANCE_MM:
        if piece.width_mm.max <= width:
            return clearance
    return USUAL_CLEARANCE_LARGE_MM
