"""The work sheet: one page of HTML that prints, with everything the maker works from.

It is in the order of use: the picture, what to look at first, what to have ready, cautions, and
then every step, with what to do at each stop of the machine inside its step.
"""

from __future__ import annotations

from collections.abc import Iterator

from embellish.findings import Finding, counted
from embellish.formats.html import Element, element, page, picture, table
from embellish.outputs.pack_words import packs_words
from embellish.outputs.worksheet_parts import cautions, css_string, dab, section, steps, style
from embellish.plans.cut_sheets import SheetPlan
from embellish.plans.materials import MaterialLine, MaterialsPlan
from embellish.plans.stitching.stitch import StitchPlan
from embellish.plans.templates.template import TemplatePlan
from embellish.plans.title import TitleBlock
from embellish.plans.working.work import WorkPlan


def worksheet_html(
    title: TitleBlock,
    work: WorkPlan,
    materials: MaterialsPlan,
    templates: TemplatePlan,
    stitches: StitchPlan,
    findings: tuple[Finding, ...],
    proof_png: bytes,
    sheets: SheetPlan | None = None,
    fibre: str = "",
) -> bytes:
    """Return the work sheet.

    Parameters
    ----------
    proof_png
        The picture of the finished piece.
    sheets
        The templates laid on sheets, where they are cut from such.
    findings
        What was noticed; errors and warnings are shown, notes left out.
    fibre
        Of the cloth, where it is known.
    """
    sections = [
        element(
            "header",
            element("h1", title.title),
            element("p", _subtitle(title, work)),
            *([element("p", f"Cloth: {fibre}")] if fibre else []),
        ),
        *_stop(title),
        element("figure", picture(proof_png, f"The finished piece: {title.title}")),
        *_noticed(findings),
        section(
            "Pieces to have ready",
            table(
                ("code", "piece", "a garment", "in all", "spare", "from stock", "packs to buy"),
                [_line(line) for line in materials.lines],
                frozenset({2, 3, 4, 5}),
            ),
            lines=len(materials.lines),
        ),
        *_templates(templates, work, sheets),
        *cautions(work.cautions),
        element("h2", "Order of work"),
        steps(work.steps, stitches),
        element("footer", title.words),
    ]
    return page(f"Work sheet · {title.words}", style(css_string(title.words)), *sections)


def _subtitle(title: TitleBlock, work: WorkPlan) -> str:
    garments = counted(work.quantity, "garment")
    words = title.words.split(" · ")[1:]
    state = [title.state] if title.state else []
    return " · ".join(["Work sheet", garments, *words, *state])


def _stop(title: TitleBlock) -> Iterator[Element]:
    if title.stop:
        yield element("div", title.stop, class_="stop")


def _noticed(findings: tuple[Finding, ...]) -> Iterator[Element]:
    # What is alike is told once, for all its lays.
    shown: dict[tuple[str, str], list[str]] = {}
    for each in findings:
        if each.severity != "note":
            words = f"{each.message.rstrip('.')}. {each.mend}".strip()
            lays = shown.setdefault((each.severity, words), [])
            lays += [each.lay] if each.lay and each.lay not in lays else []
    if not shown:
        return
    yield element("h2", "To look at first")
    yield element(
        "ul",
        *(
            element(
                "li",
                element("span", f"{severity}: ", class_=severity),
                f"{', '.join(lays)}: {words}" if lays else words,
            )
            for (severity, words), lays in shown.items()
        ),
    )


def _line(line: MaterialLine) -> tuple[Element | str, ...]:
    return (
        element("span", dab(line.piece.hex), line.code),
        line.piece.name,
        str(line.per_garment),
        str(line.count),
        str(line.spare),
        str(line.from_stock) if line.from_stock else "",
        packs_words(line) or "–",
    )


def _templates(
    templates: TemplatePlan, work: WorkPlan, sheets: SheetPlan | None
) -> Iterator[Element]:
    if not templates.templates:
        return
    words = element(
        "p",
        f"Templates: {work.templates}, cut once and used for every garment. Transfer sheets: "
        f"{work.lifts}. Closings of the press: {work.passes}.",
    )
    rows = []
    for template in templates.templates:
        sides = {part.mirrored for part in template.parts}
        rows.append(
            (
                template.title,
                str(len(template.rows)),
                ", then ".join(template.order),
                " and ".join("mirrored" if side else "not mirrored" for side in sorted(sides)),
                ", ".join(f"{part.width_mm:.0f} × {part.height_mm:.0f}" for part in template.parts),
            )
        )
    told = [words]
    if sheets is not None:
        told.append(element("p", f"To be cut from {sheets.words}."))
    head = ("template", "holes", "brush in, in this order", "cut", "sheet mm")
    yield section("Templates", *told, table(head, rows, frozenset({1})), lines=len(rows))
