"""The work sheet: one page of HTML that prints, with everything the maker works from."""

from __future__ import annotations

from collections.abc import Iterator

from embellish.findings import Finding
from embellish.formats.html import Element, element, page, picture, table
from embellish.plans.materials import MaterialLine, MaterialsPlan
from embellish.plans.stitch import StitchPlan
from embellish.plans.template import TemplatePlan
from embellish.plans.title import TitleBlock
from embellish.plans.work import Step, WorkPlan

_STYLE = """
@page { size: A4; margin: 14mm 12mm; }
* { box-sizing: border-box; }
body { font: 11pt/1.4 system-ui, "DejaVu Sans", sans-serif; color: #1a1a1a; margin: 0 auto;
  max-width: 190mm; padding: 6mm; }
header { border-bottom: 1.5pt solid #1a1a1a; margin-bottom: 5mm; padding-bottom: 2mm; }
h1 { font-size: 19pt; margin: 0; }
h2 { font-size: 13pt; margin: 7mm 0 2mm; break-after: avoid; }
header p { margin: 0; color: #555; }
.stop { border: 2.5pt solid #b00020; color: #b00020; font-weight: 700; font-size: 15pt;
  padding: 3mm; text-align: center; margin: 4mm 0; }
figure { margin: 0; text-align: center; }
img { max-width: 100%; max-height: 165mm; }
table { border-collapse: collapse; width: 100%; font-size: 10pt; break-inside: auto; }
tr { break-inside: avoid; }
th, td { border-bottom: .5pt solid #bbb; padding: 1.2mm 2mm; text-align: left;
  vertical-align: top; }
th { border-bottom: 1pt solid #1a1a1a; }
td:first-child { white-space: nowrap; }
.files { color: #555; }
.swatch { display: inline-block; width: 4mm; height: 4mm; border: .5pt solid #1a1a1a;
  vertical-align: -.5mm; margin-right: 1.5mm; print-color-adjust: exact;
  -webkit-print-color-adjust: exact; }
.n { text-align: right; font-variant-numeric: tabular-nums; }
ol.steps { list-style: none; padding: 0; margin: 0; }
ol.steps > li { border: .5pt solid #bbb; border-radius: 2mm; padding: 2.5mm 3mm;
  margin-bottom: 2.5mm; break-inside: avoid; display: grid; grid-template-columns: 8mm 1fr auto;
  column-gap: 2mm; }
.box { width: 5mm; height: 5mm; border: 1pt solid #1a1a1a; border-radius: .8mm; margin-top: .6mm; }
.what b { display: block; }
.what p { margin: .6mm 0; }
.times { color: #555; white-space: nowrap; }
.counts { font-variant-numeric: tabular-nums; }
.cautions li { margin-bottom: 1.2mm; }
.source { color: #666; font-size: 8.5pt; }
.error { color: #b00020; font-weight: 700; }
footer { margin-top: 8mm; border-top: .5pt solid #bbb; padding-top: 2mm; color: #555;
  font-size: 9pt; }
@media print { body { padding: 0; max-width: none; } }
"""


def worksheet_html(
    title: TitleBlock,
    work: WorkPlan,
    materials: MaterialsPlan,
    templates: TemplatePlan,
    stitches: StitchPlan,
    findings: tuple[Finding, ...],
    proof_png: bytes,
) -> bytes:
    """Return the work sheet.

    Parameters
    ----------
    proof_png
        The picture of the finished piece.
    findings
        What was noticed; errors and warnings are shown, notes left out.
    """
    sections = [
        element("header", element("h1", title.title), element("p", _subtitle(title, work))),
        *_stop(title),
        element("figure", picture(proof_png, f"The finished piece: {title.title}")),
        *_noticed(findings),
        element("h2", "Order of work"),
        element("ol", *(_step(step) for step in work.steps), class_="steps"),
        element("h2", "Pieces"),
        table(
            ("code", "piece", "a garment", "in all", "spare", "from stock", "packs to buy"),
            [_line(line) for line in materials.lines],
            frozenset({2, 3, 4, 5}),
        ),
        *_templates(templates, work),
        *_stops(stitches),
        element("h2", "Cautions"),
        element(
            "ul",
            *(
                element("li", each.words, " ", element("span", f"({each.source})", class_="source"))
                for each in work.cautions
            ),
            class_="cautions",
        ),
        element("footer", title.words),
    ]
    return page(f"Work sheet · {title.words}", _STYLE, *sections)


def _subtitle(title: TitleBlock, work: WorkPlan) -> str:
    garments = "1 garment" if work.quantity == 1 else f"{work.quantity} garments"
    words = title.words.split(" · ")[1:]
    state = [title.state] if title.state else []
    return " · ".join(["Work sheet", garments, *words, *state])


def _stop(title: TitleBlock) -> Iterator[Element]:
    if title.stop:
        yield element("div", title.stop, class_="stop")


def _noticed(findings: tuple[Finding, ...]) -> Iterator[Element]:
    shown = [each for each in findings if each.severity != "note"]
    if not shown:
        return
    yield element("h2", "To look at first")
    yield element(
        "ul",
        *(
            element(
                "li",
                element("span", f"{each.severity}: ", class_=each.severity),
                f"{each.message.rstrip('.')}. {each.mend}".strip(),
            )
            for each in shown
        ),
    )


def _step(step: Step) -> Element:
    counts = ", ".join(f"{count} × {code}" for code, count in step.counts)
    # A lift names its templates in its title already.
    files = ", ".join(step.files) if step.kind != "lift" else ""
    what = [
        element("b", step.title),
        *(element("p", words) for words in step.words),
        *([element("p", counts, class_="counts")] if counts else []),
        *(
            [element("p", f"{'Files' if len(step.files) > 1 else 'File'}: {files}", class_="files")]
            if files
            else []
        ),
    ]
    times = "once" if step.times == 1 else f"{step.times} times"
    return element(
        "li",
        element("span", class_="box"),
        element("div", *what, class_="what"),
        element("span", times, class_="times"),
    )


def _line(line: MaterialLine) -> tuple[str, ...]:
    packs = " + ".join(f"{pack.quantity} of {pack.pieces}" for pack in line.packs)
    return (
        line.code,
        line.piece.name,
        str(line.per_garment),
        str(line.count),
        str(line.spare),
        str(line.from_stock) if line.from_stock else "",
        packs or "–",
    )


def _templates(templates: TemplatePlan, work: WorkPlan) -> Iterator[Element]:
    if not templates.templates:
        return
    yield element("h2", "Templates")
    yield element(
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
    yield table(
        ("template", "holes", "brush in, in this order", "cut", "sheet mm"), rows, frozenset({1})
    )


def _stops(stitches: StitchPlan) -> Iterator[Element]:
    if not stitches.hoopings:
        return
    yield element("h2", "Marks: what to do at each stop")
    rows = [
        (hooping.design.name, str(stop.block + 1), _swatch(stop.hex), stop.words)
        for hooping in stitches.hoopings
        for stop in hooping.stops
    ]
    yield table(("file", "block", "thread shown as", "what to do"), rows, frozenset({1}))


def _swatch(colour: str) -> Element:
    patch = element("span", class_="swatch", style=f"background: {colour}")
    return element("span", patch, colour)
