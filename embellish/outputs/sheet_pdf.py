"""A sheet of HTML as a PDF of A4 pages: the same words, tables and pictures, to be sent or printed.

Only what `formats.html` builds is understood: headings, paragraphs, lists, tables, pictures, cards.
Letters that the font has not are written plainly (see ``drawing.fonts``).
"""

from __future__ import annotations

import base64
from collections.abc import Iterator, Mapping
from io import BytesIO
from typing import Any, Final
from xml.sax.saxutils import escape

from lxml import html
from PIL import Image as Pictures

from embellish.findings import Finding
from embellish.outputs.drawing.fonts import drawable, pdf_library
from embellish.units import MM_PER_PT

_MM: Final = 1.0 / MM_PER_PT
_MARGIN_MM: Final = 18.0
_WIDE_MM: Final = 210.0 - 2.0 * _MARGIN_MM
_FRAME_PT: Final = 6.0
"""The library's frames keep so much free within the margins."""
_PICTURE_MM: Final = 110.0
_WITH_HEADING_MM: Final = 30.0
_MOST_PX: Final = 1600
"""A picture is stored no wider: at 174 mm that is 234 pixels to the inch."""
_MOST_LETTERS: Final = 20
_INK: Final = "#1d1f24"
_FAINT: Final = "#5d6270"
_LINE: Final = "#c9ccd3"
_STOP: Final = "#b3261e"


def sheet_pdf(page: bytes) -> bytes:
    """Return a page of HTML as a PDF; the same page gives the same bytes."""
    # reportlab takes a while to load, and most runs write no such sheet.
    from reportlab.platypus import SimpleDocTemplate  # noqa: PLC0415 - see above

    pdf_library()
    tree = html.document_fromstring(page.decode("utf-8"))
    title = drawable(" ".join(tree.findtext(".//title", "").split()))
    out = BytesIO()
    document = SimpleDocTemplate(
        out,
        pagesize=(210.0 * _MM, 297.0 * _MM),
        leftMargin=_MARGIN_MM * _MM - _FRAME_PT,
        rightMargin=_MARGIN_MM * _MM - _FRAME_PT,
        topMargin=_MARGIN_MM * _MM,
        bottomMargin=_MARGIN_MM * _MM,
        title=title,
        creator="embellish",
        invariant=1,
        initialFontName="words",
    )
    document.build(
        list(_flowing(tree.find(".//body"))), onFirstPage=_numbered, onLaterPages=_numbered
    )
    return out.getvalue()


def letters_told(files: Mapping[str, bytes]) -> tuple[Finding, ...]:
    """Tell of letters that a PDF of these files shows plainly or as '?'; its page has them all."""
    found: dict[str, None] = {}
    for name in files:
        page = files.get(name.replace(".pdf", ".html"))
        if name.endswith(".pdf") and page is not None:
            body: Any = html.document_fromstring(page.decode("utf-8")).find(".//body")
            words = body.text_content()
            found |= dict.fromkeys(c for c in words if c.isprintable() and drawable(c) != c)
    if not found:
        return ()
    letters = " ".join(list(found)[:_MOST_LETTERS])
    return (
        Finding(
            "letters-not-in-pdf",
            "warning",
            f"the PDF of quote or care card cannot show these letters as they are: {letters}",
            mend="Print the .html page instead: it shows them all.",
        ),
    )


def _numbered(canvas: Any, document: Any) -> None:
    canvas.saveState()
    canvas.setFont("words", 8)
    canvas.setFillColor(_FAINT)
    canvas.drawRightString((210.0 - _MARGIN_MM) * _MM, 9.0 * _MM, str(document.page))
    canvas.restoreState()


def _flowing(parent: Any) -> Iterator[Any]:
    """Yield what flows down the pages."""
    from reportlab.platypus import CondPageBreak, Spacer  # noqa: PLC0415 - see sheet_pdf

    cards = parent.findall("article")
    if cards:
        yield _cards(cards)
        return
    for each in parent:
        if each.tag in ("header", "section", "main"):
            yield from _flowing(each)
            continue
        if each.tag == "h2":
            # A heading never stands alone at the foot of a page.
            yield CondPageBreak(_WITH_HEADING_MM * _MM)
        yield _made(each)
        if each.tag in ("table", "img"):
            yield Spacer(1, 3.0 * _MM)


_STYLES: Final[dict[str, dict[str, Any]]] = {
    "h1": {"size": 19.0, "bold": True, "after_mm": 2.0},
    "h2": {"size": 12.5, "bold": True, "before_mm": 5.0, "after_mm": 1.5},
    "stop": {"size": 11.0, "bold": True, "colour": "#ffffff", "back": _STOP, "after_mm": 3.0},
    "faint": {"size": 9.5, "colour": _FAINT, "after_mm": 1.5},
    "p": {"size": 9.5, "after_mm": 1.5},
}
"""How headings, paragraphs and those of a class look."""


def _made(each: Any) -> Any:
    from reportlab.platypus import ListFlowable  # noqa: PLC0415 - see sheet_pdf

    if each.tag == "table":
        return _table(each)
    if each.tag == "img":
        return _picture(each.get("src", ""))
    if each.tag == "ul":
        items = [_words(item, 10.0) for item in each.findall("li")]
        return ListFlowable(
            items, bulletType="bullet", bulletFontName="words", bulletFontSize=5, leftIndent=10
        )
    return _words(each, **_STYLES.get(each.get("class", ""), _STYLES.get(each.tag, _STYLES["p"])))


def _words(
    each: Any,
    size: float,
    *,
    bold: bool = False,
    colour: str = _INK,
    back: str | None = None,
    before_mm: float = 0.0,
    after_mm: float = 0.0,
    right: bool = False,
) -> Any:
    from reportlab.lib.styles import ParagraphStyle  # noqa: PLC0415 - see sheet_pdf
    from reportlab.platypus import Paragraph  # noqa: PLC0415 - see sheet_pdf

    style = ParagraphStyle(
        "words",
        fontName="words-bold" if bold else "words",
        fontSize=size,
        leading=size * 1.4,
        textColor=colour,
        backColor=back,
        borderPadding=4 if back else 0,
        spaceBefore=before_mm * _MM,
        spaceAfter=after_mm * _MM,
        alignment=2 if right else 0,
        splitLongWords=1,
    )
    lines = [escape(drawable(" ".join(line.split()))) for line in each.text_content().split("\n")]
    while lines and not lines[0]:
        lines.pop(0)
    while lines and not lines[-1]:
        lines.pop()
    return Paragraph("<br/>".join(lines) or "&nbsp;", style)


def _table(each: Any) -> Any:
    from reportlab.platypus import Table  # noqa: PLC0415 - see sheet_pdf

    rows = []
    bold: list[int] = []
    for number, row in enumerate(each.iter("tr")):
        last = "total" in (row.get("class") or "")
        cells = row.findall("th") or row.findall("td")
        head = row.find("th") is not None
        bold += [number] if last else []
        rows.append([_words(c, 9.0, bold=head or last, right=c.get("class") == "n") for c in cells])
    columns = max(map(len, rows))
    # The first column holds words; numbers want little.
    share = [1.0 + 1.4 * (k == 0) for k in range(columns)]
    widths = [_WIDE_MM * _MM * part / sum(share) for part in share]
    styled = [
        ("FONTNAME", (0, 0), (-1, -1), "words"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, _LINE),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        *(("LINEABOVE", (0, number), (-1, number), 1.2, _INK) for number in bold),
    ]
    head_rows = 1 if each.find("thead") is not None else 0
    return Table(rows, colWidths=widths, repeatRows=head_rows, style=styled)


def _picture(source: str) -> Any:
    from reportlab.platypus import Image  # noqa: PLC0415 - see sheet_pdf

    shown = Pictures.open(BytesIO(base64.b64decode(source.partition(",")[2]))).convert("RGB")
    if shown.width > _MOST_PX:
        high = max(1, round(shown.height * _MOST_PX / shown.width))
        shown = shown.resize((_MOST_PX, high), Pictures.Resampling.LANCZOS)
    out = BytesIO()
    shown.save(out, "PNG")
    scale = min(_WIDE_MM / shown.width, _PICTURE_MM / shown.height)
    out.seek(0)
    return Image(out, shown.width * scale * _MM, shown.height * scale * _MM)


def _cards(cards: list[Any]) -> Any:
    """Return cards two by two, each in a dashed frame to be cut along."""
    from reportlab.platypus import Table  # noqa: PLC0415 - see sheet_pdf

    made = [[_card_part(part) for part in card] for card in cards]
    rows = [made[k : k + 2] for k in range(0, len(made), 2)]
    rows[-1] += [[]] * (2 - len(rows[-1]))
    styled: list[tuple[Any, ...]] = [
        ("BOX", (column, row), (column, row), 0.6, "#8a8f99", None, (3, 3))
        for row in range(len(rows))
        for column in range(2)
    ]
    styled += [("VALIGN", (0, 0), (-1, -1), "TOP"), ("FONTNAME", (0, 0), (-1, -1), "words")]
    return Table(rows, colWidths=[_WIDE_MM * _MM / 2.0] * 2, style=styled)


def _card_part(part: Any) -> Any:
    if part.tag == "h1":
        return _words(part, 12.0, bold=True, after_mm=1.5)
    if part.tag == "h2":
        return _words(part, 10.0, bold=True, before_mm=2.0, after_mm=1.0)
    return _made(part)
