"""From marks and a window to one file: blocks, order, records, and what to do at each stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.formats.stitches import JUMP, STITCH, TRIM, StitchDesign, ThreadBlock
from embellish.geometry.transforms import Affine
from embellish.layout.layout import Layout
from embellish.plans.hooping import Window
from embellish.plans.stitching.base import BaseDesign, sewn_blocks
from embellish.plans.stitching.covers import Covers
from embellish.plans.stitching.crosses import CROSSES
from embellish.plans.stitching.marks import RawMark, code_of, seat_marks
from embellish.plans.stitching.order import Ground, Sewn, ends_of, sewing_order, table_order
from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.sewing import Effort, Sewer, divided, on_grid
from embellish.plans.stitching.shapes import MarkPath
from embellish.plans.stitching.values import Hooping, Mark, Stop
from embellish.units import MM_PER_STITCH_UNIT


class Seamstress:
    """Sews the marks of a layout, window by window."""

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
        self.paths = paths
        self.ground = Ground(Covers(layout, paths), settings)
        self.colours: dict[str, str] = {}
        for mark in marks:
            self.colours.setdefault(self._block_of(mark), "")
        for index, code in enumerate(self.colours):
            self.colours[code] = _thread(settings, index)

    def _block_of(self, mark: RawMark) -> str:
        if mark.kind == "cross" or self.settings.blocks == "code":
            return mark.code
        return "all codes"

    def hooping(self, window: Window, label: str, base: BaseDesign | None = None) -> Hooping:
        """Return one window's file, with a base design in it where there is one."""
        to_stitch = window.to_stitch()
        rows = window.rows.tolist()
        placed = self._grids([self.marks[row] for row in rows], to_stitch)
        grids = dict(zip(rows, placed, strict=True))
        blocks: dict[str, list[int]] = {}
        for row in window.rows.tolist():
            blocks.setdefault(self._block_of(self.marks[row]), []).append(row)
        sewn = () if base is None else sewn_blocks(base)
        first = sewn if base is not None and base.order == "first" else ()
        after = sewn[len(first) :]
        records = sum(len(block.stitches) for block in first)
        start = Sewer(self.settings).at if not first else _end_of(first)
        sewer = Sewer(self.settings, count=records, at=start)
        plain, singly, left_at = Effort(), Effort(), start
        threads: list[ThreadBlock] = []
        made: list[Mark] = []
        stops: list[Stop] = []
        # Where the machine stands, in layout mm: the needle's place mapped back.
        back = to_stitch.inverse()
        for number, (code, of) in enumerate(blocks.items()):
            colour = self.colours[code]
            at = back(np.array(sewer.at) * MM_PER_STITCH_UNIT)
            ends = ends_of([self.marks[row].path for row in of])
            short = np.array([self.marks[row].kind in ("each", "ends") for row in of])
            middles = np.array([self._middle(row) for row in of])
            hidden = np.array([self.marks[row].kind in ("each", "ends", "line") for row in of])
            order = sewing_order(ends, middles, short, hidden, self.ground, at)
            last = number == len(blocks) - 1 and not after
            paths = [grids[row] for row in of]
            spans = _sewn(sewer, paths, order, to_stitch, last=last)
            row_by_row = Sewer(self.settings, at=left_at)
            _sewn(row_by_row, paths, table_order(len(of)), to_stitch, last=last)
            plain += row_by_row.effort
            singly += self._singly(of, grids, to_stitch, left_at, last=last) or row_by_row.effort
            left_at = row_by_row.at
            block = number + len(first)
            for index, span in sorted(spans.items()):
                made.append(self._mark(of[index], block, grids[of[index]], to_stitch, span))
            threads.append(sewer.block(code, colour))
            stops.append(self._stop(block, code, of))
        made.sort(key=lambda mark: mark.first)
        base_stops = _base_stops(sewn, 0 if first else len(blocks))
        ours = Effort(stops=len(blocks) - 1 if blocks else 0)
        theirs = _effort_of(sewn, joined=bool(blocks))
        middle = to_stitch(np.array(window.middle))
        x, y = (np.round(middle, 6) + 0.0).tolist()
        return Hooping(
            window.hooping,
            window.position,
            to_stitch,
            records,
            sum(len(block.stitches) for block in after),
            (x, y),
            StitchDesign(label, (*first, *threads, *after)),
            tuple(made),
            tuple([*base_stops, *stops] if first else [*stops, *base_stops]),
            sewer.effort + ours + theirs,
            plain + ours + theirs,
            singly + ours + theirs,
            theirs,
        )

    def _singly(
        self,
        rows: Sequence[int],
        grids: Mapping[int, Ints],
        to_stitch: Affine,
        at: tuple[int, int],
        *,
        last: bool,
    ) -> Effort | None:
        """Return what a block costs with a mark for each piece, in table order; None: the same."""
        single: list[Ints] = []
        seats: dict[int, None] = {}
        for row in rows:
            mark = self.marks[row]
            if mark.kind in ("line", "outline"):
                seats |= dict.fromkeys(mark.seats)
            else:
                single.append(grids[row])
        of = np.array(list(seats), dtype=np.int64)
        for lay in np.unique(self.layout.lay[of]).tolist():
            mine = of[self.layout.lay[of] == lay]
            marks = seat_marks(self.layout, mine, lay, self.paths, "each")
            single += self._grids(marks, to_stitch)
        if not seats:
            return None
        sewer = Sewer(self.settings, at=at)
        _sewn(sewer, single, table_order(len(single)), to_stitch, last=last)
        return sewer.effort

    def _grids(self, marks: Sequence[RawMark], to_stitch: Affine) -> list[Ints]:
        """Return the marks in tenths of a mm of the file."""
        longest = round(self.settings.longest_mm / MM_PER_STITCH_UNIT)
        grids = []
        for mark in marks:
            centre = None if mark.centre is None else to_stitch(mark.centre)
            grids.append(divided(on_grid(to_stitch(mark.path), centre), longest))
        return grids

    def _middle(self, row: int) -> Floats:
        mark = self.marks[row]
        return (mark.path[0] + mark.path[-1]) / 2.0 if mark.centre is None else mark.centre

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
            words = "line up by these crosses: templates, and the next hooping where there is one"
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


def _end_of(blocks: Sequence[ThreadBlock]) -> tuple[int, int]:
    """Return where the needle stands after blocks, tenths of a mm."""
    x, y = np.rint(blocks[-1].xy[-1] / MM_PER_STITCH_UNIT).astype(np.int64).tolist()
    return x, y


def _base_stops(blocks: Sequence[ThreadBlock], first: int) -> list[Stop]:
    many = len(blocks)
    return [
        Stop(
            first + number,
            block.hex,
            block.name,
            len(block.stitches),
            f"sew the base design, {'whole' if many == 1 else f'colour {number + 1} of {many}'}",
            base=True,
        )
        for number, block in enumerate(blocks)
    ]


def _effort_of(blocks: Sequence[ThreadBlock], *, joined: bool) -> Effort:
    """Return what sewing given blocks costs; ``joined``: one stop more, before or after marks."""
    if not blocks:
        return Effort()
    kinds = np.concatenate([block.kind for block in blocks])
    xy = np.concatenate([block.xy for block in blocks])
    moved = np.hypot(*np.diff(xy, axis=0, prepend=np.zeros((1, 2))).T)
    return Effort(
        int((kinds == STITCH).sum()),
        int((kinds == TRIM).sum()),
        int((kinds == JUMP).sum()),
        len(blocks) - 1 + int(joined),
        float(moved[kinds == JUMP].sum()),
    )


def _called(layout: Layout, footprint: int) -> str:
    """Return what a maker calls a piece: size and colour, or its code."""
    if footprint < len(layout.pieces):
        piece = layout.pieces[footprint]
        if not (piece.size and piece.colour):
            return piece.code
        # A size that begins with a digit would run into the count before it.
        size = f"of {piece.size}" if piece.size[0].isdigit() else piece.size
        return f"{size} {piece.colour}"
    return code_of(layout, footprint)


def _sewn(
    sewer: Sewer,
    paths: Sequence[Ints],
    order: Sequence[Sequence[Sewn]],
    to_stitch: Affine,
    *,
    last: bool,
) -> dict[int, tuple[int, int]]:
    """Sew a block's marks in order; tell which stitches of the file each of them is."""
    spans: dict[int, tuple[int, int]] = {}
    straight = np.zeros((0, 2), dtype=np.int64)
    for number, chain in enumerate(order):
        cut = not (last and number == len(order) - 1)
        turned = [paths[one.mark][::-1] if one.back else paths[one.mark] for one in chain]
        ways = [straight if one.by is None else on_grid(to_stitch(one.by), None) for one in chain]
        for one, span in zip(chain, sewer.chain(turned, ways, cut=cut), strict=True):
            spans[one.mark] = span
    return spans


def _thread(settings: StitchSettings, index: int) -> str:
    """Return a colour of its own for a block: the list again, each time darker, black lighter."""
    threads = settings.threads or ("#000000",)
    rounds, place = divmod(index, len(threads))
    value = int(threads[place][1:], 16)
    parts = [value >> shift & 255 for shift in (16, 8, 0)]
    toward = 0 if max(parts) > 64 else 255
    mixed = [(part * 3 + toward * rounds) // (3 + rounds) for part in parts]
    return "#" + "".join(f"{part:02x}" for part in mixed)
