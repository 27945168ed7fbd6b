"""Plans of a laid job: everything the work needs, computed afresh from the layout."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from embellish.catalogue.equipment import shipped_equipment
from embellish.findings import Finding
from embellish.job.files import OpenJob
from embellish.job.laying import Bedded
from embellish.layout.fingerprint import fingerprint
from embellish.plans.lifts import LiftPlan, plan_lifts
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.quote import QuotePlan, WorkAmounts, plan_quote, set_counts
from embellish.plans.stitch import StitchPlan, plan_stitches
from embellish.plans.template import TemplatePlan, plan_templates
from embellish.plans.title import TitleBlock
from embellish.plans.work import WorkPlan, plan_work


@dataclass(frozen=True, eq=False)
class Plans:
    """All plans of one layout."""

    title: TitleBlock
    stitches: StitchPlan
    templates: TemplatePlan
    lifts: LiftPlan
    work: WorkPlan
    materials: MaterialsPlan
    quote: QuotePlan

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the plans noticed."""
        return (
            *self.stitches.findings,
            *self.templates.findings,
            *self.lifts.findings,
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
    title = TitleBlock(job.title, job.revision, fingerprint(layout), opened.size)
    templates = plan_templates(layout, job.template.with_sizes(equipment), job.quantity, title)
    stitches = plan_stitches(
        layout,
        job.marks,
        job.hoop.chosen(equipment) if job.hoop else None,
        crosses_mm=templates.registration_mm if templates.templates else None,
    )
    lifts = plan_lifts(layout, templates)
    work = plan_work(layout, templates, lifts, stitches, job.quantity)
    materials = plan_materials(layout, job.quantity, opened.catalogue, job.materials)
    minutes = sum(hooping.effort.minutes(job.marks) for hooping in stitches.hoopings)
    amounts = WorkAmounts(set_counts(layout), Decimal(f"{minutes:.2f}"), len(lifts.passes))
    quote = plan_quote(materials, amounts, job.price)
    return Plans(title, stitches, templates, lifts, work, materials, quote)
