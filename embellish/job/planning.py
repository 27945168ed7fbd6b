"""Plans of a laid job: everything the work needs, computed afresh from the layout."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np
import shapely

from embellish.arrays import Floats
from embellish.catalogue.equipment import shipped_equipment
from embellish.findings import Finding
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.job.files import OpenJob
from embellish.job.laying import Bedded, moved_finding
from embellish.job.model import Job
from embellish.layout.fingerprint import fingerprint
from embellish.layout.layout import Layout
from embellish.plans.cut_sheets import SheetPlan, plan_sheets
from embellish.plans.goods import Good, plan_goods, unpriced
from embellish.plans.lifts import LiftPlan, plan_lifts
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.paper import PaperPlan, plan_paper
from embellish.plans.price_settings import DEFAULT
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, set_counts
from embellish.plans.stitching.base import BaseDesign
from embellish.plans.stitching.stitch import StitchPlan, plan_stitches
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import TemplatePlan, plan_templates
from embellish.plans.thread import plan_thread
from embellish.plans.title import TitleBlock
from embellish.plans.transfer import TransferPlan, plan_transfer
from embellish.plans.working.work import WorkPlan, plan_work
from embellish.units import ROUND_DECIMALS


@dataclass(frozen=True, eq=False)
class Plans:
    """All plans of one layout.

    ``as_set`` is the layout in the state of the cloth in which pieces are set: where that is
    stretched on a board, templates, marks, lifts and charts are of it, not of the finished layout.
    """

    title: TitleBlock
    as_set: Layout
    to_set: Affine
    stitches: StitchPlan
    templates: TemplatePlan
    sheets: SheetPlan | None
    lifts: LiftPlan
    transfer: TransferPlan | None
    paper: PaperPlan
    work: WorkPlan
    materials: MaterialsPlan
    goods: tuple[Good, ...]
    amounts: WorkAmounts
    quote: QuotePlan

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the plans noticed, at places of the finished layout."""
        noticed = (*self.stitches.findings, *self.templates.findings, *self.lifts.findings)
        if self.to_set != IDENTITY:
            to_finished = self.to_set.inverse()
            noticed = tuple(moved_finding(each, to_finished) for each in noticed)
        return (
            *noticed,
            *self.paper.findings,
            *(self.sheets.findings if self.sheets else ()),
            *self.materials.findings,
            *unpriced(self.goods),
            *self.quote.findings,
        )


def plan_job(opened: OpenJob, bedded: Bedded) -> Plans:
    """Plan templates, materials and price of a laid job.

    Raises
    ------
    EmbellishError
        For a name of a hoop, sheet or press that there is not.
    """
    job, layout = opened.job, bedded.layout
    equipment = shipped_equipment()
    title = TitleBlock(
        job.title,
        job.revision,
        fingerprint(layout),
        opened.size,
        opened.side,
        state=job.cloth.state_words,
    )
    cloth = job.cloth.as_set
    to_set = IDENTITY if cloth.relaxed else cloth.map(layout.page_mm)
    as_set = layout if cloth.relaxed else layout.stretched(to_set).rounded()
    templates = plan_templates(as_set, job.template.with_sizes(equipment), job.quantity, title)
    stitches = plan_stitches(
        as_set,
        job.marks,
        job.hoop.chosen(equipment) if job.hoop else None,
        crosses_mm=templates.registration_mm if templates.templates else None,
        outlines=_outlines(job, bedded, to_set),
        base=_base(opened, layout.page_mm, to_set),
        field_at_mm=_field_at(job, layout.page_mm, to_set),
        # A machine shows the name of the file alone.
        name="-".join(
            part
            for part in ("marks", opened.side.lower(), "" if cloth.relaxed else "board")
            if part
        ),
    )
    sheets = plan_sheets([templates])
    lifts = plan_lifts(as_set, templates)
    transfer = plan_transfer(as_set, templates, lifts)
    paper = plan_paper(as_set, job.paper, _sheet_mm(templates.settings))
    materials = plan_materials(layout, job.quantity, opened.catalogue, job.materials)
    # What is bought for several garments together is cut together: materials-all.json tells how.
    alone = not (opened.side or opened.size)
    work = plan_work(
        as_set,
        templates,
        lifts,
        stitches,
        job.quantity,
        cloth,
        paper,
        sheets,
        materials.lines if alone else (),
        job.cloth.bears_words,
    )
    currency = job.price.currency or materials.currency
    threads = plan_thread(layout, stitches, job.quantity, job.materials.thread, currency)
    goods = (*plan_goods(templates.settings, sheets, lifts, currency), *threads)
    usual = ", ".join(job.marks.times_not_entered)
    amounts = WorkAmounts(
        set_counts(layout),
        Decimal(f"{stitches.effort.minutes(job.marks):.2f}"),
        stitch_rule=stitches.effort.words(job.marks),
        stitch_default=f"{usual}: {DEFAULT}" if usual else "",
        press_passes=len(lifts.passes),
        goods=goods,
    )
    quote = plan_quote(materials, amounts, job.price)

    def at(quantity: int) -> QuotePlan:
        """Return the price of another number: bought, lifted and set up for that number."""
        more = replace(lifts, quantity=quantity)
        sheeted = plan_goods(templates.settings, sheets, more, currency)
        spools = plan_thread(layout, stitches, quantity, job.materials.thread, currency)
        bought = plan_materials(layout, quantity, opened.catalogue, job.materials)
        return plan_quote(bought, replace(amounts, goods=(*sheeted, *spools)), job.price)

    quote = replace(quote, at_quantities=tuple(map(at, sorted(set(job.price.quantities)))))
    return Plans(
        title=title,
        as_set=as_set,
        to_set=to_set,
        stitches=stitches,
        templates=templates,
        sheets=sheets,
        lifts=lifts,
        transfer=transfer,
        paper=paper,
        work=work,
        materials=materials,
        goods=goods,
        amounts=amounts,
        quote=quote,
    )


def _from_middle(page_mm: tuple[float, float], offset_mm: tuple[float, float]) -> Floats:
    """Return a place that a job tells from the middle of its page, mm."""
    place: Floats = np.array(page_mm) / 2.0 + np.array(offset_mm)
    return place


def _base(opened: OpenJob, page_mm: tuple[float, float], to_set: Affine) -> BaseDesign | None:
    """Return the base design in its place; it does not turn or stretch with the artwork."""
    wanted = opened.job.base
    if wanted is None or opened.base is None:
        return None
    middle = to_set(_from_middle(page_mm, wanted.offset_mm))
    return BaseDesign.placed(opened.base, wanted.order, middle)


def _field_at(job: Job, page_mm: tuple[float, float], to_set: Affine) -> tuple[float, float] | None:
    if job.hoop is None or job.hoop.at_mm is None:
        return None
    x, y = np.round(to_set(_from_middle(page_mm, job.hoop.at_mm)), ROUND_DECIMALS).tolist()
    return x, y


def _outlines(job: Job, bedded: Bedded, to_set: Affine) -> dict[str, list[Floats]]:
    """Return, for each lay that fills a region, the line its outermost pieces hide."""
    found = {}
    for lay, region, edge in zip(bedded.layout.lays, bedded.regions, bedded.edges_mm, strict=True):
        if lay.mark != "outline" or region is None:
            continue
        inner = region.buffer(-edge - job.marks.inset_mm)
        parts = [part for part in getattr(inner, "geoms", [inner]) if not part.is_empty]
        rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
        if rings:
            found[lay.id] = [to_set(shapely.get_coordinates(ring)) for ring in rings]
    return found


def _sheet_mm(settings: TemplateSettings) -> tuple[float, float] | None:
    """Return the size of the sheet that is cut, where it has one."""
    if settings.sheet is None or isinstance(settings.sheet, str) or settings.roll:
        return None
    return settings.sheet
