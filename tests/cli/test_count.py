"""``embellish count``: jobs and orders, as a shop counts them."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from embellish.job.files import OpenJob, open_job
from embellish.job.orders import counting
from tests.artwork.own_font import own_font
from tests.cli.running import embellish

STAR = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<path id="star" d="M5 5H55V55H5Z"/></svg>"""

JOB = """version = 1
title = "Star"
catalogues = ["mine.toml"]
[artwork]
file = "star.svg"
[[lay]]
id = "edge"
shapes = "#star"
way = "row"
pieces = ["A"]
gap_mm = 1.2
[[lay]]
id = "sewn"
shapes = "#star"
way = "grid"
edge_mm = 8
pieces = ["S"]
gap_mm = 1.0
"""

SIZES = """
[[size]]
name = "S"
width_mm = 60
[[size]]
name = "L"
width_mm = 90
quantity = 3
"""

MINE = """[catalogue]
currency = "EUR"
[suppliers.Harbour]
shipping = "4.00"
[[piece]]
code = "A"
kind = "stone"
fixing = "heat-set"
size_mm = [2.7, 2.8, 2.9]
packs = [{ pieces = 100, price = "1.00", supplier = "Harbour" }]
[[piece]]
code = "S"
kind = "sequin"
fixing = "sew-on"
size_mm = [4.9, 5.0, 5.1]
holes = [{ diameter_mm = 1.0 }]
packs = [{ pieces = 50, price = "0.80" }]
"""

NAMED = """version = 1
title = "Named"
catalogues = ["mine.toml"]
[[lettering]]
text = "H"
font = "boxes.ttf"
cap_height_mm = 30
[[lay]]
id = "fill"
shapes = "#name"
way = "grid"
pieces = ["A"]
gap_mm = 1.0
"""

ORDER = """version = 1
title = "Choir"
customer = "Example choir"
due = 2026-12-12
rows = "choir.csv"
[[row]]
person = "Ana"
size = "S"
area = "left chest"
job = "star.toml"
quantity = 2
"""

ROWS = """job;person;size;area;text;quantity;note
star.toml;=Ben;L;back;;1;gift
star.toml;Ana;S;back;;1;
named.toml;Cy;XL;;HH;4;
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "boxes.ttf").write_bytes(own_font())
    for name, text in {
        "star.svg": STAR,
        "mine.toml": MINE,
        "star.toml": JOB + SIZES,
        "plain.toml": JOB,
        "named.toml": NAMED,
        "choir.toml": ORDER,
        "choir.csv": ROWS,
    }.items():
        (tmp_path / name).write_text(text)
    return tmp_path


def facts(shop: Path, *words: object) -> Any:
    done = embellish("count", *words, "--json", cwd=shop)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_an_order_is_counted_bought_and_packed_once(shop: Path):
    found = facts(shop, "choir.toml", "--out", "out")
    assert found["garments"] == 8
    assert [each["title"] for each in found["designs"]] == [
        *("Star, size S", "Star, size L", "Named · HH, HH"),
    ]
    small, large, named = found["designs"]
    assert [each["garments"] for each in found["designs"]] == [3, 1, 4]
    # Every way of counting comes to the same.
    lines = {line["code"]: line["count"] for line in found["materials"]["lines"]}
    for total in (
        [(lay["code"], lay["count"]) for each in found["designs"]
         for side in each["sides"] for lay in side["lays"]],
        [(code, number * row["quantity"]) for row in found["rows"]
         for code, number in row["pieces"].items()],
        [pair for size in found["sizes"] for pair in size["pieces"].items()],
    ):  # fmt: skip
        for code in ("A", "S"):
            assert sum(number for each, number in total if each == code) == lines[code]
    assert small["sides"][0]["templates"][0]["lifts"] == 3
    holes = sum(each["seats"] for each in large["sides"][0]["templates"])
    assert holes == sum(each["count"] for each in large["sides"][0]["lays"] if each["code"] == "A")
    assert small["sides"][0]["hoopings"][0]["times"] == 3
    assert named["sides"][0]["lays"][0]["count"] > 40
    assert found["materials"]["orders"][1] == {
        "supplier": "Harbour", "value": found["materials"]["lines"][0]["cost"], "shipping": "4.00",
    }  # fmt: skip
    assert Decimal(found["cost"]) == sum(
        Decimal(line["amount"]) for line in found["lines"] if not line["name"].startswith(_PRICED)
    )
    assert "3 designs" in next(each["rule"] for each in found["lines"] if each["name"] == "setup")
    assert "8 garments" in next(
        each["rule"] for each in found["lines"] if each["name"] == "garments"
    )
    out = shop / "out"
    packed = list(csv.DictReader(io.StringIO((out / "packing.csv").read_text(), newline="")))
    assert {each["person"] for each in packed} == {"Ana", "'=Ben", "Cy"}
    assert sum(int(each["all"]) for each in packed if each["code"] == "A") == lines["A"]
    sheet = (out / "shop.html").read_text()
    for word in ("Ana", "left chest", "Harbour", "gift", "due 2026-12-12"):
        assert word in sheet
    # What the work sheets of its designs would say, each once.
    for caution in ("makers' instructions", "small parts", "16 CFR 1501.4"):
        assert sheet.count(caution) == 1
    assert found["price"] in (out / "quote.html").read_text()
    quote = (out / "quote.html").read_text()
    assert found["cost"] not in quote
    assert quote.count("<img ") == 3, "a picture of each design"
    for design in found["designs"]:
        assert f"layout {design['sides'][0]['layout']}" in quote
    costing = (out / "costing.html").read_text()
    assert found["cost"] in costing
    for line in found["lines"]:
        assert line["amount"] in costing
    assert "next-cheapest packs" in costing


_PRICED = ("price", "tax", "total")


def test_jobs_are_counted_together_and_each_layout_laid_once(shop: Path):
    one = facts(shop, "plain.toml")
    both = facts(shop, "plain.toml", "star.toml")
    assert both["garments"] == 1 + 1 + 3
    (a, _) = one["materials"]["lines"]
    together = {line["code"]: line["count"] for line in both["materials"]["lines"]}
    sizes = {each["size"]: each for each in both["sizes"]}
    assert together["A"] == a["count"] + sizes["S"]["pieces"]["A"] + sizes["L"]["pieces"]["A"]
    assert [each["size"] for each in both["designs"]] == ["", "S", "L"]


def test_each_job_is_opened_once(shop: Path, monkeypatch: pytest.MonkeyPatch):
    opened: list[str] = []

    def noted(path: Path) -> OpenJob:
        opened.append(path.name)
        return open_job(path)

    monkeypatch.setattr(counting, "open_job", noted)
    counted = counting.count_together([shop / "plain.toml", shop / "star.toml"])
    assert opened == ["plain.toml", "star.toml"]
    assert [each.size for each in counted.designs] == ["", "S", "L"]


def test_the_size_of_a_job_without_sizes_is_a_label(shop: Path):
    (shop / "o.toml").write_text(
        'title = "O"\n[[row]]\njob = "plain.toml"\nsize = "M"\n'
        '[[row]]\njob = "plain.toml"\nsize = "L"\n'
    )
    found = facts(shop, "o.toml")
    assert [each["garments"] for each in found["designs"]] == [2]
    assert [each["size"] for each in found["sizes"]] == ["M", "L"]


@pytest.mark.parametrize(
    ("order", "rows", "sentence"),
    [
        ('title = "O"', None, "there is nothing in this order"),
        ('title = "O"\nrow = 1', None, "Write it as [[row]]"),
        ('title = "O"\n[[row]]\njob = "nowhere.toml"', None, "row 1 (nowhere)"),
        ('title = "O"\n[[row]]\njob = "star.toml"', None, "Give the row one of S, L"),
        ('title = "O"\n[[row]]\njob = "star.toml"\nsize = "XXL"', None, "no size 'XXL'"),
        ('title = "O"\n[[row]]\njob = "plain.toml"\ntext = "A"', None, "no words of its own"),
        ('title = "O"\n[[row]]\njob = "plain.toml"\nquantity = 0', None, "quantity"),
        ('title = "O"\n[[row]]\njob = "plain.toml"\npersn = "A"', None, "Did you mean 'person'"),
        ('[[row]]\njob = "plain.toml"', None, "title"),
        ('title = "O"\nrows = "r.csv"', "person\nAna\n", "no column is called 'job'"),
        ('title = "O"\nrows = "r.csv"', "job,colour\na,b\n", "no column 'colour'"),
        ('title = "O"\nrows = "r.csv"', "job,quantity\nplain.toml,two\n", "line 2"),
        ('title = "O"\nrows = "r.csv"', None, "r.csv"),
    ],
)
def test_an_order_that_cannot_be_is_one_sentence(
    shop: Path, order: str, rows: str | None, sentence: str
):
    (shop / "o.toml").write_text(order)
    if rows is not None:
        (shop / "r.csv").write_text(rows)
    done = embellish("count", "o.toml", "--out", "out", cwd=shop)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert sentence in done.stderr
    assert not (shop / "out").exists()


def test_pieces_for_repairs_go_with_every_garment_and_its_card(shop: Path):
    job = JOB + (
        "[materials]\nspare_share = 0\nspare_least = 0\nwith_garment = 2\n"
        '[garment]\ncard = "Made <by hand>"\n[cloth.care]\nwash_c = 30\n'
    )
    (shop / "carded.toml").write_text(job)
    (shop / "o.toml").write_text(
        'title = "O"\n[[row]]\njob = "carded.toml"\nquantity = 3\n[[row]]\njob = "plain.toml"\n'
        "[materials]\nspare_share = 0\nspare_least = 0\nwith_garment = 2\n"
    )
    for files, garments in ((["carded.toml"], 1), (["o.toml"], 4)):
        for line in facts(shop, *files)["materials"]["lines"]:
            assert line["spare"] == 2 * garments
    done = embellish("make", "carded.toml", "--out", "made", cwd=shop)
    assert done.returncode == 0, done.stderr
    card = (shop / "made" / "care.html").read_text()
    assert "Wash at 30 °C at most" in card
    assert "Made &lt;by hand&gt;" in card
    assert "2 × A" in card


def test_what_a_child_wears_has_a_card_that_tells_of_small_parts(shop: Path):
    for use, there in (("child", True), ("adult", False)):
        (shop / "worn.toml").write_text(JOB + f'[garment]\nuse = "{use}"\n')
        done = embellish("make", "worn.toml", "--out", use, cwd=shop)
        assert done.returncode == 0, done.stderr
        card = shop / use / "care.html"
        assert card.exists() is there
    assert "keep them from children under 3" in (shop / "child" / "care.html").read_text()


def test_two_orders_at_once_are_refused(shop: Path):
    done = embellish("count", "choir.toml", "choir.toml", cwd=shop)
    assert done.returncode == 2
    assert "one at a time" in done.stderr


def test_an_order_may_have_a_spreadsheet_in_which_no_words_are_formulas(shop: Path):
    order = ORDER.replace('"Choir"', '"=1+1"') + "[materials]\nspreadsheet = true\n"
    (shop / "choir.toml").write_text(order)
    found = facts(shop, "choir.toml", "--out", "out")
    book = openpyxl.load_workbook(shop / "out/materials.xlsx")
    assert book.sheetnames == ["Materials", "Orders", "Quote"]
    head, *rows = list(book["Materials"].iter_rows(min_row=3, values_only=True))
    lines = {row[0]: dict(zip(head, row, strict=True)) for row in rows}
    for line in found["materials"]["lines"]:
        assert lines[line["code"]]["all garments"] == line["count"]
        assert lines[line["code"]]["needed"] == line["needed"]
    assert book["Materials"]["A1"].value.startswith("=1+1")
    assert not [cell for sheet in book for row in sheet for cell in row if cell.data_type == "f"]
