"""Parts that printed sheets share: their style, headed parts, cautions, and steps to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from embellish.formats.html import Element, element, table
from embellish.plans.stitching.stitch import StitchPlan, Stop
from embellish.plans.working.cautions import Caution
from embellish.plans.working.work import Step

_LONG: Final = 24
"""Lines above which a table may go on over a page; its head is repeated there."""
_STYLE = """
@page { size: A4; margin: 14mm 12mm 16mm;
  @bottom-left { content: TITLE; font: 8.5pt sans-serif; color: #555; }
  @bottom-right { content: "page " counter(page) " of " counter(pages);
    font: 8.5pt sans-serif; color: #555; } }
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
figure { break-inside: avoid; }
img { max-width: 100%; max-height: 165mm; }
section { break-inside: avoid; }
section.long { break-inside: auto; }
table { border-collapse: collapse; width: 100%; font-size: 10pt; break-inside: auto; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border-bottom: .5pt solid #bbb; padding: 1.2mm 2mm; text-align: left;
  vertical-align: top; }
th { border-bottom: 1pt solid #1a1a1a; }
td:first-child { white-space: nowrap; }
.files { color: #555; }
.swatch { display: inline-block; width: 4mm; height: 4mm; border: .5pt solid #1a1a1a;
  vertical-align: -.5mm; margin-right: 1.5mm; print-color-adjust: exact;
  -webkit-print-color-adjust: exact; }
.dab { display: inline-block; width: 3.2mm; height: 3.2mm; border: .5pt solid #777;
  border-radius: 50%; vertical-align: -.4mm; margin-right: 1.5mm; print-color-adjust: exact;
  -webkit-print-color-adjust: exact; }
.n { text-align: right; font-variant-numeric: tabular-nums; }
ol.steps { list-style: none; padding: 0; margin: 0; }
ol.steps > li { border: .5pt solid #bbb; border-radius: 2mm; padding: 2.5mm 3mm;
  margin-bottom: 2.5mm; break-inside: avoid; display: grid; grid-template-columns: 8mm 1fr auto;
  column-gap: 2mm; }
ol.steps > li.long { break-inside: auto; }
.box { width: 5mm; height: 5mm; border: 1pt solid #1a1a1a; border-radius: .8mm; margin-top: .6mm; }
.what b { display: block; font-size: 12pt; }
.what table { margin: 1mm 0 1.5mm; }
.what p { margin: .6mm 0; }
.times { color: #555; white-space: nowrap; }
.whole { white-space: nowrap; }
.counts { font-variant-numeric: tabular-nums; }
.cautions { padding-left: 5mm; margin: 0; }
.cautions li { margin-bottom: 1.2mm; }
li { break-inside: avoid; }
.source { color: #666; font-size: 8.5pt; }
.error { color: #b00020; font-weight: 700; }
footer { margin-top: 8mm; border-top: .5pt solid #bbb; padding-top: 2mm; color: #555;
  font-size: 9pt; }
/* Printed, every page has its own foot: this one could stand alone on a last page. */
@media print { body { padding: 0; max-width: none; } footer { display: none; } }
"""


def style(foot: str) -> str:
    """Return the style of a sheet whose pages carry these words, a string of CSS, at their foot."""
    return _STYLE.replace("TITLE", foot)


def section(head: str, *children: Element, lines: int) -> Element:
    """Return a headed part that stays on one page where it can."""
    whole = "long" if lines > _LONG else "short"
    return element("section", element("h2", head), *children, class_=whole)


def css_string(words: str) -> str:
    """Return words as a string of CSS, each character by its number, so that none can end it."""
    return '"' + "".join(f"\\{ord(c):x} " for c in words if c >= " ") + '"'


def cautions(which: Sequence[Caution]) -> Iterator[Element]:
    """Yield the list of cautions, each with where it comes from."""
    if not which:
        return
    items = (
        element("li", each.words, " ", element("span", f"({each.source})", class_="source"))
        for each in which
    )
    listed = element("ul", *items, class_="cautions")
    yield section("Cautions", listed, lines=len(which))


def steps(work: Sequence[Step], stitches: StitchPlan) -> Element:
    """Return the order of work, each step with a box to tick and what to do at its stops."""
    return element("ol", *(_step(step, stitches) for step in work), class_="steps")


def _step(step: Step, stitches: StitchPlan) -> Element:
    counts = [element("span", f"{count} × {code}", class_="whole") for code, count in step.counts]
    # A lift names its templates in its title already.
    files = ", ".join(step.files) if step.kind != "lift" else ""
    stops = list(_stops(step, stitches))
    what = [
        element("b", step.title),
        *(element("p", words) for words in step.words),
        *_stop_table(stops),
        *([element("p", *_listed(counts), class_="counts")] if counts else []),
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
        class_="long" if len(stops) > _LONG else "short",
    )


def _listed(items: Sequence[Element]) -> Iterator[Element | str]:
    """Yield items with commas between them."""
    for number, item in enumerate(items):
        if number:
            yield ", "
        yield item


def _stops(step: Step, stitches: StitchPlan) -> Iterator[Stop]:
    """Yield the stops of the files that a step sews."""
    if step.kind == "sew-marks":
        for hooping in stitches.hoopings:
            if hooping.design.name in step.files:
                yield from hooping.stops


def _stop_table(stops: list[Stop]) -> list[Element]:
    if not stops:
        return []
    rows = [(str(stop.block + 1), _swatch(stop.hex), stop.words) for stop in stops]
    return [table(("block", "thread shown as", "what to do"), rows, frozenset({0}))]


def _swatch(colour: str) -> Element:
    patch = element("span", class_="swatch", style=f"background: {colour}")
    return element("span", patch, colour)


def dab(colour: str) -> Element:
    """Return a dab of a piece's colour."""
    return element("span", class_="dab", style=f"background: {colour}")
