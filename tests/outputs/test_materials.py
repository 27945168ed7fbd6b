"""materials.json and materials.csv: the contract, the same bytes, and no formulas."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.offers import Pack, Supplier
from embellish.formats.csv_lists import guarded
from embellish.outputs.materials import materials_csv, materials_json
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.materials import plan_materials
from tests.plans.seats import layout_of, stone

PIECES = (
    stone("A", (144, "1.10"), (1440, "8.50"), stock=3, name="clear, with a comma"),
    stone("=B+1", supplier="@shop", lot="-7"),
)


@pytest.fixture
def plan():
    catalogue = Catalogue("x", {piece.code: piece for piece in PIECES}, {}, currency="EUR")
    rules = MaterialSettings(spare_share=Decimal("0.05"), spare_least=2)
    return plan_materials(layout_of(PIECES, [0] * 150 + [1] * 2), 2, catalogue, rules)


def test_json_is_the_contract(plan):
    assert json.loads(materials_json(plan)) == {
        "currency": "EUR",
        "quantity": 2,
        "lines": [
            {
                "code": "A",
                "per_garment": 150,
                "count": 300,
                "spare": 15,
                "needed": 315,
                "from_stock": 3,
                "packs": [{"pieces": 144, "quantity": 3, "price": "1.10"}],
                "cost": "3.30",
                "left_over": 120,
                "next_cost": "4.40",
            },
            {
                "code": "=B+1",
                "per_garment": 2,
                "count": 4,
                "spare": 2,
                "needed": 6,
                "from_stock": 0,
                "packs": [],
                "cost": None,
                "left_over": 0,
                "next_cost": None,
            },
        ],
        "total": None,
    }


def test_csv_reads_back_with_the_same_numbers(plan):
    rows = list(csv.DictReader(io.StringIO(materials_csv(plan).decode(), newline="")))
    assert [(row["code"], row["needed"], row["cost"]) for row in rows] == [
        ("A", "315", "3.30"),
        ("'=B+1", "6", ""),
    ]
    assert rows[0]["name"] == "clear, with a comma"
    assert rows[0]["packs"] == "3 x 144 at 1.10"
    assert (rows[1]["supplier"], rows[1]["lot"]) == ("'@shop", "'-7")
    assert materials_csv(plan).endswith(b"\r\n")


def test_the_same_plan_has_the_same_bytes(plan):
    assert materials_json(plan) == materials_json(plan)
    assert materials_csv(plan) == materials_csv(plan)


@pytest.mark.parametrize("cell", ["=1", "+1", "-1", "@x", "\t=1", "\r=1"])
def test_no_cell_is_a_formula(cell):
    assert guarded(cell) == "'" + cell
    assert guarded("plain - text") == "plain - text"


def test_orders_are_told_by_supplier():
    a = stone("A", (144, "1.10"), supplier="Harbour", lot="7")
    b = stone("B", (144, "1.00"), supplier="Hillside")
    both = a.model_copy(
        update={"packs": (*a.packs, Pack(pieces=200, price=2, supplier="Hillside"))}
    )
    suppliers = {
        "Harbour": Supplier(shipping=Decimal(4)),
        "Hillside": Supplier(shipping=Decimal(3)),
    }
    catalogue = Catalogue("x", {"A": both, "B": b}, {}, "EUR", "", suppliers)
    plan = plan_materials(layout_of([both, b], [0, 1]), 1, catalogue)
    facts = json.loads(materials_json(plan))
    assert facts["orders"] == [{"supplier": "Hillside", "value": "3.00", "shipping": "3.00"}]
    assert facts["instead"] == {"suppliers": ["Harbour", "Hillside"], "cost": "9.10"}
    assert facts["lines"][0]["packs"] == [
        {"pieces": 200, "quantity": 1, "price": "2.00", "supplier": "Hillside", "lot": "7"}
    ]
    rows = list(csv.DictReader(io.StringIO(materials_csv(plan).decode(), newline="")))
    assert [(row["supplier"], row["lot"]) for row in rows] == [("Hillside", "7"), ("Hillside", "")]
