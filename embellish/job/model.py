"""The job: what the maker asks, as a frozen value. The TOML file is its only written form."""

from __future__ import annotations

import re
from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from embellish.artwork.lettering.settings import LetteringSettings
from embellish.artwork.pictures.settings import PictureSettings
from embellish.errors import UnfitError
from embellish.formats.fields import NoTruth
from embellish.formats.value_words import shown
from embellish.layout.edits import Deed
from embellish.layout.layout import Mark, SetBy, Side
from embellish.layout.ways.way import WaySettings
from embellish.plans.background import BackgroundSettings
from embellish.plans.cloth import ClothSettings
from embellish.plans.garment import GarmentSettings
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.price_settings import PriceSettings
from embellish.plans.stitching.base import BaseSettings
from embellish.plans.stitching.settings import HoopSettings, StitchSettings
from embellish.plans.templates.settings import TemplateSettings

JOB_VERSION = 1

PositiveMm = Annotated[float, Field(gt=0, le=100_000)]
Share = Annotated[float, Field(gt=0, le=1_000_000)]

SharePoint = tuple[Annotated[float, Field(ge=-10, le=10)], Annotated[float, Field(ge=-10, le=10)]]
AxisAt = (
    Annotated[float, Field(ge=-10, le=10)]
    | tuple[SharePoint, SharePoint]
    | Annotated[str, Field(min_length=1)]
)
"""An axis: ``page`` (upright through the page's centre), ``own`` (upright through each shape's own
middle), an upright line or a line through two points as shares of the page's width, or a selector
of one straight line of the drawing."""


def _lay_id(value: str) -> str:
    if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,63}", value):
        return value
    raise UnfitError(
        f"an id is one short word of letters, digits, - _ and ., not {shown(value)}",
        'Write a word such as id = "wing-edge"; name says it in full.',
    )


def _each_once(names: tuple[str, ...]) -> tuple[str, ...]:
    for index, name in enumerate(names):
        if name in names[:index]:
            raise UnfitError(f"'{name}' stands there twice", "Keep one of them.")
    return names


class Table(BaseModel):
    """Base of the job file's tables: frozen, unknown keys refused, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class ArtworkTable(Table):
    """``[artwork]``: the drawing, its size, and how it is turned."""

    file: Annotated[str, Field(min_length=1)] | None = None
    width_mm: PositiveMm | None = None
    scale: Annotated[float, Field(gt=0, le=10_000)] | None = None
    as_painted: Annotated[str, Field(min_length=1)] | None = None
    """Shapes taken as the regions that they paint: wide lines, and outlines round a filling."""
    picture: PictureSettings | None = None
    """How a PNG or JPEG is traced."""
    mirror: bool = False
    rotate_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> ArtworkTable:
        if self.width_mm is not None and self.scale is not None:
            raise UnfitError("width_mm and scale are both given", "Keep one of them.")
        return self


class LayTable(Table):
    """``[[lay]]``: one instruction. Keys of the way itself are read by the way's own settings."""

    id: Annotated[str, AfterValidator(_lay_id)]
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
    symmetric: bool | None = None
    """Whether it is laid alike on both sides of its axis; None: as the job says."""
    axis: AxisAt | None = None
    """The axis of a symmetric lay; None: the job's."""
    settings: WaySettings = WaySettings()

    @model_validator(mode="after")
    def _some_pieces(self) -> LayTable:
        if not self.pieces:
            raise UnfitError(
                "a lay needs at least one piece", 'Write pieces = ["…"], with codes of a catalogue.'
            )
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


DistanceMm = Annotated[float, Field(ge=0, le=1000)]


class SizeTable(Table):
    """``[[size]]``: one garment size, laid afresh; pieces and gaps keep their size.

    ``width_mm`` or ``percent`` of the job's own artwork, or a ``file`` of its own whose shapes have
    the same ids (with ``width_mm`` where that gives no size). Its own distances from seams and
    edges, where they are not those of the job: ``margin_mm`` of the keep-outs and ``edge_mm`` of
    the lays, one number for all of them, or one for each by its ``shapes`` or lay ``id``.
    """

    name: Annotated[str, Field(min_length=1, max_length=40)]
    width_mm: PositiveMm | None = None
    percent: Annotated[float, Field(gt=0, le=10_000)] | None = None
    file: Annotated[str, Field(min_length=1)] | None = None
    quantity: Annotated[int, Field(ge=0, le=100_000)] | None = None
    margin_mm: DistanceMm | dict[str, DistanceMm] | None = None
    edge_mm: DistanceMm | dict[str, DistanceMm] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> SizeTable:
        if self.percent is not None and (self.width_mm is not None or self.file is not None):
            raise UnfitError(
                "percent is of the job's own artwork, so neither width_mm nor file goes with it",
                "Keep one of them.",
            )
        if self.percent is None and self.width_mm is None and self.file is None:
            raise UnfitError("this size does not say how large", "Add width_mm, percent or file.")
        return self


class KeepOutTable(Table):
    """``[[keep_out]]``: shapes of the artwork that no piece may touch: seams, zips, darts."""

    shapes: Annotated[str, Field(min_length=1)]
    margin_mm: Annotated[float, Field(ge=0, le=1000)] = 0.0


class PartnerTable(Table):
    """``[partner]``: the job makes a pair, the drawing and its mirror image, such as sleeves.

    The quantity of the job counts pairs.
    """

    drawn: Literal["LEFT", "RIGHT"] = "LEFT"
    """Which of the two the drawing shows, as it is worn."""
    reads_right: str | tuple[str, ...] = ()
    """Selectors of lettering and shapes that stand unmirrored on both: of a list each entry, of a
    text each part between commas, stands together, at the mirrored place of its middle."""

    @property
    def groups(self) -> tuple[str, ...]:
        """The selectors, one a group."""
        if not isinstance(self.reads_right, str):
            return self.reads_right
        return tuple(part.strip() for part in self.reads_right.split(",") if part.strip())


_OTHER_WORDS: Final = {
    "remove": "delete",
    "erase": "delete",
    "drop": "delete",
    "rotate": "turn",
    "replace": "swap",
    "change": "swap",
    "shift": "move",
    "nudge": "move",
    "lock": "pin",
    "fix": "pin",
    "keep": "pin",
    "insert": "add",
    "new": "add",
}
"""What else the deeds of a hand are called."""


def _as_we_say(value: Any) -> Any:
    if isinstance(value, str) and value.lower() in _OTHER_WORDS:
        raise UnfitError(
            f"there is no '{value}'", f"Write do = '{_OTHER_WORDS[value.lower()]}' for that."
        )
    return value


class EditTable(Table):
    """``[[edit]]``: one change made by hand, at a place that outlives another laying.

    The place is ``shape``, ``row`` and ``u`` (the fraction along that line of the shape), or
    ``at``: a point of the page, both numbers as shares of the page's width.
    """

    lay: str
    do: Annotated[Deed, BeforeValidator(_as_we_say)]
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
            what = "no place" if self.u is None else "two places, u and at"
            raise UnfitError(
                f"this edit has {what}",
                'Give shape = "…" and u from 0 to 1 along it, or at = [x, y].',
            )
        if self.u is not None and self.shape is None:
            raise UnfitError("u is a place along a line, and no shape is named", "Add its shape.")
        if (self.piece is None) == (self.do in ("swap", "add")):
            if self.piece is None:
                raise UnfitError(f"'{self.do}' needs a piece", 'Add piece = "…", a code.')
            raise UnfitError(
                f"'{self.do}' takes no piece", "Leave piece out, or write do = 'swap' or 'add'."
            )
        return self

    @property
    def words(self) -> str:
        """A short name for messages."""
        place = f"u = {self.u:g}" if self.u is not None else f"at = {list(self.at or ())}"
        on = f" of #{self.shape}" if self.shape else ""
        return f"{self.do} {place}{on}"


class Job(Table):
    """A whole job."""

    version: Annotated[Literal[1], NoTruth]
    title: Annotated[str, Field(min_length=1, max_length=120)]
    revision: Annotated[str, Field(max_length=20)] = "A"
    quantity: Annotated[int, Field(ge=1, le=100_000)] = 1
    catalogues: Annotated[tuple[str, ...], Field(min_length=1), AfterValidator(_each_once)] = (
        "shipped:stones",
    )
    seed: Annotated[int, Field(ge=0, le=2**63 - 1)] = 1
    artwork: ArtworkTable = ArtworkTable()
    lettering: tuple[LetteringSettings, ...] = ()
    symmetric: bool = False
    """Whether lays are laid alike on both sides of their axis, where they do not say themselves."""
    axis: AxisAt = "page"
    """The axis of symmetric lays that name none of their own."""
    lay: Annotated[tuple[LayTable, ...], Field(min_length=1)]
    edit: tuple[EditTable, ...] = ()
    keep_out: tuple[KeepOutTable, ...] = ()
    size: tuple[SizeTable, ...] = ()
    partner: PartnerTable | None = None
    garment: GarmentSettings = GarmentSettings()
    cloth: ClothSettings = ClothSettings()
    marks: StitchSettings = StitchSettings()
    hoop: HoopSettings | None = None
    base: BaseSettings | None = None
    background: BackgroundSettings | None = None
    template: TemplateSettings = TemplateSettings()
    paper: PaperSettings = PaperSettings()
    materials: MaterialSettings = MaterialSettings()
    price: PriceSettings = PriceSettings()

    @property
    def reads_right(self) -> tuple[str, ...]:
        """Selectors of what reads right on both of a pair, one a group."""
        return () if self.partner is None else self.partner.groups

    @model_validator(mode="after")
    def _something_to_lay_on(self) -> Job:
        if self.artwork.file is None:
            if not self.lettering:
                raise UnfitError(
                    "there is no artwork", 'Write file = "…" under [artwork], or add [[lettering]].'
                )
            if self.artwork.width_mm is not None or self.artwork.scale is not None:
                raise UnfitError(
                    "the size under [artwork] is of a drawing, and there is none",
                    "Words have their size from cap_height_mm: take it out.",
                )
        ids = [each.id for each in self.lettering]
        for name in ids:
            if ids.count(name) > 1:
                raise UnfitError(
                    f"two [[lettering]] have the id '{name}'", "Give each an id of its own."
                )
        return self

    @model_validator(mode="after")
    def _base_of_one_side(self) -> Job:
        if self.base is not None and self.partner is not None:
            raise UnfitError(
                "a base design is sewn as its file says, on one side alone, so no partner goes"
                " with it",
                "Give each side a job of its own, with its own base design.",
            )
        return self

    @model_validator(mode="after")
    def _base_from_the_front(self) -> Job:
        if self.base is not None and self.marks.mirrored:
            raise UnfitError(
                "a base design is sewn from the front, and marks.mirrored asks for the back",
                'Leave mirrored out, and give the lays that need it worked_from = "back".',
            )
        return self
