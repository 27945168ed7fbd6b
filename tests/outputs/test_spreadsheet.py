"""The spreadsheet says what the plans say, as numbers, and runs nothing a user typed."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from decimal import Decimal

import openpyxl
import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.offers import Pack, Supplier
from embellish.outputs.materials import materials_csv, materials_json
from embellish.outputs.spreadsheet import spreadsheet_xlsx
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import MaterialsPlan, plan_materials
from embellish.plans.quote import WorkAmounts, plan_quote
from embellish.plans.title import TitleBlock
from tests.plans.seats import layout_of, stone

EVIL = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "http://example.org", "1e5", '=HYPERLINK("x")']


def planned(name: str = "", supplier: str = "Harbour") -> MaterialsPlan:
    a = stone("A").model_copy(
        update={
            "name": name,
            "packs": (Pack(pieces=144, price=Decimal("1.10"), supplier=supplier, lot="7"),),
        }
    )
    suppliers = {supplier: Supplier(shipping=Decimal("4.90"))}
    catalogue = Catalogue("c", {"A": a}, {}, "EUR", "", suppliers)
    return plan_materials(layout_of([a], [0] * 150), 2, catalogue, MaterialSettings())


def book(plan: MaterialsPlan, title: str = "Job") -> bytes:
    quote = plan_quote(plan, WorkAmounts({}))
    return spreadsheet_xlsx(TitleBlock(title, "A", "00000000").words, plan, quote)


def test_it_holds_what_is_planned_as_numbers():
    plan = planned("crystal")
    sheets = openpyxl.load_workbook(io.BytesIO(book(plan)))
    rows = list(sheets["Materials"].values)
    line = dict(zip(rows[2], rows[3], strict=True))
    assert (line["code"], line["all garments"], line["needed"]) == ("A", 300, 315)
    assert (line["bought"], line["cost (EUR)"]) == (432, 3.3)
    orders = list(sheets["Orders"].values)
    assert orders[3] == ("Harbour", "A", "crystal", "7", 144, 3, 1.1, 3.3)
    assert orders[4][:2] == ("Harbour", "sending")
    assert orders[4][-1] == 4.9
    quote = plan_quote(plan, WorkAmounts({}))
    amounts = [row[2] for row in list(sheets["Quote"].values)[3:]]
    assert amounts == [float(each.amount) for each in quote.lines]


def test_what_is_sold_by_weight_is_ordered_by_weight():
    beads = stone("A").model_copy(
        update={"packs": (Pack(pieces=550, grams=5, price=Decimal("1.10")),), "name": "seed bead"}
    )
    plan = plan_materials(layout_of([beads], [0] * 600), 1, Catalogue("c", {"A": beads}, {}, "EUR"))
    orders = list(openpyxl.load_workbook(io.BytesIO(book(plan)))["Orders"].values)
    assert orders[3][1:] == ("A", "seed bead, pack of 5 g", "", 550, 2, 1.1, 2.2)
    lines = list(csv.DictReader(io.StringIO(materials_csv(plan).decode(), newline="")))
    assert lines[0]["packs"] == "2 x 5 g (about 550) at 1.10"
    (pack,) = json.loads(materials_json(plan))["lines"][0]["packs"]
    assert (pack["amount"], pack["pieces"], pack["quantity"]) == ("5 g", 550, 2)


@pytest.mark.parametrize("text", EVIL)
def test_what_a_user_typed_stays_text(text: str):
    if text.startswith("\t"):
        data = book(planned(), title=text)
    else:
        data = book(planned(text, supplier=text), title=text)
    for sheet in openpyxl.load_workbook(io.BytesIO(data)):
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in {"s", "n"}, cell.value
                assert cell.hyperlink is None
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        written = b"".join(parts.read(name) for name in parts.namelist() if "sheet" in name)
    assert b"<f>" not in written


def test_the_same_plan_gives_the_same_bytes():
    assert book(planned("x")) == book(planned("x"))


def test_a_cost_that_is_not_known_is_said():
    bare = stone("B").model_copy(update={"packs": ()})
    plan = plan_materials(layout_of([bare], [0]), 1, Catalogue("c", {"B": bare}, {}, "EUR"))
    sheets = openpyxl.load_workbook(io.BytesIO(book(plan)))
    assert list(sheets["Materials"].values)[3][-1] == "not known"
