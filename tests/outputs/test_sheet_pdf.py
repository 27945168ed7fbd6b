"""Sheets as PDF: the words of the page, page after page, the same bytes; pictures and cards."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from pypdf import PdfReader
from reportlab import rl_config

from embellish.formats.html import element, page, picture, table
from embellish.outputs.drawing.drawing import Drawing
from embellish.outputs.drawing.pdf import pdf_bytes
from embellish.outputs.sheet_pdf import letters_told, sheet_pdf


def words(data: bytes) -> str:
    return " ".join(
        " ".join(each.extract_text().split()) for each in PdfReader(io.BytesIO(data)).pages
    )


def sheet(rows: int = 3, text: str = "Terms: paid on collection.") -> bytes:
    png = io.BytesIO()
    Image.new("RGB", (4000, 900), "#223344").save(png, "PNG")
    total = element(
        "tr", element("td", "to pay"), element("td", "9.50", class_="n"), class_="total"
    )
    prices = table(("", "EUR"), [("one garment", "9.50")], frozenset({1}))
    prices.find("tbody").append(total)
    return page(
        "Quote · Ánna <b>",
        "",
        element("header", element("h1", "Ánna & <b>Łucja</b>"), element("p", "2 garments")),
        picture(png.getvalue(), "The finished piece"),
        element("h2", "What is set"),
        table(("piece", "count"), [(f"stone {k}", str(k)) for k in range(rows)], frozenset({1})),
        element("h2", "Price"),
        prices,
        element("p", text, class_="words"),
    )


def test_every_word_of_the_page_is_there_and_nothing_is_taken_for_markup():
    read = words(sheet_pdf(sheet()))
    for told in (
        "Ánna & <b>Łucja</b>",
        "2 garments",
        "stone 2",
        "to pay",
        "9.50",
        "paid on collection",
    ):
        assert told in read


def test_the_same_page_gives_the_same_bytes_and_a_small_file():
    data = sheet_pdf(sheet())
    assert data == sheet_pdf(sheet())
    assert len(data) < 200_000


def test_long_tables_run_on_with_their_head_on_each_page():
    reader = PdfReader(io.BytesIO(sheet_pdf(sheet(rows=150))))
    assert len(reader.pages) >= 4
    for each in reader.pages[:3]:
        assert "piece" in each.extract_text()
    assert all(
        (float(each.mediabox.width), float(each.mediabox.height))
        == pytest.approx((595.28, 841.89), abs=0.01)
        for each in reader.pages
    )


@pytest.mark.parametrize("text", ["x" * 4000, "word " * 3000, "a\n\nb", "", "日本 🙂 &amp;"])
def test_no_text_stops_it(text: str):
    assert sheet_pdf(sheet(text=text)).startswith(b"%PDF-")


def test_letters_that_the_pdf_lacks_are_told():
    files = {"quote.html": sheet(text="For Ольга, Zoë Őri"), "quote.pdf": b"", "x.pdf": b""}
    (told,) = letters_told(files)
    assert "О л ь г а" in told.message
    assert "Ő" in told.message
    assert "ë" not in told.message
    assert letters_told({"quote.html": sheet(text="Zoë"), "x.pdf": b""}) == ()


def test_every_font_is_inside():
    reader = PdfReader(io.BytesIO(sheet_pdf(sheet())))
    fonts = [
        font.get_object()
        for each in reader.pages
        for font in each["/Resources"]["/Font"].values()  # type: ignore[index]  # a dictionary
    ]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


def test_cards_stand_two_by_two_on_one_page():
    cards = [
        element(
            "article",
            element("h1", "Moth"),
            element("ul", element("li", "Wash by hand."), element("li", "Do not iron.")),
            element("p", "Spare pieces go with it."),
        )
        for _ in range(4)
    ]
    data = sheet_pdf(page("Care", "", *cards))
    assert len(PdfReader(io.BytesIO(data)).pages) == 1
    assert words(data).count("Wash by hand.") == 4


def test_a_sheet_is_the_same_whatever_pdf_was_written_before(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawing = Drawing(20.0, 20.0, (), title="before")
    monkeypatch.setattr(rl_config, "useA85", 1)  # as the library is when it is new
    first = sheet_pdf(sheet())
    pdf_bytes([drawing])
    assert sheet_pdf(sheet()) == first
