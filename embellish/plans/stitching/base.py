"""A base design: embroidery that exists as a stitch file, sewn in one hooping with the marks.

Its stitches are kept as they are, in their own coordinates; it is the layout that is put to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from embellish.arrays import Floats
from embellish.findings import Finding
from embellish.formats.stitches import FORMATS, JUMP, STITCH, TRIM, StitchDesign, ThreadBlock
from embellish.units import MM_PER_STITCH_UNIT, ROUND_DECIMALS

BaseOrder = Literal["first", "last"]
OffsetMm = Annotated[float, Field(ge=-5000, le=5000)]


class BaseSettings(BaseModel):
    """``[base]``: a design that is sewn with the marks, at its own true size."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    file: Annotated[str, Field(min_length=1)]
    order: BaseOrder = "first"
    """``first``: before the marks. ``last``: after them, so that pieces set at the stops lie on the
    cloth while it is sewn."""
    offset_mm: tuple[OffsetMm, OffsetMm] = (0.0, 0.0)
    """Where the middle of its stitches lies from the middle of the page: right, down."""


@dataclass(frozen=True, eq=False)
class BaseDesign:
    """A base design in its place.

    Parameters
    ----------
    design
        What is sewn, about its own start (0, 0).
    order
        Before the marks, or after them.
    origin_mm
        Where its start lies, layout mm.
    """

    design: StitchDesign
    order: BaseOrder
    origin_mm: tuple[float, float]

    @classmethod
    def placed(cls, design: StitchDesign, order: BaseOrder, middle_mm: Floats) -> BaseDesign:
        """Return a design with the middle of its stitches there, layout mm, shape (2,)."""
        bounds = design.bounds_mm()
        assert bounds is not None  # noqa: S101 - a design that was read has stitches
        middle = np.array([bounds[0] + bounds[2], bounds[1] + bounds[3]]) / 2.0
        x, y = (np.round(middle_mm - middle, ROUND_DECIMALS) + 0.0).tolist()
        return cls(design, order, (x, y))

    @property
    def box(self) -> Floats:
        """Bounds of its needle points in layout mm: x0, y0, x1, y1."""
        bounds = np.array(self.design.bounds_mm(), dtype=np.float64)
        box: Floats = bounds + np.array([*self.origin_mm, *self.origin_mm])
        return box

    def lines(self) -> Iterator[tuple[str, tuple[Floats, ...]]]:
        """Yield the colour and the threads of each block, lines in layout mm, for pictures."""
        for block in self.design.blocks:
            yield block.hex, tuple(run + np.array(self.origin_mm) for run in runs_of(block))


def runs_of(block: ThreadBlock) -> Iterator[Floats]:
    """Yield a block's runs of thread on the cloth: jumps and trims part them."""
    for rows in np.split(np.arange(len(block.kind)), np.flatnonzero(block.kind != STITCH)):
        points = block.xy[rows[block.kind[rows] == STITCH]]
        if len(points) > 1:
            yield points


def written_base(base: BaseDesign, formats: tuple[str, ...]) -> tuple[BaseDesign, list[Finding]]:
    """Return the base with no stitch longer than every one of these formats holds."""
    name = min(formats, key=lambda each: (FORMATS[each].longest_units, each))
    longest = FORMATS[name].longest_units
    split, blocks = 0, []
    at = np.zeros((1, 2))
    for block in base.design.blocks:
        before = np.concatenate([at, block.xy])[: len(block.xy)]
        units = np.rint(np.abs(block.xy - before) / MM_PER_STITCH_UNIT).max(axis=1, initial=0)
        counts = np.where(block.kind == STITCH, np.ceil(units / longest), 1.0).astype(np.int64)
        counts = np.maximum(counts, 1)
        split += int((counts > 1).sum())
        row = np.repeat(np.arange(len(counts)), counts)
        step = np.concatenate([np.arange(1, count + 1) / count for count in counts.tolist()])
        xy = before[row] + (block.xy - before)[row] * step[:, None]
        # What is not split stays to the last bit.
        xy = np.where((counts == 1)[row][:, None], block.xy[row], np.round(xy, 1))
        blocks.append(ThreadBlock(block.name, block.hex, xy, block.kind[row]))
        at = block.xy[-1:] if len(block.xy) else at
    if not split:
        return base, []
    told = Finding(
        "base-split",
        "warning",
        f"{split} stitches of the base design are longer than {name.upper()} holds "
        f"({longest * MM_PER_STITCH_UNIT:.1f} mm): they are sewn in even steps, all others as they "
        "are.",
        mend="Write a format that holds them, such as the base design's own.",
    )
    whole = StitchDesign(base.design.name, tuple(blocks))
    return BaseDesign(whole, base.order, base.origin_mm), [told]


def sewn_blocks(base: BaseDesign) -> tuple[ThreadBlock, ...]:
    """Return the base's blocks as they stand in a file with marks before or after them."""
    blocks = list(base.design.blocks)
    if base.order == "first":
        last = blocks[-1]
        if last.kind[-1] != TRIM:
            blocks[-1] = _longer(last, (), [(*last.xy[-1].tolist(), TRIM)])
    elif blocks[0].kind[0] == STITCH:
        # It begins with a stitch from its own start: that is where the needle must come from.
        blocks[0] = _longer(blocks[0], [(0.0, 0.0, JUMP)], ())
    return tuple(blocks)


def _longer(block: ThreadBlock, before: object, after: object) -> ThreadBlock:
    rows = [np.array(given, dtype=np.float64).reshape(-1, 3) for given in (before, after)]
    xy = np.concatenate([rows[0][:, :2], block.xy, rows[1][:, :2]])
    kind = np.concatenate([rows[0][:, 2].astype(np.int64), block.kind, rows[1][:, 2].astype(int)])
    return ThreadBlock(block.name, block.hex, xy, kind)
