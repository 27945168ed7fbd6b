"""The stitch plan: marks of a layout, in hoopings, blocks and order, as designs ready to write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from embellish.catalogue.equipment import Hoop
from embellish.findings import Finding
from embellish.formats.stitches import StitchDesign, ThreadBlock
from embellish.geometry.arrays import Floats, Ints
from embellish.geometry.segments import directions
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window, bounds_of, middle_of, out_mm, windows_for
from embellish.plans.stitch_marks import MarkKind, RawMark, code_of, paths_of, raw_marks
from embellish.plans.stitch_order import Cover, Covers, ends_of, sewing_order, table_order
from embellish.plans.stitch_settings import HoopSettings, StitchSettings
from embellish.plans.stitch_sewing import Effort, Sewer, divided, on_grid
from embellish.plans.stitch_shapes import MarkPath
from embellish.units import EPS_MM, MM_PER_STITCH_UNIT

__all__ = [
    "HoopSettings",
    "Hooping",
    "Mark",
    "StitchPlan",
    "StitchSettings",
    "Stop",
    "plan_stitches",
]

CROSSES = "alignment crosses"
_SHOWN = 12
"""Pieces named in one sentence."""


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
    base_records
        Stitches of a base design before the marks.
    design
        The stitches.
    marks, stops
        What is sewn and what to do, in order.
    effort, unjoined
        As planned, and mark by mark in table order.
    """

    number: int
    position: str
    to_stitch: Affine
    base_records: int
    design: StitchDesign
    marks: tuple[Mark, ...]
    stops: tuple[Stop, ...]
    effort: Effort
    unjoined: Effort

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


def plan_stitches(
    layout: Layout,
    settings: StitchSettings,
    hoop: Hoop | None = None,
    *,
    crosses_mm: Floats | None = None,
    outlines: Mapping[str, Sequence[Floats]] | None = None,
    name: str = "marks",
) -> StitchPlan:
    """Return what is sewn.

    Parameters
    ----------
    layout
        The seats; each lay says how it is marked.
    settings
        ``[marks]``.
    hoop
        What it is sewn in; None checks no field.
    crosses_mm : array of shape (m, 2)
        Where the templates' registration holes are, layout mm.
    outlines
        For lays marked ``outline``, by id: lines in layout mm; else lines around their pieces.
    name
        Label of the designs.
    """
    paths = paths_of(layout, settings)
    marks, findings = raw_marks(layout, settings, paths, outlines or {})
    crosses = _crosses(crosses_mm, marks, settings)
    if not marks and not crosses:
        return StitchPlan(settings, hoop, (), tuple(findings))
    marks = crosses + marks
    mirror = Affine.mirror_x() if settings.mirrored else IDENTITY
    boxes = bounds_of(mirror(mark.path) for mark in marks)
    lays = np.array([layout.lay[m.seats[0]] if m.seats else -1 for m in marks], dtype=np.int64)
    every = np.arange(len(marks))
    windows = [Window(every, 0, "", middle_of(boxes), 0)]
    if hoop is not None:
        windows = windows_for(hoop, boxes, lays)
        findings += _field_findings(layout, marks, hoop, boxes, windows)
    sewn = _Marks(layout, settings, paths, marks)
    hoopings = []
    for index, window in enumerate(windows):
        label = name if len(windows) == 1 else f"{name}-{index + 1}"
        hoopings.append(sewn.hooping(window, window.to_stitch(mirror), label))
    findings += _stitch_findings(hoopings, settings)
    return StitchPlan(settings, hoop, tuple(hoopings), tuple(findings))


def _crosses(
    crosses_mm: Floats | None, marks: Sequence[RawMark], settings: StitchSettings
) -> list[RawMark]:
    if crosses_mm is None or settings.crosses is False:
        return []
    if settings.crosses == "auto" and not marks:
        return []
    arm = settings.cross_mm / 2.0
    shape = np.array([[-arm, 0.0], [arm, 0.0], [0.0, 0.0], [0.0, -arm], [0.0, arm]])
    return [
        RawMark("cross", (), CROSSES, shape + at, np.asarray(at, dtype=np.float64))
        for at in np.asarray(crosses_mm, dtype=np.float64).reshape(-1, 2)
    ]


class _Marks:
    """The marks of a layout, ready to be sewn window by window."""

    def __init__(
        self,
        layout: Layout,
        settings: StitchSettings,
        paths: Mapping[tuple[int, int], MarkPath],
        marks: Sequence[RawMark],
    ) -> None:
        self.layout = layout
        self.settings = settings
        self.marks = marks
        self.covers = _covers(layout, paths, marks)
        self.colours: dict[str, str] = {}
        for mark in marks:
            self.colours.setdefault(self._block_of(mark), "")
        for index, code in enumerate(self.colours):
            self.colours[code] = _thread(settings, index)

    def _block_of(self, mark: RawMark) -> str:
        if mark.kind == "cross" or self.settings.blocks == "code":
            return mark.code
        return "all codes"

    def hooping(self, window: Window, to_stitch: Affine, label: str) -> Hooping:
        """Return one window's file."""
        rows = window.rows.tolist()
        grids: dict[int, Ints] = {}
        for row in rows:
            mark = self.marks[row]
            centre = None if mark.centre is None else to_stitch(mark.centre)
            grid = on_grid(to_stitch(mark.path), centre)
            grids[row] = divided(grid, round(self.settings.longest_mm / MM_PER_STITCH_UNIT))
        blocks: dict[str, list[int]] = {}
        for row in rows:
            blocks.setdefault(self._block_of(self.marks[row]), []).append(row)
        sewer, plain = Sewer(self.settings), Sewer(self.settings)
        threads: list[ThreadBlock] = []
        made: list[Mark] = []
        stops: list[Stop] = []
        # Where the machine stands, in layout mm: the needle's place mapped back.
        back = to_stitch.inverse()
        for number, (code, of) in enumerate(blocks.items()):
            colour = self.colours[code]
            at = back(np.array(sewer.at) * MM_PER_STITCH_UNIT)
            ends = ends_of([self.marks[row].path for row in of])
            order = sewing_order(ends, self.covers.taken(np.array(of)), at, self.settings)
            last = number == len(blocks) - 1
            spans = _sewn(sewer, [grids[row] for row in of], order, last=last)
            _sewn(plain, [grids[row] for row in of], table_order(len(of)), last=last)
            for index, span in sorted(spans.items()):
                made.append(self._mark(of[index], number, grids[of[index]], to_stitch, span))
            threads.append(sewer.block(code, colour))
            plain.block(code, colour)
            stops.append(self._stop(number, code, of))
        made.sort(key=lambda mark: mark.first)
        stopped = Effort(stops=len(blocks) - 1)
        return Hooping(
            window.hooping,
            window.position,
            to_stitch,
            0,
            StitchDesign(label, tuple(threads)),
            tuple(made),
            tuple(stops),
            sewer.effort + stopped,
            plain.effort + stopped,
        )

    def _mark(
        self, row: int, block: int, grid: Ints, to_stitch: Affine, span: tuple[int, int]
    ) -> Mark:
        mark = self.marks[row]
        if mark.centre is None:
            centre = (grid.min(axis=0) + grid.max(axis=0)) / 2.0 * MM_PER_STITCH_UNIT
        else:
            centre = to_stitch(mark.centre)
        x, y = (round(float(value), 6) + 0.0 for value in centre)
        return Mark(mark.kind, mark.seats, block, (x, y), *span)

    def _stop(self, number: int, code: str, rows: Sequence[int]) -> Stop:
        colour = self.colours[code]
        if code == CROSSES:
            words = f"{len(rows)} alignment crosses: lay the template's holes over them"
            return Stop(number, colour, code, len(rows), words)
        seats = sorted({seat for row in rows for seat in self.marks[row].seats})
        layout = self.layout
        counts: dict[tuple[str, int], int] = {}
        for seat in seats:
            key = (layout.lays[int(layout.lay[seat])].set_by, int(layout.footprint[seat]))
            counts[key] = counts.get(key, 0) + 1
        verbs = {"sewn": "sew on", "hand": "set", "template": "press", "face-down": "press"}
        words = ", ".join(
            f"{verbs[set_by]} {count} {_called(layout, footprint)}"
            for (set_by, footprint), count in counts.items()
        )
        kinds = {self.marks[row].kind for row in rows}
        if kinds & {"line", "outline", "ends"}:
            words += " along the marks" if kinds != {"outline"} else " inside the outline"
        return Stop(number, colour, code, len(seats), words)


def _called(layout: Layout, footprint: int) -> str:
    """Return what a maker calls a piece: size and colour, or its code."""
    if footprint < len(layout.pieces):
        piece = layout.pieces[footprint]
        return f"{piece.size} {piece.colour}" if piece.size and piece.colour else piece.code
    return code_of(layout, footprint)


def _sewn(
    sewer: Sewer, paths: Sequence[Ints], order: list[list[tuple[int, bool]]], *, last: bool
) -> dict[int, tuple[int, int]]:
    spans: dict[int, tuple[int, int]] = {}
    for number, chain in enumerate(order):
        cut = not (last and number == len(order) - 1)
        turned = [paths[index][::-1] if back else paths[index] for index, back in chain]
        for (index, _), span in zip(chain, sewer.chain(turned, cut=cut), strict=True):
            spans[index] = span
    return spans


def _covers(
    layout: Layout, paths: Mapping[tuple[int, int], MarkPath], marks: Sequence[RawMark]
) -> Covers:
    numbers = {key: number for number, key in enumerate(paths)}
    kinds = tuple(Cover.of(path.cover) for path in paths.values())
    kind = np.full(len(marks), -1, dtype=np.int64)
    seat = np.zeros(len(marks), dtype=np.int64)
    footprint = layout.footprint
    for index, mark in enumerate(marks):
        if mark.kind in ("each", "ends"):
            seat[index] = mark.seats[0]
            key = (int(footprint[seat[index]]), int(layout.lay[seat[index]]))
            kind[index] = numbers[key]
    xy = layout.xy[seat] if len(layout) else np.zeros((len(marks), 2))
    angle = layout.angle_deg[seat] if len(layout) else np.zeros(len(marks))
    return Covers(kinds, kind, xy, *directions(angle))


def _thread(settings: StitchSettings, index: int) -> str:
    """Return a colour of its own for a block: the list again, each time a little darker."""
    threads = settings.threads or ("#000000",)
    rounds, place = divmod(index, len(threads))
    value = int(threads[place][1:], 16)
    parts = [(value >> shift & 255) for shift in (16, 8, 0)]
    darker = [part * 3 // (3 + rounds) for part in parts]
    return "#" + "".join(f"{part:02x}" for part in darker)


def _field_findings(
    layout: Layout,
    marks: Sequence[RawMark],
    hoop: Hoop,
    boxes: Floats,
    windows: Sequence[Window],
) -> list[Finding]:
    findings = []
    width, height = hoop.field_mm
    for window in windows:
        out = out_mm(hoop, boxes[window.rows], window.middle, window.turn_deg)
        rows = window.rows[out > EPS_MM]
        if not len(rows):
            continue
        worst = marks[int(window.rows[int(np.argmax(out))])]
        seats = sorted({seat for row in rows.tolist() for seat in marks[row].seats})
        named = ", ".join(str(seat) for seat in seats[:_SHOWN])
        more = f" and {len(seats) - _SHOWN} more" if len(seats) > _SHOWN else ""
        where = worst.path.mean(axis=0)
        findings.append(
            Finding(
                "outside-hoop",
                "error",
                f"Marks reach {out.max():.1f} mm out of the {hoop.shape} field of {width:g} x "
                f"{height:g} mm (seats {named}{more})."
                if seats
                else f"An alignment cross lies {out.max():.1f} mm out of the field.",
                where_mm=(float(where[0]), float(where[1])),
                lay=layout.lays[int(layout.lay[worst.seats[0]])].id if worst.seats else None,
                mend="Use a larger hoop, mark the ends or each piece instead of a line, or make "
                "the design smaller.",
            )
        )
    if any(window.turn_deg for window in windows):
        findings.append(
            Finding(
                "hoop-turned", "note", "The design fits the field only when turned by 90 degrees."
            )
        )
    if len(windows) > 1:
        placings = len({window.hooping for window in windows})
        x0, y0 = boxes[:, :2].min(axis=0)
        x1, y1 = boxes[:, 2:].max(axis=0)
        findings.append(
            Finding(
                "several-hoopings",
                "warning",
                f"The marks cover {x1 - x0:.1f} x {y1 - y0:.1f} mm and the field holds {width:g} "
                f"x {height:g} mm: {len(windows)} files in {placings} hoopings.",
                mend="Hoop the cloth again for each file along the shared alignment crosses.",
            )
        )
    return findings


def _stitch_findings(hoopings: Sequence[Hooping], settings: StitchSettings) -> list[Finding]:
    short = 0
    for hooping in hoopings:
        points = hooping.design.stitches
        for mark in hooping.marks:
            steps = np.hypot(*np.diff(points[mark.first : mark.last + 1], axis=0).T)
            short += int((steps < settings.least_mm - EPS_MM).any())
    if not short:
        return []
    return [
        Finding(
            "stitch-short",
            "note",
            f"{short} marks have stitches shorter than {settings.least_mm:g} mm.",
            mend="Mark such small pieces along a line, or lower least_mm.",
        )
    ]
