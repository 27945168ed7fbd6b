"""Pairs: sleeves, shoes, lapels. The drawing and its mirror image, counted and bought together.

Each side is a job of its own with its own folder; what is written for it says LEFT or RIGHT.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, Literal

from embellish.findings import Finding, gravest_first
from embellish.job.files import OpenJob, kept_path, with_kept
from embellish.job.making import NEITHER, Checked, Made, check_job, made_files, proof_of
from embellish.job.names import safe_names
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.goods import goods_csv
from embellish.outputs.layout import as_json_bytes
from embellish.outputs.materials import materials_csv, materials_json
from embellish.outputs.orders.customer_quote import order_costing_html, order_quote_html
from embellish.outputs.proof import picture_png
from embellish.outputs.quote import quote_json
from embellish.outputs.sheet_pdf import sheet_pdf
from embellish.plans.goods import Good, goods_together
from embellish.plans.lengths import lengths_of
from embellish.plans.materials import MaterialsPlan, plan_counted
from embellish.plans.piece_counts import piece_counts
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, set_counts, stitched_together
from embellish.plans.title import TitleBlock

Side = Literal["LEFT", "RIGHT"]
SIDES: Final[tuple[Side, Side]] = ("LEFT", "RIGHT")


def in_pair(opened: OpenJob, *, thaw: bool = False) -> list[OpenJob]:
    """Return the job of each side, LEFT first; of a job without partner, that job alone.

    Parameters
    ----------
    thaw
        Leave the layout kept of the partner aside.

    Raises
    ------
    JobError
        Where the file of a kept layout is none.
    """
    pair = opened.job.partner
    if pair is None:
        return [opened]
    return [
        replace(opened, side=side) if side == pair.drawn else _partner(opened, side, thaw=thaw)
        for side in SIDES
    ]


def kept_name(opened: OpenJob, folder: str) -> str:
    """Return what a kept file has in its name: the size's folder, and the side if mirrored."""
    return ".".join(part for part in (folder, opened.side if opened.mirrored else "") if part)


def _partner(opened: OpenJob, side: Side, *, thaw: bool) -> OpenJob:
    job = opened.job
    if job.hoop is not None and job.hoop.at_mm is not None:
        # The hoop lies on the mirror image too.
        x, y = job.hoop.at_mm
        job = job.model_copy(update={"hoop": job.hoop.model_copy(update={"at_mm": (-x, y)})})
    partner = replace(opened, job=job, side=side, mirrored=True, kept=None)
    folder = safe_names([opened.size])[0] if opened.size else ""
    if thaw:
        return partner
    return with_kept(partner, kept_path(opened.path, kept_name(partner, folder)))


@dataclass(frozen=True, eq=False)
class CheckedPair:
    """Both sides of a pair laid, planned and checked, and what they take together.

    Parameters
    ----------
    sides
        LEFT and RIGHT.
    materials
        What both take together; a 'garment' is a pair.
    goods
        Sheets that both use up.
    quote
        Cost and price of the pairs.
    """

    sides: tuple[Checked, ...]
    materials: MaterialsPlan
    goods: tuple[Good, ...]
    quote: QuotePlan

    @property
    def opened(self) -> OpenJob:
        """The job as it is drawn."""
        return drawn_of(self).opened

    @property
    def stopped(self) -> bool:
        """Whether an error stands on either side."""
        return any(side.stopped for side in self.sides)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed; what was not noticed of both sides has the side's name in front."""
        return together([(side.opened.side, side.findings) for side in self.sides])

    def summary(self) -> dict[str, Any]:
        """Return the facts that a command prints."""
        return {
            "title": self.sides[0].opened.job.title,
            "pairs": self.materials.quantity,
            "sides": [{"side": side.opened.side, **side.summary()} for side in self.sides],
            "pieces": {line.code: line.count for line in self.materials.lines},
            "cost": None if self.materials.total is None else str(self.materials.total),
            "currency": self.materials.currency,
            "stopped": self.stopped,
        }


def together(sides: Sequence[tuple[str, Sequence[Finding]]]) -> tuple[Finding, ...]:
    """Return findings of several parts, each once; those not of all parts name their part."""
    seen = Counter(finding for _, findings in sides for finding in dict.fromkeys(findings))
    found = [
        finding
        if seen[finding] == len(sides)
        else replace(finding, message=f"{side}: {finding.message}")
        for side, findings in sides
        for finding in findings
    ]
    return tuple(gravest_first(list(dict.fromkeys(found))))


def checked_job(
    opened: OpenJob,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Checked | CheckedPair:
    """Lay, plan and check a job, or both sides of it where it has a partner.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    return (
        check_job(opened, progress) if opened.job.partner is None else check_pair(opened, progress)
    )


def sides_of(checked: Checked | CheckedPair) -> tuple[Checked, ...]:
    """Return each garment checked: the one, or both of a pair."""
    return checked.sides if isinstance(checked, CheckedPair) else (checked,)


def drawn_of(checked: Checked | CheckedPair) -> Checked:
    """Return the garment as it is drawn, of a pair the side that is no mirror image."""
    return next(side for side in sides_of(checked) if not side.opened.mirrored)


def materials_of(checked: Checked | CheckedPair) -> MaterialsPlan:
    """Return what a job takes, both sides of a pair together."""
    return checked.materials if isinstance(checked, CheckedPair) else checked.plans.materials


def check_pair(
    opened: OpenJob,
    progress: Callable[[str], Progress] = lambda _: no_progress,
    *,
    thaw: bool = False,
) -> CheckedPair:
    """Lay, plan and check both sides of a job that has a partner.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    return paired(
        [
            check_job(side, partial(_stage, side.side, progress))
            for side in in_pair(opened, thaw=thaw)
        ]
    )


def _stage(side: str, progress: Callable[[str], Progress], stage: str) -> Progress:
    return progress(f"{side}, {stage}")


def paired(sides: Sequence[Checked]) -> CheckedPair:
    """Return both sides as one: what they take together, and its cost and price."""
    opened = sides[0].opened
    pieces: Counter[str] = Counter()
    work: Counter[Any] = Counter()
    for side in sides:
        pieces.update(piece_counts(side.layout))
        work.update(set_counts(side.layout))
    materials = plan_counted(
        dict(pieces),
        opened.job.quantity,
        opened.catalogue,
        opened.job.materials,
        {piece.code: piece for side in sides for piece in side.layout.pieces},
        lengths=lengths_of((side.layout, 1) for side in sides),
    )
    goods = goods_together(side.plans.goods for side in sides)
    minutes, rule, usual = stitched_together((side.plans.amounts, 1) for side in sides)
    amounts = WorkAmounts(
        dict(work),
        minutes,
        sum(side.plans.amounts.press_passes for side in sides),
        goods,
        stitch_rule=rule,
        stitch_default=usual,
    )
    return CheckedPair(
        tuple(sides), materials, goods, plan_quote(materials, amounts, opened.job.price)
    )


_PICTURE_PX: Final = 900
"""Longest side of a picture in a quote of several: sharp at half a page's width."""


def pictures_of_sides(title: str, sides: Sequence[Checked]) -> list[tuple[str, bytes]]:
    """Return a picture of each side, PNG, with what it is called on a quote of several."""
    pictures = []
    for side in sides:
        parts = (title, side.opened.side, f"layout {side.plans.title.fingerprint}")
        drawn = picture_png(proof_of(side, alone=True), _PICTURE_PX)
        pictures.append((", ".join(part for part in parts if part), drawn))
    return pictures


def _price_sheets(checked: CheckedPair) -> dict[str, bytes]:
    """Return the quote of the pairs for the customer, and the sums for the shop."""
    job, plan = checked.opened.job, checked.quote
    heads = [f"for {job.price.customer}"] if job.price.customer else []
    stop = NEITHER if checked.stopped else ""
    quote = order_quote_html(
        job.title,
        heads,
        [(job.title, "LEFT and RIGHT", job.quantity)],
        plan,
        job.price,
        pictures=pictures_of_sides(job.title, checked.sides),
        stop=stop,
        each="pair",
    )
    return {
        "quote-all.html": quote,
        "quote-all.pdf": sheet_pdf(quote),
        "costing-all.html": order_costing_html(
            job.title, heads, plan, checked.materials, job.price, stop=stop
        ),
    }


@dataclass(frozen=True, eq=False)
class MadePair:
    """Both sides made, and the buying of both together."""

    checked: CheckedPair
    files: dict[str, bytes]
    withheld: bool

    def words(self, out: str) -> str:
        """Return what was made, in a few lines."""
        sides = ", ".join(f"{s.opened.side} {len(s.layout)} seats" for s in self.checked.sides)
        title = self.checked.sides[0].opened.job.title
        lines = [f"{title}: {sides}, {len(self.files) + 1} files in {out}"]
        if self.withheld:
            lines.append(
                "An error stands: templates and marks of that side were withheld."
                " Mend it, or use --anyway to have them stamped."
            )
        return "\n".join(lines)


def made_job(
    opened: OpenJob,
    *,
    anyway: bool = False,
    thaw: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Made | MadePair:
    """Return a job with all its files: of a pair, a folder a side, and what both take together.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    if opened.job.partner is None:
        return made_files(opened, anyway=anyway, progress=progress)
    made = [
        made_files(side, anyway=anyway, progress=partial(_stage, side.side, progress))
        for side in in_pair(opened, thaw=thaw)
    ]
    checked = paired([each.checked for each in made])
    files = {
        f"{each.checked.opened.side}/{name}": content
        for each in made
        for name, content in each.files.items()
    }
    files |= {
        "pair.json": as_json_bytes(_facts(checked)),
        "materials-all.json": materials_json(checked.materials, checked.goods),
        "materials-all.csv": materials_csv(checked.materials),
        "quote-all.json": quote_json(checked.quote, _title(checked)),
        **_price_sheets(checked),
    }
    if checked.goods:
        files["goods-all.csv"] = goods_csv(checked.goods, checked.quote.currency)
    return MadePair(checked, files, any(each.withheld for each in made))


def _title(checked: CheckedPair) -> TitleBlock:
    titles = [side.plans.title for side in checked.sides]
    fingerprint = " and ".join(title.fingerprint for title in titles)
    return replace(titles[0], side="", fingerprint=fingerprint)


def _facts(checked: CheckedPair) -> dict[str, Any]:
    """Return what pair.json says: which folder is which, and about which line they mirror."""
    opened = checked.sides[0].opened
    pair = opened.job.partner
    assert pair is not None  # noqa: S101 - only jobs with a partner come here
    return {
        "format": "embellish-pair",
        "version": 1,
        "pairs": opened.job.quantity,
        "drawn": pair.drawn,
        "mirror_x_mm": checked.sides[0].layout.page_mm[0] / 2.0,
        "reads_right": list(pair.groups),
        "sides": [
            {
                "side": side.opened.side,
                "folder": side.opened.side,
                "seats": len(side.layout),
                "fingerprint": side.plans.title.fingerprint,
                "stopped": side.stopped,
            }
            for side in checked.sides
        ],
    }
