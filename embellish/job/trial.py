"""What to try before a job: a test-cut card for the template's holes, and a cloth test."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.equipment import shipped_equipment
from embellish.errors import EmbellishError
from embellish.findings import Finding, gravest_first
from embellish.formats.extras import extra
from embellish.job.files import OpenJob
from embellish.job.making import Checked, check_job
from embellish.layout.fingerprint import fingerprint
from embellish.layout.layout import Layout
from embellish.layout.spacing import least_layout_gap
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.chart import chart_files
from embellish.outputs.cloth_test import cloth_test_html
from embellish.outputs.layout import findings_json, layout_json
from embellish.outputs.marks import marks_files
from embellish.outputs.proof import picture_png, proof_drawing
from embellish.outputs.templates import template_files, template_losses
from embellish.outputs.templates_card import card_files
from embellish.outputs.transfer import transfer_files
from embellish.plans.cloth_test import cloth_test
from embellish.plans.lifts import plan_lifts
from embellish.plans.stitching.stitch import plan_stitches
from embellish.plans.templates.card import CutCard, cut_card
from embellish.plans.templates.template import TemplatePlan, clearances, plan_templates
from embellish.plans.transfer import plan_transfer
from embellish.plans.working.work import plan_work

_PX = 1400
_WALL_SLACK_MM = 0.01
"""So that rounding never makes a wall of the cloth test thinner than asked."""


@dataclass(frozen=True, eq=False)
class Trial:
    """A job's trial with all its files, by relative name."""

    checked: Checked
    layout: Layout
    card: CutCard | None
    files: dict[str, bytes]
    findings: tuple[Finding, ...]

    def summary(self) -> dict[str, Any]:
        """Return the facts that the command prints."""
        rows = self.card.rows if self.card else ()
        return {
            "title": self.checked.opened.job.title,
            "pieces_on_the_cloth": len(self.layout),
            "card": [{"codes": list(row.codes), "clearance_mm": row.now_mm} for row in rows],
            "findings": [finding.as_json() for finding in self.findings],
        }

    def words(self, out: str) -> str:
        """Return what was made, in a few lines."""
        what = "a cloth test" if self.card is None else "a test-cut card and a cloth test"
        return (
            f"{self.checked.opened.job.title}: {what} of {len(self.layout)} pieces in {out}.\n"
            "Open cloth-test.html first."
        )


def trial_files(
    opened: OpenJob, progress: Callable[[str], Progress] = lambda _: no_progress
) -> Trial:
    """Return what is to be tried before the job is made.

    Errors of the layout do not stand in the way: the trial is laid by itself.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    if "dxf" in opened.job.template.formats:
        extra("ezdxf")
    checked = check_job(opened, progress)
    try:
        return _trial(opened, checked)
    except EmbellishError as wrong:
        raise wrong.within(file=str(opened.path)) from wrong


def _trial(opened: OpenJob, checked: Checked) -> Trial:
    job, plans = opened.job, checked.plans
    equipment = shipped_equipment()
    # Distances from marks of the garment say nothing on a scrap.
    settings = job.template.with_sizes(equipment).model_copy(update={"place": ()})
    patch = cloth_test(plans.as_set, _least_gaps(plans.as_set, plans.templates))
    title = replace(
        plans.title, title=f"Cloth test: {plans.title.title}", fingerprint=fingerprint(patch)
    )
    templates = plan_templates(patch, settings, 1, title)
    stitches = plan_stitches(
        patch,
        job.marks,
        job.hoop.chosen(equipment) if job.hoop else None,
        crosses_mm=templates.registration_mm if templates.templates else None,
        name="cloth-test",
    )
    lifts = plan_lifts(patch, templates)
    work = plan_work(
        patch,
        templates,
        lifts,
        stitches,
        cloth=job.cloth.as_set,
        heat_words=job.cloth.bears_words,
    )
    proof = proof_drawing(patch, title, cloth_colour=job.cloth.colour, alone=True)
    files = {
        "layout.json": layout_json(patch, 1, least_layout_gap(patch)),
        "cloth-test.html": cloth_test_html(title, patch, work, stitches, picture_png(proof, _PX)),
        **template_files(templates, title, paper=job.paper.size),
        **chart_files(patch, title, paper=job.paper.size),
        **transfer_files(
            patch, plan_transfer(patch, templates, lifts), lifts, title, job.paper.size
        ),
    }
    marks, lost = marks_files(stitches, patch, title)
    files |= marks
    card = cut_card(plans.as_set, plans.templates.clearance_mm, plans.title)
    if card is not None:
        files |= card_files(card, settings.formats, settings.blade_offset_mm)
    found = [*templates.findings, *template_losses(templates), *stitches.findings, *lost]
    findings = tuple(gravest_first(found))
    files["findings.json"] = findings_json(findings)
    return Trial(checked, patch, card, files, findings)


def _least_gaps(layout: Layout, templates: TemplatePlan) -> Floats:
    """Return for each lay the gap below which a template of it would tear."""
    clearance, _ = clearances(layout, templates.settings)
    least = np.zeros(len(layout.lays))
    for index, lay in enumerate(layout.lays):
        rows = layout.rows(index)
        if lay.set_by == "template" and len(rows):
            widest = float(clearance[layout.footprint[rows]].max())
            least[index] = widest + templates.settings.wall_mm + _WALL_SLACK_MM
    return least
