"""Make a job: lay, plan, check, and every output as bytes; nothing is put on disk here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from embellish.arrays import Floats
from embellish.artwork.artwork import Shape
from embellish.checks.site import Site
from embellish.checks.table import check
from embellish.errors import EmbellishError
from embellish.findings import Finding, counted, gravest_first
from embellish.formats.extras import extra
from embellish.job.backdrops import backdrop_of, noticed_of_photo
from embellish.job.delivering import since_delivered
from embellish.job.files import OpenJob
from embellish.job.laying import Bedded, lay_job
from embellish.job.planning import Plans, plan_job
from embellish.layout.layout import Layout
from embellish.layout.spacing import least_layout_gap
from embellish.layout.ways.way import Progress, no_progress
from embellish.outputs.care_card import care_card_html
from embellish.outputs.chart import chart_files, charts
from embellish.outputs.chart_pages import tiled_drawings
from embellish.outputs.chart_sheet import frame_of
from embellish.outputs.drawing.drawing import Drawing
from embellish.outputs.goods import goods_csv
from embellish.outputs.layout import findings_json, layout_json
from embellish.outputs.marks import marks_files
from embellish.outputs.materials import materials_csv, materials_json
from embellish.outputs.paper_files import paper_files
from embellish.outputs.proof import picture_png, proof_drawing, proof_files
from embellish.outputs.quote import quote_json
from embellish.outputs.quote_sheet import costing_html, customer_quote_html
from embellish.outputs.sheet_pdf import letters_told, sheet_pdf
from embellish.outputs.spreadsheet import spreadsheet_xlsx
from embellish.outputs.templates import template_files, template_losses
from embellish.outputs.transfer import transfer_files
from embellish.outputs.worksheet import worksheet_html
from embellish.plans.cloth import care_of
from embellish.plans.cut_sheets import SheetPlan
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.title import TitleBlock

NOT_TO_BE_CUT = "NOT TO BE CUT"
SHEET_PX = 1400
"""Longest side of the picture inside the work sheet: sharp on A4, small to send."""

NOT_TO_BE_SEWN = "NOT TO BE SEWN"
NEITHER = f"{NOT_TO_BE_CUT} · {NOT_TO_BE_SEWN}"


@dataclass(frozen=True, eq=False)
class Checked:
    """A job laid, planned and checked."""

    opened: OpenJob
    bedded: Bedded
    plans: Plans
    findings: tuple[Finding, ...]

    @property
    def layout(self) -> Layout:
        """Where everything stands."""
        return self.bedded.layout

    @property
    def stopped(self) -> bool:
        """Whether an error finding stands, so that nothing may be cut or sewn from this."""
        return any(finding.severity == "error" for finding in self.findings)

    def titled(self, stop: str) -> TitleBlock:
        """Return the title block, with these words of warning where an error stands."""
        return replace(self.plans.title, stop=stop if self.stopped else "")

    def summary(self) -> dict[str, Any]:
        """Return the facts that a command prints."""
        layout = self.layout
        counts = Counter(layout.lay.tolist())
        materials = self.plans.materials
        return {
            "title": self.opened.job.title,
            "fingerprint": self.plans.title.fingerprint,
            "seats": len(layout),
            "lays": [
                {"id": lay.id, "way": lay.way, "set_by": lay.set_by, "count": counts[index]}
                for index, lay in enumerate(layout.lays)
            ],
            "templates": [template.name for template in self.plans.templates.templates],
            "pieces": {line.code: line.count for line in materials.lines},
            "cost": None if materials.total is None else str(materials.total),
            "currency": materials.currency,
            "findings": [finding.as_json() for finding in self.findings],
            "stopped": self.stopped,
        }


@dataclass(frozen=True, eq=False)
class Made:
    """A checked job with all its files, by relative name."""

    checked: Checked
    files: dict[str, bytes]
    withheld: bool

    def words(self, out: str) -> str:
        """Return what was made, in a few lines."""
        checked = self.checked
        seats, files = len(checked.layout), len(self.files) + 1
        made = f"{counted(seats, 'seat')}, {counted(files, 'file')} in {out}"
        lines = [f"{checked.opened.job.title}: {made}"]
        if self.withheld:
            lines.append(
                "An error stands: templates and marks were withheld."
                " Mend it, or use --anyway to have them stamped."
            )
        return "\n".join(lines)


def check_job(
    opened: OpenJob, progress: Callable[[str], Progress] = lambda _: no_progress
) -> Checked:
    """Lay, plan and check a job.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    try:
        bedded = lay_job(
            opened.job,
            opened.artwork,
            opened.catalogue,
            progress,
            kept=opened.kept,
            partner=opened.mirrored,
        )
    except EmbellishError as wrong:
        raise wrong.within(file=str(opened.path)) from wrong
    return checked_bed(opened, bedded, progress)


def checked_bed(
    opened: OpenJob,
    bedded: Bedded,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Checked:
    """Plan and check a job that is laid already.

    Raises
    ------
    EmbellishError
        For what the user must mend first.
    """
    progress("planning templates, marks and materials")
    try:
        plans = plan_job(opened, bedded)
    except EmbellishError as wrong:
        raise wrong.within(file=str(opened.path)) from wrong
    progress("checking")
    site = Site(
        bedded.layout,
        bedded.regions,
        bedded.edges_mm,
        stitches=plans.stitches,
        templates=plans.templates,
        materials=plans.materials,
        cloth=opened.job.cloth,
        garment=opened.job.garment,
        gaps_mm=bedded.gaps_mm,
        stretched=plans.as_set,
    )
    since = since_delivered(
        opened.deliveries, opened.size, opened.side, bedded.layout, plans.title.fingerprint
    )
    photo = noticed_of_photo(opened, bedded.layout)
    found = [*opened.findings, *since, *bedded.findings, *plans.findings, *photo, *check(site)]
    return Checked(opened, bedded, plans, tuple(gravest_first(found)))


def proof_of(checked: Checked, *, alone: bool = False) -> Drawing:
    """Return the picture the customer approves, or that picture without words and legend."""
    return proof_drawing(
        checked.layout,
        checked.titled(NEITHER),
        artwork=checked.bedded.shapes,
        cloth_colour=checked.opened.job.cloth.colour,
        threads=_base_threads(checked.plans),
        alone=alone,
        backdrop=None if alone else backdrop_of(checked.opened, checked.layout.page_mm),
    )


def _base_threads(plans: Plans) -> list[tuple[str, tuple[Floats, ...]]]:
    """Return the base design's threads as they lie on the finished garment."""
    base = plans.stitches.base
    if base is None:
        return []
    finished = plans.to_set.inverse()
    return [(colour, tuple(finished(line) for line in lines)) for colour, lines in base.lines()]


def _ground(checked: Checked) -> tuple[list[Shape], list[Shape]]:
    """Return the artwork and the garment's own marks as they lie while pieces are set."""
    to_set = checked.plans.to_set
    return (
        [shape.mapped(to_set) for shape in checked.bedded.shapes],
        [shape.mapped(to_set) for shape in checked.bedded.garment_marks],
    )


def chart_pages(checked: Checked) -> dict[str, list[Drawing]]:
    """Return the pages of each chart of a job, by the chart's name."""
    artwork, marks = _ground(checked)
    made = charts(checked.plans.as_set, checked.titled(NEITHER), artwork=artwork, marks=marks)
    paper = checked.opened.job.paper.size
    return {name: tiled_drawings(sheet, paper) for name, sheet in made.items()}


def templates_made(
    checked: Checked, templates: TemplatePlan, sheets: SheetPlan | None
) -> dict[str, bytes]:
    """Return the files of templates of a job, all of them or some, with its title and stamp."""
    return template_files(
        templates,
        checked.titled(NOT_TO_BE_CUT),
        sheets,
        state=_state(checked),
        paper=checked.opened.job.paper.size,
    )


def _state(checked: Checked) -> dict[str, Any] | None:
    """Return the facts of cloth stretched on a board; None where it lies flat."""
    cloth = checked.opened.job.cloth.as_set
    return None if cloth.relaxed else cloth.facts(checked.layout.page_mm)


def made_files(
    opened: OpenJob,
    *,
    anyway: bool = False,
    progress: Callable[[str], Progress] = lambda _: no_progress,
) -> Made:
    """Return a job with all its files; machine files only where no error stands, or anyway."""
    if "dxf" in opened.job.template.formats:
        extra("ezdxf")  # told before the work, not after it
    if opened.job.materials.spreadsheet:
        extra("xlsxwriter")
    checked = check_job(opened, progress)
    layout, plans = checked.layout, checked.plans
    files = {
        "layout.json": layout_json(
            layout, opened.job.quantity, least_layout_gap(layout), opened.side
        ),
        "materials.json": materials_json(plans.materials, plans.goods),
        "materials.csv": materials_csv(plans.materials),
        "quote.json": quote_json(plans.quote, plans.title),
    }
    if plans.goods:
        files["goods.csv"] = goods_csv(plans.goods, plans.quote.currency)
    progress("drawing the proof")
    proof = proof_of(checked)
    files |= proof_files(proof)
    picture = picture_png(proof_of(checked, alone=True), SHEET_PX)
    prices = opened.job.price
    files["quote.html"] = customer_quote_html(
        checked.titled(NEITHER), plans.quote, plans.materials, prices, picture
    )
    files["quote.pdf"] = sheet_pdf(files["quote.html"])
    files["costing.html"] = costing_html(
        checked.titled(NEITHER), plans.quote, plans.materials, prices
    )
    used = [line.piece for line in plans.materials.lines]
    care, own_words = care_of(opened.job.cloth, used), opened.job.garment.card
    spares = opened.job.materials.with_garment
    if care.known or own_words or spares or (used and opened.job.garment.for_child):
        files["care.html"] = care_card_html(
            plans.title, care, own_words, used, spares, opened.job.cloth.fibre
        )
        files["care.pdf"] = sheet_pdf(files["care.html"])
    checked = replace(checked, findings=(*checked.findings, *letters_told(files)))
    if opened.job.materials.spreadsheet:
        title = checked.titled(NEITHER)
        files["materials.xlsx"] = spreadsheet_xlsx(
            title.words, plans.materials, plans.quote, title.stop
        )
    withheld = checked.stopped and not anyway
    if not withheld:
        progress("writing templates and marks")
        state = _state(checked)
        files |= templates_made(checked, plans.templates, plans.sheets)
        marks, lost = marks_files(
            plans.stitches, plans.as_set, checked.titled(NOT_TO_BE_SEWN), state
        )
        files |= marks
        files |= paper_files(
            plans.paper,
            plans.as_set,
            checked.titled(NEITHER),
            frame_of(plans.as_set, *_ground(checked)),
            plans.templates.settings,
            state,
        )
        checked = replace(
            checked,
            findings=tuple(
                gravest_first([*checked.findings, *lost, *template_losses(plans.templates)])
            ),
        )
    progress("drawing the chart")
    artwork, garment_marks = _ground(checked)
    files |= chart_files(
        plans.as_set,
        checked.titled(NEITHER),
        artwork=artwork,
        marks=garment_marks,
        paper=opened.job.paper.size,
    )
    files |= transfer_files(
        plans.as_set, plans.transfer, plans.lifts, checked.titled(NEITHER), opened.job.paper.size
    )
    progress("writing the work sheet")
    files["worksheet.html"] = worksheet_html(
        checked.titled(NEITHER),
        plans.work,
        plans.materials,
        plans.templates,
        plans.stitches,
        checked.findings,
        picture,
        plans.sheets,
        opened.job.cloth.fibre,
    )
    files["findings.json"] = findings_json(checked.findings)
    return Made(checked, files, withheld)
