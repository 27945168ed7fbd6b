"""Plans of a laid job: everything the work needs, computed afresh from the layout."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from embellish.catalogue.equipment import shipped_equipment
from embellish.findings import Finding
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.job.files import OpenJob
from embellish.job.laying import Bedded, moved_finding
from embellish.layout.fingerprint import fingerprint
from embellish.layout.layout import Layout
from embellish.plans.lifts import LiftPlan, plan_lifts
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, set_counts
from embellish.plans.stitch import StitchPlan, plan_stitches
from embellish.plans.template import TemplatePlan, plan_templates
from embellish.plans.title import TitleBlock
from embellish.plans.work import WorkPlan, plan_work


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
    lifts: LiftPlan
    work: WorkPlan
    materials: MaterialsPlan
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
            *self.materials.findings,
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
        job.title, job.revision, fingerprint(layout), opened.size, state=job.cloth.state_words
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
        # A machine shows the name of the file alone.
        name="marks" if cloth.relaxed else "marks-board",
    )
    lifts = plan_lifts(as_set, templates)
    work = plan_work(as_set, templates, lifts, stitches, job.quantity, cloth)
    materials = plan_materials(layout, job.quantity, opened.catalogue, job.materials)
    minutes = sum(hooping.effort.minutes(job.marks) for hooping in stitches.hoopings)
    amounts = WorkAmounts(set_counts(layout), Decimal(f"{minutes:.2f}"), len(lifts.passes))
    quote = plan_quote(materials, amounts, job.price)
    return Plans(title, as_set, to_set, stitches, templates, lifts, work, materials, quote)
