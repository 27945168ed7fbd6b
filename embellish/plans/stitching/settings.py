"""What the maker may say of marks and hoops: the job's ``[marks]`` and ``[hoop]``."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from embellish.catalogue.equipment import Equipment, Hoop, Position
from embellish.errors import CatalogueError, UnfitError
from embellish.formats.fields import Colour
from embellish.formats.stitches import FORMATS

MarkShape = Literal["auto", "cross", "tick", "ring", "dot", "outline", "bar", "holes"]

PlaceMm = Annotated[float, Field(ge=-5000, le=5000)]

THREADS: Final = (
    "#0072b2",
    "#e69f00",
    "#009e73",
    "#cc79a7",
    "#56b4e9",
    "#d55e00",
    "#f0e442",
    "#000000",
)
"""Colours that every eye tells apart (Okabe & Ito 2002, 'Color Universal Design')."""


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class StitchSettings(_Table):
    """``[marks]``: how marks are sewn."""

    formats: Annotated[tuple[str, ...], Field(min_length=1)] = ("dst",)
    blocks: Literal["code", "one"] = "code"
    """One colour block a piece code (the machine stops for each), or one for all."""
    shape: MarkShape = "auto"
    """Of ``each`` and ``ends`` marks; auto chooses by the piece and how it is set."""
    crosses: Literal["auto"] | bool = "auto"
    """Sew the templates' registration crosses; auto: where the job also sews marks."""
    cross_mm: Annotated[float, Field(ge=2, le=20)] = 6.0
    mirrored: bool = False
    """For work from the wrong side of the cloth."""
    stitch_mm: Annotated[float, Field(ge=0.8, le=4.0)] = 2.5
    """Running stitch of guide lines and travel."""
    longest_mm: Annotated[float, Field(ge=1.0, le=7.0)] = 6.0
    """No stitch of a mark is longer."""
    least_mm: Annotated[float, Field(ge=0.2, le=2.0)] = 0.3
    """Shorter stitches are told: needle holes run together."""
    lock_mm: Annotated[float, Field(ge=0.3, le=1.5)] = 0.7
    lock_stitches: Annotated[int, Field(ge=0, le=6)] = 3
    """There and back at the start and end of each thread; a tick needs two at most."""
    inset_mm: Annotated[float, Field(ge=0.1, le=2.0)] = 0.3
    """How far inside the piece, at its least size, every stitch stays."""
    join_visible_mm: Annotated[float, Field(ge=0, le=10)] = 1.5
    """Neighbours are joined by running stitch where at most this much of it shows between them;
    0 joins only pieces that touch."""
    threads: tuple[Colour, ...] = THREADS
    set_pieces: Literal["auto", "end", "stops"] = "auto"
    """When pieces are set: at the ``end`` of all sewing, or at the ``stops``, on the machine; auto:
    at the end, but at the stops where a base design is sewn last."""
    foot_mm: Annotated[float, Field(ge=0, le=40)] = 10.0
    """Across the presser foot: nothing is sewn nearer than half of it to a piece that is on already
    (feet are 6 to 10 mm: common practice, from memory; measure yours)."""
    speed_per_min: Annotated[float, Field(gt=0, le=2000)] = 600.0
    trim_s: Annotated[float, Field(ge=0, le=600)] = 5.0
    stop_s: Annotated[float, Field(ge=0, le=3600)] = 15.0

    @property
    def times_not_entered(self) -> tuple[str, ...]:
        """Which of the figures that machine time rests on are defaults."""
        times = ("speed_per_min", "trim_s", "stop_s")
        return tuple(name for name in times if name not in self.model_fields_set)

    @field_validator("formats")
    @classmethod
    def _known(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        named = tuple(dict.fromkeys(name.lower().lstrip(".") for name in value))
        for name in named:
            if name not in FORMATS:
                raise UnfitError(
                    f"'{name}' is none of the formats {', '.join(sorted(FORMATS))}",
                    "Take one or several of them.",
                )
        return named

    @model_validator(mode="after")
    def _in_order(self) -> StitchSettings:
        if self.least_mm > min(self.stitch_mm, self.longest_mm):
            raise UnfitError(
                "least_mm is longer than the stitches asked for",
                "Lower least_mm below stitch_mm and longest_mm.",
            )
        return self


class HoopSettings(_Table):
    """``[hoop]``: a field of one's own, or a hoop of the catalogue by name."""

    field_mm: (
        tuple[Annotated[float, Field(gt=0, le=5000)], Annotated[float, Field(gt=0, le=5000)]] | None
    ) = None
    shape: Literal["rectangle", "round", "oval"] = "rectangle"
    positions: tuple[Position, ...] = ()
    """Where one's own hoop can be hung: name, x_mm and y_mm of its field's middle, turn_deg."""
    hoop: str | None = None
    at_mm: tuple[PlaceMm, PlaceMm] | None = None
    """Where the middle of the first field must lie from the middle of the page: right, down; left
    out, it lies where fewest hoopings are needed."""

    @model_validator(mode="after")
    def _one(self) -> HoopSettings:
        if (self.field_mm is None) == (self.hoop is None):
            what = "two fields, field_mm and hoop" if self.hoop else "no field"
            raise UnfitError(
                f"the hoop has {what}", 'Give either field_mm = [width, height] or hoop = "name".'
            )
        own = {"shape", "positions"} & self.model_fields_set
        if self.hoop is not None and own:
            raise UnfitError(
                f"{' and '.join(sorted(own))} of the hoop '{self.hoop}' are the catalogue's",
                "Leave them out, or give field_mm instead of hoop.",
            )
        if self.field_mm is not None:
            self._own(self.field_mm)
        return self

    def _own(self, field_mm: tuple[float, float]) -> Hoop:
        positions = self.positions or (Position(name="only"),)
        return Hoop(name="own field", shape=self.shape, field_mm=field_mm, positions=positions)

    def chosen(self, equipment: Equipment) -> Hoop:
        """Return the hoop meant; a name that is not in the catalogue is a CatalogueError."""
        if self.hoop is not None:
            try:
                return equipment.hoop(self.hoop)
            except CatalogueError as wrong:
                raise wrong.within(item="[hoop], hoop") from wrong
        assert self.field_mm is not None  # noqa: S101 - held by the validator above
        return self._own(self.field_mm)
