"""Counting several jobs, or the rows of an order, as one: each layout is laid only once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import tomli_w

from embellish.catalogue.catalogue import Catalogue, merged
from embellish.catalogue.ledger import with_stock
from embellish.catalogue.piece import Kind
from embellish.errors import EmbellishError, JobError
from embellish.findings import Finding, few
from embellish.formats.tables import parsed_toml
from embellish.job.again import of_size
from embellish.job.files import OpenJob, open_job, open_ledger, open_text, stock_path
from embellish.job.making import Checked, check_job
from embellish.job.name_list import NameRow, with_row
from embellish.job.orders.order import Order, OrderRow, is_order, read_order, read_order_rows
from embellish.job.partners import in_pair
from embellish.job.reading_files import bytes_of
from embellish.job.sizes import in_sizes
from embellish.layout.layout import SetBy
from embellish.layout.ways.way import Progress, no_progress
from embellish.plans.goods import Good, goods_together, unpriced
from embellish.plans.lengths import lengths_of
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialsPlan, plan_counted
from embellish.plans.piece_counts import piece_counts
from embellish.plans.price_settings import PriceSettings
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, stitched_together


@dataclass(frozen=True, eq=False)
class Design:
    """One layout of the order: a job, at one size, with one text; both sides of a pair."""

    job: str
    """As the order names it."""
    size: str
    text: str
    quantity: int
    """Garments, over all rows."""
    sides: tuple[Checked, ...]

    @property
    def title(self) -> str:
        """What it is called on lists."""
        head = self.sides[0].opened
        parts = (head.job.title, head.size and f"size {head.size}", self.text)
        return ", ".join(part for part in parts if part)

    @property
    def pieces(self) -> dict[str, int]:
        """Pieces of one garment, or one pair, by code."""
        counts: Counter[str] = Counter()
        for side in self.sides:
            counts.update(piece_counts(side.layout))
        return dict(counts)


@dataclass(frozen=True, eq=False)
class CountedRow:
    """A row and the design that it takes."""

    row: OrderRow
    design: Design


@dataclass(frozen=True, eq=False)
class CountedOrder:
    """All rows, and the buying and the price of all of them."""

    title: str
    order: Order | None
    rows: tuple[CountedRow, ...]
    designs: tuple[Design, ...]
    materials: MaterialsPlan
    goods: tuple[Good, ...]
    prices: PriceSettings
    catalogue: Catalogue
    """Of all jobs; what is bought comes from it."""
    stock: Path | None
    """The stock file, where one is named by the order, or by its first job."""
    quote: QuotePlan
    findings: tuple[Finding, ...]
    spreadsheet: bool = False
    """Whether a spreadsheet is asked for, by the order, or by its first job."""

    @property
    def garments(self) -> int:
        """Garments, or pairs, in all."""
        return sum(each.row.quantity for each in self.rows)

    @property
    def stopped(self) -> bool:
        """Whether an error stands in any design."""
        return any(side.stopped for design in self.designs for side in design.sides)


Stages = Callable[[str], Progress]

Opened = dict[tuple[Path, str], OpenJob]
"""Jobs by their file and the text that stands in place of their own, '' for their own."""


def count_together(paths: Sequence[Path], progress: Stages = lambda _: no_progress) -> CountedOrder:
    """Count what jobs and orders take together.

    Parameters
    ----------
    paths
        Files of jobs, or one file of an order.

    Raises
    ------
    EmbellishError
        For what must be mended first: in which file, and in which row.
    """
    if len(paths) == 1 and is_order(parsed_toml(_bytes(paths[0]), str(paths[0]), JobError)):
        order, rows = opened_order(paths[0])
        rows_here = [(row, paths[0].parent) for row in rows]
        return _counted(order.title, order, rows_here, {}, progress)
    opened: Opened = {}
    rows_of_jobs = [row for path in paths for row in _rows_of_job(path, opened)]
    titles = dict.fromkeys(path.stem for path in paths)
    return _counted(", ".join(titles), None, rows_of_jobs, opened, progress)


def opened_order(path: Path) -> tuple[Order, tuple[OrderRow, ...]]:
    """Read an order file and the list of rows that it names."""
    order = read_order(_bytes(path), str(path))
    rows = order.row
    if order.rows is not None:
        listed = path.parent / order.rows
        rows += read_order_rows(bytes_of(listed, JobError, "list of rows"), str(listed))
    return order, rows


def _bytes(path: Path) -> bytes:
    return bytes_of(path, JobError, "job or order file")


def _rows_of_job(path: Path, held: Opened) -> list[tuple[OrderRow, Path]]:
    """Return the rows that a job alone stands for: one, or one a size; the job is held opened."""
    if is_order(parsed_toml(_bytes(path), str(path), JobError)):
        raise JobError(
            "this is an order, and orders are counted one at a time",
            file=str(path),
            mend="Put the rows of all into one order file.",
        )
    if (path, "") not in held:
        held[path, ""] = open_job(path)
    opened = held[path, ""]
    if not opened.job.size:
        return [(OrderRow(job=path.name, quantity=opened.job.quantity), path.parent)]
    return [
        (OrderRow(job=path.name, size=each.size, quantity=each.job.quantity), path.parent)
        for each in in_sizes(opened)
    ]


def _counted(
    title: str,
    order: Order | None,
    rows: Sequence[tuple[OrderRow, Path]],
    held: Opened,
    progress: Stages,
) -> CountedOrder:
    opened = _each_opened(order, rows, held)
    keys = [
        (str(each.path), row.size if each.job.size else "", row.text)
        for (row, _), each in zip(rows, opened, strict=True)
    ]
    quantities: Counter[tuple[str, str, str]] = Counter()
    for key, (row, _) in zip(keys, rows, strict=True):
        quantities[key] += row.quantity
    designs: dict[tuple[str, str, str], Design] = {}
    for number, (key, (row, _)) in enumerate(zip(keys, rows, strict=True), 1):
        if key not in designs:
            stage = partial(_stage, f"{len(designs) + 1} of {len(quantities)}", progress)
            try:
                designs[key] = _design(row, opened[number - 1], quantities[key], stage)
            except EmbellishError as wrong:
                raise _in_row(wrong, order, row, number) from wrong
    every = tuple(designs.values())
    catalogue, told = _catalogue(every)
    stock = stock_path(_first(every).path, _first(every).job)
    if order is not None and order.materials is not None and order.materials.stock is not None:
        stock = rows[0][1] / order.materials.stock
        catalogue = with_stock(catalogue, open_ledger(stock).held())
    materials = materials_of(order, every, catalogue)
    goods = goods_together(side.plans.goods for design in every for side in design.sides)
    prices = _first(every).job.price if order is None or order.price is None else order.price
    quote = plan_quote(materials, _work(every, goods), prices)
    findings = [*_found(every), *told, *materials.findings, *quote.findings, *unpriced(goods)]
    return CountedOrder(
        title,
        order,
        tuple(CountedRow(row, designs[key]) for key, (row, _) in zip(keys, rows, strict=True)),
        every,
        materials,
        goods,
        prices,
        catalogue,
        stock,
        quote,
        tuple(dict.fromkeys(findings)),
        _buying_rules(order, every).spreadsheet,
    )


def _each_opened(
    order: Order | None, rows: Sequence[tuple[OrderRow, Path]], held: Opened
) -> list[OpenJob]:
    """Return the job of each row, each opened once; those already held are not read again."""
    opened = dict(held)
    for number, (row, folder) in enumerate(rows, 1):
        path = folder / row.job
        if (path, row.text) not in opened:
            try:
                opened[path, row.text] = _with_text(path, row.text) if row.text else open_job(path)
            except EmbellishError as wrong:
                raise _in_row(wrong, order, row, number) from wrong
    return [opened[folder / row.job, row.text] for row, folder in rows]


def _stage(which: str, progress: Stages, stage: str) -> Progress:
    return progress(f"{which}: {stage}")


def _in_row(
    wrong: EmbellishError, order: Order | None, row: OrderRow, number: int
) -> EmbellishError:
    if order is None:
        return wrong
    return wrong.inside(f"row {number} ({row.words})")


def _design(row: OrderRow, opened: OpenJob, quantity: int, progress: Stages) -> Design:
    sized = bool(opened.job.size)
    if sized:
        opened = _at_size(opened, row.size)
    job = opened.job.model_copy(update={"quantity": quantity})
    sides = tuple(check_job(side, progress) for side in in_pair(replace(opened, job=job)))
    return Design(row.job, row.size if sized else "", row.text, quantity, sides)


def _at_size(opened: OpenJob, size: str) -> OpenJob:
    if size:
        return of_size(opened, size)
    names = ", ".join(each.name for each in opened.job.size)
    raise JobError(
        "this job has garment sizes, and its row names none",
        file=str(opened.path),
        mend=f"Give the row one of {names}.",
    )


def _with_text(path: Path, text: str) -> OpenJob:
    data = bytes_of(path, JobError, "job file")
    table = parsed_toml(data, str(path), JobError)
    if not table.get("lettering"):
        raise JobError(
            "this job has no words of its own that a text could stand in place of",
            file=str(path),
            mend="Leave text out, or add a [[lettering]] to the job.",
        )
    named = with_row(table, NameRow(0, text, {}), str(path))
    return open_text(path, tomli_w.dumps(named).encode(), thaw=True)


def _first(designs: Sequence[Design]) -> OpenJob:
    return designs[0].sides[0].opened


def _catalogue(designs: Sequence[Design]) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Return one catalogue of all; jobs with the same catalogues add nothing to it."""
    every: dict[tuple[str, ...], Catalogue] = {}
    for design in designs:
        opened = design.sides[0].opened
        names = tuple(
            name if name.startswith("shipped:") else str((opened.path.parent / name).resolve())
            for name in opened.job.catalogues
        )
        every.setdefault(names, opened.catalogue)
    whole, told = merged(every.values())
    # A code that two jobs take from catalogues that agree about it is no clash.
    apart = [code for code in whole.pieces if not _agreed(code, every.values())]
    kept = [each for each in told if each.code != "catalogue-outranked"]
    if not apart:
        return whole, tuple(kept)
    clash = Finding(
        "catalogues-differ",
        "warning",
        f"the jobs' catalogues do not say the same of {few(apart, 5)}: what is bought goes by the"
        " last of them",
        mend="Name the same catalogues in every job of the order.",
    )
    return whole, (*kept, clash)


def _agreed(code: str, catalogues: Iterable[Catalogue]) -> bool:
    said = [each.pieces[code] for each in catalogues if code in each.pieces]
    return all(each == said[0] for each in said)


def _times(designs: Sequence[Design]) -> list[tuple[Design, int]]:
    """Return how often each design counts: of one alone, the plans multiply by its quantity."""
    if len(designs) == 1:
        return [(designs[0], 1)]
    return [(design, design.quantity) for design in designs]


def materials_of(
    order: Order | None, designs: Sequence[Design], catalogue: Catalogue
) -> MaterialsPlan:
    """Return what all designs take together, and its buying."""
    counts: Counter[str] = Counter()
    having: Counter[str] = Counter()
    for design, times in _times(designs):
        for code, number in design.pieces.items():
            counts[code] += number * times
            having[code] += design.quantity
    own = {
        piece.code: piece
        for design in designs
        for side in design.sides
        for piece in side.layout.pieces
    }
    return plan_counted(
        dict(counts),
        designs[0].quantity if len(designs) == 1 else 1,
        catalogue,
        _buying_rules(order, designs),
        own,
        having,
        lengths_of(
            (side.layout, times) for design, times in _times(designs) for side in design.sides
        ),
    )


def _buying_rules(order: Order | None, designs: Sequence[Design]) -> MaterialSettings:
    """Return the order's own rules of buying, or those of its first job."""
    own = order.materials if order is not None else None
    return own or _first(designs).job.materials


def _work(designs: Sequence[Design], goods: tuple[Good, ...]) -> WorkAmounts:
    """Return the work of all garments; what is set up, is set up once a design."""
    every = [
        (side.plans.amounts, times) for design, times in _times(designs) for side in design.sides
    ]
    pieces: dict[tuple[SetBy, Kind], int] = {}
    for amounts, times in every:
        for key, number in amounts.pieces.items():
            pieces[key] = pieces.get(key, 0) + number * times
    minutes, rule, usual = stitched_together(every)
    return WorkAmounts(
        pieces=pieces,
        stitch_minutes=minutes,
        stitch_rule=rule,
        stitch_default=usual,
        press_passes=sum(each.press_passes * times for each, times in every),
        goods=goods,
        garments=sum(times for _, times in _times(designs)),
        setups=len(designs),
    )


def _found(designs: Sequence[Design]) -> Iterator[Finding]:
    """Yield what was noticed of layouts, with the design's name where not all have it.

    What each design found of buying and of prices does not hold of the order.
    """
    every = [(design, side) for design in designs for side in design.sides]
    seen = Counter(finding for _, side in every for finding in set(side.findings))
    for design, side in every:
        alone = {*side.plans.materials.findings, *side.plans.quote.findings}
        alone |= set(unpriced(side.plans.goods))
        for finding in side.findings:
            if finding in alone:
                continue
            named = f"{design.title}: {finding.message}"
            yield finding if seen[finding] == len(every) else replace(finding, message=named)
