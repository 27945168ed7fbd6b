"""The job: what the maker asks, as a frozen value. The TOML file is its only written form."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from embellish.layout.edits import Deed
from embellish.layout.layout import Mark, SetBy, Side
from embellish.layout.ways.way import WaySettings
from embellish.plans.cloth import ClothSettings
from embellish.plans.materials import MaterialSettings
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.price_settings import PriceSettings
from embellish.plans.stitch_settings import HoopSettings, StitchSettings
from embellish.plans.template_settings import TemplateSettings

JOB_VERSION = 1

PositiveMm = Annotated[float, Field(gt=0, le=100_000)]
Share = Annotated[float, Field(gt=0, le=1_000_000)]


class Table(BaseModel):
    """Base of the job file's tables: frozen, unknown keys refused, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class ArtworkTable(Table):
    """``[artwork]``: the drawing, its size, and how it is turned."""

    file: Annotated[str, Field(min_length=1)]
    width_mm: PositiveMm | None = None
    scale: Annotated[float, Field(gt=0, le=10_000)] | None = None
    mirror: bool = False
    rotate_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> ArtworkTable:
        if self.width_mm is not None and self.scale is not None:
            message = "width_mm and scale are both given; keep one"
            raise ValueError(message)
        return self


class LayTable(Table):
    """``[[lay]]``: one instruction. Keys of the way itself are read by the way's own settings."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,63}$")]
    name: Annotated[str, Field(max_length=120)] = ""
    shapes: Annotated[str, Field(min_length=1)]
    way: str
    pieces: tuple[str, ...] | dict[str, Share]
    gap_mm: Annotated[float, Field(ge=0, le=1000)]
    edge_mm: Annotated[float, Field(ge=0, le=1000)] = 0.0
    set_by: SetBy | None = None
    mark: Mark | None = None
    lapped: bool = False
    worked_from: Side = "front"
    """``back``: the maker sees the wrong side (hook beading), so marks and chart are mirrored."""
    settings: WaySettings = WaySettings()

    @model_validator(mode="after")
    def _some_pieces(self) -> LayTable:
        if not self.pieces:
            message = "a lay needs at least one piece"
            raise ValueError(message)
        return self

    @property
    def codes(self) -> tuple[str, ...]:
        """The pieces or units named, in the order given."""
        return tuple(self.pieces)

    @property
    def shares(self) -> tuple[float, ...] | None:
        """Shares that add up to 1 where a mix was asked for, else None."""
        if not isinstance(self.pieces, dict):
            return None
        total = sum(self.pieces.values())
        return tuple(share / total for share in self.pieces.values())


class SizeTable(Table):
    """``[[size]]``: one garment size, laid afresh; pieces and gaps keep their size.

    ``width_mm`` or ``percent`` of the job's own artwork, or a ``file`` of its own whose shapes have
    the same ids (with ``width_mm`` where that gives no size).
    """

    name: Annotated[str, Field(min_length=1, max_length=40)]
    width_mm: PositiveMm | None = None
    percent: Annotated[float, Field(gt=0, le=10_000)] | None = None
    file: Annotated[str, Field(min_length=1)] | None = None
    quantity: Annotated[int, Field(ge=0, le=100_000)] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> SizeTable:
        if self.percent is not None and (self.width_mm is not None or self.file is not None):
            message = "percent is of the job's own artwork: give it alone"
            raise ValueError(message)
        if self.percent is None and self.width_mm is None and self.file is None:
            message = "a size has width_mm, percent or a file"
            raise ValueError(message)
        return self


class GarmentTable(Table):
    """``[garment]``: what charts and papers show of the garment itself."""

    marks: Annotated[str, Field(min_length=1)] | None = None
    """Shapes of the artwork that are seams, darts, centre front: drawn, never a hole or mark."""


class KeepOutTable(Table):
    """``[[keep_out]]``: shapes of the artwork that no piece may touch: seams, zips, darts."""

    shapes: Annotated[str, Field(min_length=1)]
    margin_mm: Annotated[float, Field(ge=0, le=1000)] = 0.0


class EditTable(Table):
    """``[[edit]]``: one change made by hand, at a place that outlives another laying.

    The place is ``shape``, ``row`` and ``u`` (the fraction along that line of the shape), or
    ``at``: a point of the page, both numbers as shares of the page's width.
    """

    lay: str
    do: Deed
    shape: str | None = None
    row: Annotated[int, Field(ge=0)] = 0
    u: Annotated[float, Field(ge=0, le=1)] | None = None
    at: tuple[float, float] | None = None
    along_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    across_mm: Annotated[float, Field(ge=-1000, le=1000)] = 0.0
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    piece: str | None = None

    @model_validator(mode="after")
    def _whole(self) -> EditTable:
        if (self.u is None) == (self.at is None):
            message = "an edit has either u (with shape) or at"
            raise ValueError(message)
        if self.u is not None and self.shape is None:
            message = "u is a place along a line: name the shape too"
            raise ValueError(message)
        if (self.piece is None) == (self.do in ("swap", "add")):
            message = "piece goes with 'swap' and 'add', and only with them"
            raise ValueError(message)
        return self

    @property
    def words(self) -> str:
        """A short name for messages."""
        place = f"u = {self.u:g}" if self.u is not None else f"at = {list(self.at or ())}"
        on = f" of #{self.shape}" if self.shape else ""
        return f"{self.do} {place}{on}"


class Job(Table):
    """A whole job."""

    version: Literal[1]
    title: Annotated[str, Field(min_length=1, max_length=120)]
    revision: Annotated[str, Field(max_length=20)] = "A"
    quantity: Annotated[int, Field(ge=1, le=100_000)] = 1
    catalogues: Annotated[tuple[str, ...], Field(min_length=1)] = ("shipped:stones",)
    seed: Annotated[int, Field(ge=0, le=2**63 - 1)] = 1
    artwork: ArtworkTable
    lay: Annotated[tuple[LayTable, ...], Field(min_length=1)]
    edit: tuple[EditTable, ...] = ()
    keep_out: tuple[KeepOutTable, ...] = ()
    size: tuple[SizeTable, ...] = ()
    garment: GarmentTable = GarmentTable()
    cloth: ClothSettings = ClothSettings()
    marks: StitchSettings = StitchSettings()
    hoop: HoopSettings | None = None
    template: TemplateSettings = TemplateSettings()
    paper: PaperSettings = PaperSettings()
    materials: MaterialSettings = MaterialSettings()
    price: PriceSettings = PriceSettings()
