"""The quote as people read it: the customer sees a price and no cost, the shop every sum."""

from __future__ import annotations

import json
from pathlib import Path

import lxml.html
import pytest

from embellish.job.files import open_job
from embellish.job.making import made_files

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="40mm" viewBox="0 0 90 40">
<path id="a" d="M10 20 H80"/></svg>"""

JOB = """version = 1
title = "Band <1>"
quantity = 3
catalogues = ["mine.toml"]
[artwork]
file = "a.svg"
[[lay]]
id = "row"
shapes = "*"
way = "row"
pieces = ["S"]
gap_mm = 0.9
[price]
shop = "A shop (invented)"
customer = "C. Customer"
terms = "Half on order.\\n<script>alert(1)</script>"
tax_share = 0.10
markup_share = 0.5
labour_rate_per_hour = "30"
"""

PIECES = """[catalogue]
name = "Mine (invented)"
currency = "EUR"
[[piece]]
code = "S"
name = "round stone, sample"
kind = "stone"
length_mm = [2.7, 2.8, 2.9]
width_mm = [2.7, 2.8, 2.9]
fixing = "heat-set"
packs = [{ pieces = 100, price = "7.77" }]
"""


@pytest.fixture
def made(tmp_path: Path):
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "mine.toml").write_text(PIECES)
    (tmp_path / "job.toml").write_text(JOB)
    return made_files(open_job(tmp_path / "job.toml"))


def words(content: bytes) -> str:
    body = lxml.html.fromstring(content).find("body")
    assert body is not None
    return " ".join("".join(str(part) for part in body.itertext()).split())


def test_the_customer_sees_price_and_terms_and_no_cost(made):
    plan = made.checked.plans.quote
    told = words(made.files["quote.html"])
    assert f"one garment {plan.price_per_garment}" in told
    assert f"3 garments {plan.price}" in told
    assert f"to pay {plan.total} EUR" in told
    assert "For C. Customer" in told
    assert "<script>" in told  # as words
    assert b"<script>" not in made.files["quote.html"]
    assert "7.77" not in told
    for hidden in ("markup", "margin", "cost", "overhead", "an hour"):
        assert hidden not in told.lower()


def test_the_shop_sees_every_line_and_they_add_up(made):
    plan = made.checked.plans.quote
    told = words(made.files["costing.html"])
    for line in plan.lines:
        assert line.rule in told
    assert plan.cost is not None
    assert plan.price is not None
    assert f"left over {plan.price - plan.cost} EUR" in told
    assert "default, common practice" in told


def test_without_a_price_none_is_quoted(tmp_path: Path):
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "mine.toml").write_text(PIECES.partition("packs")[0])
    (tmp_path / "job.toml").write_text(JOB)
    files = made_files(open_job(tmp_path / "job.toml")).files
    assert "The price is not known yet" in words(files["quote.html"])
    assert "not known" in words(files["costing.html"])


def test_other_quantities_are_planned_afresh(tmp_path: Path):
    (tmp_path / "a.svg").write_text(SVG)
    (tmp_path / "mine.toml").write_text(PIECES)
    quantities = JOB.replace("tax_share", "quantities = [30, 1, 3, 3]\ntax_share")
    (tmp_path / "job.toml").write_text(quantities)
    made = made_files(open_job(tmp_path / "job.toml"))
    rows = json.loads(made.files["quote.json"])["at_quantities"]
    assert [row["quantity"] for row in rows] == [1, 3, 30]
    for row in rows:
        alone = JOB.replace("quantity = 3", f"quantity = {row['quantity']}")
        (tmp_path / "alone.toml").write_text(alone)
        plan = json.loads(made_files(open_job(tmp_path / "alone.toml")).files["quote.json"])
        assert {key: plan[key] for key in row} == row
        assert plan["at_quantities"] == []
    assert len({row["price_per_garment"] for row in rows}) == 3
    read = words(made.files["quote.html"])
    assert "Price by quantity" in read
    assert all(row["price_per_garment"] in read for row in rows)
    assert all(row["cost"] not in read for row in rows)
    assert all(row["cost"] in words(made.files["costing.html"]) for row in rows)
