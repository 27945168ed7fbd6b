"""What a stitch plan consists of: hoopings, each a file with its marks, stops and cost."""

from __future__ import annotations

from dataclasses import dataclass

from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.formats.stitches import StitchDesign, ThreadBlock
from embellish.geometry.transforms import Affine
from embellish.plans.stitching.base import BaseDesign
from embellish.plans.stitching.marks import MarkKind
from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.sewing import Effort


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark in a file.

    Parameters
    ----------
    kind
        What it is.
    seats
        Rows of the layout it shows; none for an alignment cross.
    block
        Number of its colour block in the file.
    centre
        In stitch mm, y down: of the piece, the thread hole, or the mark's bounds.
    first, last
        Numbers of its first and last stitch in the file, from 0.
    """

    kind: MarkKind
    seats: tuple[int, ...]
    block: int
    centre: tuple[float, float]
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Stop:
    """What to do when a block is sewn."""

    block: int
    hex: str
    code: str
    count: int
    words: str
    base: bool = False
    """Whether it is the base design's."""


@dataclass(frozen=True, eq=False)
class Hooping:
    """One file: what one position of one placing of the cloth sews.

    Parameters
    ----------
    number
        The placing of the cloth, from 0; several positions may share one.
    position
        Name of the hoop's position.
    to_stitch
        From layout mm to stitch mm; rigid.
    base_records, base_records_after
        Stitches of a base design before and after the marks.
    field_middle_mm
        Where the middle of the field lies, stitch mm.
    design
        The stitches.
    marks, stops
        What is sewn and what to do, in order.
    effort, unjoined
        As planned, and mark by mark in table order; a base design counts in all of these.
    singly
        With a mark of its own for each piece, row by row, cut after each.
    """

    number: int
    position: str
    to_stitch: Affine
    base_records: int
    base_records_after: int
    field_middle_mm: tuple[float, float]
    design: StitchDesign
    marks: tuple[Mark, ...]
    stops: tuple[Stop, ...]
    effort: Effort
    unjoined: Effort
    singly: Effort
    base_effort: Effort

    @property
    def own_blocks(self) -> tuple[ThreadBlock, ...]:
        """Blocks that sew marks, without those of a base design."""
        blocks = list(self.design.blocks)
        for records, end in ((self.base_records, 0), (self.base_records_after, -1)):
            left = records
            while left > 0 and blocks:
                left -= len(blocks.pop(end).stitches)
        return tuple(blocks)

    @property
    def mirrored(self) -> bool:
        """Whether it shows the cloth from its wrong side."""
        return self.to_stitch.mirrors


@dataclass(frozen=True, eq=False)
class StitchPlan:
    """All that is sewn for a layout."""

    settings: StitchSettings
    hoop: Hoop | None
    hoopings: tuple[Hooping, ...]
    findings: tuple[Finding, ...]
    base: BaseDesign | None = None
    """What is sewn with the marks in one of the hoopings."""

    @property
    def effort(self) -> Effort:
        """What sewing all of it costs."""
        return sum((hooping.effort for hooping in self.hoopings), Effort())

    @property
    def sets_at_stops(self) -> bool:
        """Whether pieces are set at the stops, on the machine, and so lie under later stitching."""
        if self.settings.set_pieces == "auto":
            return self.base is not None and self.base.order == "last"
        return self.settings.set_pieces == "stops"
