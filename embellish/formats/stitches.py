"""Machine stitch files: one neutral value, written and read through pyembroidery.

The library is wrapped here and nowhere else, with its traps handled: coordinates reach it as whole
tenths of a millimetre, every block has its own colour (equal neighbours are merged by some
formats, missing colours are drawn at random), dates are fixed, trims are explicit, and what it
reads is looked at before it is believed, since it reads any bytes as a design.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pyembroidery as pe

from embellish.arrays import Floats, Ints, frozen, frozen_ints
from embellish.errors import ArtworkError, OutputError
from embellish.findings import Finding
from embellish.formats.stitch_headers import dst_header, jef_header, refuse_junk, tbf_header
from embellish.units import MM_PER_STITCH_UNIT

STITCH: Final = 0
JUMP: Final = 1
TRIM: Final = 2

LABEL_LENGTH: Final = 16
WANTED_STITCH_UNITS: Final = 70
"""Longer stitches snag; 7 mm is where digitisers go over to jumps (trade magazines)."""
_SEQUINS: Final = "sequins"
_REACH_MM: Final = 2000.0
"""No hoop comes near this: coordinates beyond it mean that the bytes are not a design."""


@dataclass(frozen=True, eq=False)
class ThreadBlock:
    """What is sewn between two colour changes.

    Parameters
    ----------
    name
        What the maker knows it by.
    hex
        Colour, '#rrggbb'.
    xy : array of shape (n, 2)
        Where each record ends, mm, y down.
    kind : array of shape (n,)
        STITCH, JUMP or TRIM; a trim stays where it is.
    """

    name: str
    hex: str
    xy: Floats
    kind: Ints

    def __post_init__(self) -> None:
        object.__setattr__(self, "xy", frozen(np.asarray(self.xy).reshape(-1, 2)))
        object.__setattr__(self, "kind", frozen_ints(self.kind))

    @property
    def stitches(self) -> Floats:
        """Where the needle goes in, shape (m, 2)."""
        points: Floats = self.xy[self.kind == STITCH]
        return points


@dataclass(frozen=True, eq=False)
class StitchDesign:
    """A design: a name and its blocks, in sewing order, about the hoop's start (0, 0)."""

    name: str
    blocks: tuple[ThreadBlock, ...]

    @property
    def stitches(self) -> Floats:
        """Every needle point in sewing order, shape (m, 2)."""
        return np.concatenate([np.zeros((0, 2)), *(block.stitches for block in self.blocks)])

    def bounds_mm(self) -> tuple[float, float, float, float] | None:
        """Bounds (x0, y0, x1, y1) of the needle points alone, or None where there are none."""
        points = self.stitches
        if not len(points):
            return None
        (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return x0, y0, x1, y1


@dataclass(frozen=True, slots=True)
class StitchFormat:
    """What one format can hold."""

    extension: str
    longest_units: int
    """Longest step of one stitch record along an axis, in tenths of a millimetre."""
    loses: tuple[str, ...]
    """What it cannot say, a sentence each."""
    settings: tuple[tuple[str, Any], ...] = ()


FORMATS: Final[dict[str, StitchFormat]] = {
    fmt.extension: fmt
    for fmt in (
        StitchFormat("dst", 121, ("DST holds no thread colours: follow stops.csv.",)),
        StitchFormat(
            "exp",
            127,
            ("EXP holds no thread colours and no name: follow stops.csv.",),
        ),
        StitchFormat("pes", 2047, (), (("version", 6),)),
        StitchFormat(
            "pec", 2047, ("PEC shows thread colours from a palette of 64: follow stops.csv.",)
        ),
        StitchFormat(
            "jef",
            127,
            ("JEF shows thread colours from a fixed palette: follow stops.csv.",),
            (("trims", True), ("date", "20000101000000")),
        ),
        StitchFormat(
            "vp3",
            127,
            ("VP3 may be 0.1 mm off and its trims read differently: watch the first garment.",),
        ),
        StitchFormat("xxx", 124, ()),
        StitchFormat("u01", 127, ("U01 holds needle numbers, no colours: follow stops.csv.",)),
        StitchFormat("tbf", 127, ()),
    )
}
"""The machine formats written. Limits and losses: pyembroidery 1.5.1, source read and measured."""

READABLE: Final = ("dst", "exp", "jef", "pec", "pes", "vp3")
"""Formats that can be told from junk, and so can be read."""


def label_of(name: str) -> str:
    """Return a label every machine can hold: at most 16 printable ASCII characters."""
    plain = re.sub(r"[^A-Za-z0-9 _.-]+", "_", name.encode("ascii", "replace").decode())
    return plain.replace("?", "_").strip()[:LABEL_LENGTH].strip() or "marks"


def encode(design: StitchDesign, extension: str) -> tuple[bytes, tuple[Finding, ...]]:
    """Return the design in a machine format, and what that format could not hold.

    Stitches within the format's limit are written one record each, so that counting a design's
    stitches counts the file's; longer ones are sewn in even steps, with a finding.

    Raises
    ------
    OutputError
        Where the format is not known or the design has nothing to sew.
    ValueError
        Where a coordinate is not a number.
    """
    extension = extension.lower().lstrip(".")
    fmt = FORMATS.get(extension)
    if fmt is None:
        raise OutputError(
            f"'{extension}' is not a machine format written here",
            item="formats",
            mend=f"Choose from {', '.join(sorted(FORMATS))}.",
        )
    units, findings = _checked(design, fmt)
    pattern = pe.EmbPattern()
    label = label_of(design.name)
    pattern.metadata("name", label)
    colours = _apart([block.hex for block in design.blocks])
    for index, (block, grid) in enumerate(zip(design.blocks, units, strict=True)):
        pattern.add_thread({"hex": colours[index], "description": f"{index + 1} {block.name}"})
        if index:
            pattern.add_command(pe.COLOR_CHANGE)
        _add_records(pattern, block.kind, grid)
    pattern.end()
    steps = [np.abs(np.diff(grid, axis=0)).max(initial=0) for grid in units]
    longest = max(WANTED_STITCH_UNITS, *(int(step) for step in steps))
    settings: dict[str, Any] = {
        "max_stitch": min(longest, fmt.longest_units),
        "long_stitch_contingency": pe.CONTINGENCY_LONG_STITCH_SEW_TO,
        **dict(fmt.settings),
    }
    buffer = io.BytesIO()
    getattr(pe, f"write_{extension}")(pattern, buffer, settings)
    data = buffer.getvalue()
    points = np.concatenate(
        [grid[block.kind == STITCH] for block, grid in zip(design.blocks, units, strict=True)]
    )
    # The library's extents are wrong off the origin and count jumps; ours count stitches.
    if extension == "dst":
        data = dst_header(data, label, points, len(design.blocks)) + data[512:]
    elif extension == "tbf":
        data = tbf_header(data, points)
    elif extension == "jef":
        data = jef_header(data, points)
    return data, findings


def _checked(design: StitchDesign, fmt: StitchFormat) -> tuple[list[Ints], tuple[Finding, ...]]:
    """Return each block's records in whole tenths of a mm, and what the format loses."""
    units = []
    split = 0
    for block in design.blocks:
        if not np.isfinite(block.xy).all():
            raise ValueError("a stitch has no finite place")
        if np.abs(block.xy).max(initial=0.0) > _REACH_MM:
            raise ValueError("a stitch lies farther out than any hoop reaches")
        grid = np.rint(block.xy / MM_PER_STITCH_UNIT).astype(np.int64)
        sewn = block.kind[1:] == STITCH
        steps = np.abs(np.diff(grid, axis=0)).max(axis=1, initial=0)
        split += int((sewn & (steps > fmt.longest_units)).sum())
        units.append(grid)
    if not any((block.kind == STITCH).any() for block in design.blocks):
        raise OutputError("there is nothing to sew", item=design.name)
    name = fmt.extension
    findings = [Finding(f"{name}-loses", "note", words) for words in fmt.loses]
    if split:
        findings.append(
            Finding(
                "stitch-split",
                "note",
                f"{'One stitch is' if split == 1 else f'{split} stitches are'} longer than "
                f"{name.upper()} holds ({fmt.longest_units * MM_PER_STITCH_UNIT:.1f} mm) and sewn "
                "in even steps.",
            )
        )
    if name in ("pes", "pec") and len(design.blocks) > 255:
        raise OutputError(
            f"{len(design.blocks)} colour blocks are more than {name.upper()} holds (255)",
            item=design.name,
            mend="Mark all codes in one block, or write DST.",
        )
    return units, tuple(findings)


def _apart(colours: list[str]) -> list[str]:
    """Return the colours with each block's its own, so that no format merges neighbours."""
    taken: set[int] = set()
    apart = []
    for colour in colours:
        value = int(colour.lstrip("#"), 16)
        while value in taken:
            value = (value + 1) % 0x1000000
        taken.add(value)
        apart.append(f"#{value:06x}")
    return apart


def _add_records(pattern: Any, kind: Ints, grid: Ints) -> None:
    commands = {STITCH: pe.STITCH, JUMP: pe.JUMP, TRIM: pe.TRIM}
    for what, (x, y) in zip(kind.tolist(), grid.tolist(), strict=True):
        if what == TRIM:
            pattern.trim()
        else:
            pattern.add_stitch_absolute(commands[what], x, y)


def decode(data: bytes, extension: str, *, file: str | None = None) -> StitchDesign:
    """Return the design in a machine file.

    Raises
    ------
    ArtworkError
        Where the bytes are not a whole design of that format.
    """
    extension = extension.lower().lstrip(".")
    if extension not in READABLE:
        raise ArtworkError(
            f"'{extension}' stitch files cannot be read",
            file=file,
            mend=f"Give the design as one of {', '.join(READABLE)}.",
        )
    refuse_junk(data, extension, file)
    settings = {"trims": True} if extension == "jef" else None
    try:
        pattern = getattr(pe, f"read_{extension}")(io.BytesIO(data), settings)
        blocks = _blocks_of(pattern)
    except ValueError as wrong:
        if wrong.args == (_SEQUINS,):
            raise ArtworkError(
                "this design drops sequins by machine, which is not kept here",
                file=file,
                mend="Export it without them: lay sequins as pieces of the job.",
            ) from wrong
        raise _not_a_design(extension, file) from wrong
    except (IndexError, KeyError, TypeError, OverflowError, AttributeError) as wrong:
        raise _not_a_design(extension, file) from wrong
    design = StitchDesign(str(pattern.get_metadata("name", "") or "").strip(), blocks)
    points = design.stitches
    if len(points) < 2 or np.abs(points).max() > _REACH_MM or not points.any():
        raise _not_a_design(extension, file)
    return design


def noticed_in(design: StitchDesign, extension: str, file: str) -> tuple[Finding, ...]:
    """Return what is told of a design that was read."""
    x0, y0, x1, y1 = design.bounds_mm() or (0.0, 0.0, 0.0, 0.0)
    words = (
        f"{file} holds {len(design.stitches)} stitches in {len(design.blocks)} "
        f"{'colour' if len(design.blocks) == 1 else 'colours'}, {x1 - x0:.1f} x {y1 - y0:.1f} mm"
    )
    if extension.lower() != "exp":
        return (Finding("base-read", "note", f"{words}."),)
    # A record is a record: bytes cut off between two of them leave a design like any other.
    return (
        Finding(
            "base-end-unknown",
            "warning",
            f"{words}; EXP has no end mark, so nothing shows whether this file is whole.",
            mend="Compare these numbers with the program it comes from, or export it as DST.",
        ),
    )


def _not_a_design(extension: str, file: str | None) -> ArtworkError:
    return ArtworkError(
        f"this is not a {extension.upper()} stitch design",
        file=file,
        mend="Export it again from the program it comes from.",
    )


def _blocks_of(pattern: Any) -> tuple[ThreadBlock, ...]:
    """Return the library's records as blocks; stops and needle changes part them too."""
    rows = pattern.stitches
    xy = np.array([row[:2] for row in rows], dtype=np.float64).reshape(-1, 2) * MM_PER_STITCH_UNIT
    command = np.array([row[2] & pe.COMMAND_MASK for row in rows], dtype=np.int64)
    if np.isin(command, (pe.SEQUIN_MODE, pe.SEQUIN_EJECT)).any():
        raise ValueError(_SEQUINS)
    changes = np.isin(command, (pe.COLOR_CHANGE, pe.NEEDLE_SET))
    parts = changes | (command == pe.STOP)
    colour_of = np.cumsum(changes)
    known = {pe.STITCH: STITCH, pe.JUMP: JUMP, pe.TRIM: TRIM}
    kind = np.full(len(command), -1, dtype=np.int64)
    for theirs, ours in known.items():
        kind[command == theirs] = ours
    blocks = []
    for rows_of in np.split(np.arange(len(rows)), np.flatnonzero(parts)):
        keep = rows_of[kind[rows_of] >= 0]
        if not (kind[keep] == STITCH).any():
            continue
        # A stop alone goes on with the same thread.
        number = int(colour_of[keep[0]])
        threads = pattern.threadlist
        thread = threads[number] if number < len(threads) else None
        colour = f"#{(thread.color or 0) & 0xFFFFFF:06x}" if thread else "#000000"
        name = str(getattr(thread, "description", None) or f"colour {number + 1}")
        blocks.append(ThreadBlock(name, colour, xy[keep], kind[keep]))
    return tuple(blocks)
