"""Lists of names as spreadsheets write them, and what is wrong with the others."""

from __future__ import annotations

from typing import Any

import pytest

from embellish.errors import JobError
from embellish.job.name_list import NameRow, read_names, with_row

TABLE: dict[str, Any] = {
    "title": "Team",
    "quantity": 1,
    "lettering": [{"id": "name", "text": "Name", "font": "f.ttf", "cap_height_mm": 30}],
    "cloth": {"colour": "#102030"},
    "lay": [
        {"id": "fill", "shapes": "#name", "way": "grid", "pieces": ["A"], "gap_mm": 1.0},
        {"id": "edge", "shapes": "#name", "way": "row", "pieces": ["B"], "gap_mm": 1.0},
    ],
}


@pytest.mark.parametrize(
    "text",
    [
        "name,quantity,note\nAna,2,first\nZoë,,\n",
        "\ufeffName;quantity;Note\r\nAna;2;first\r\n;;\r\nZoë\r\n",
        "name\tquantity\tnote\n Ana \t2\tfirst\n\nZoë\t\t\n\n",
        'name,quantity,note\n"Ana","2","first"\n"Zoë","",""',
    ],
)
def test_lists_of_many_spreadsheets_are_one(text: str):
    first, second = read_names(text.encode(), "l.csv")
    assert (first.name, dict(first.cells), first.note) == ("Ana", {"quantity": "2"}, "first")
    assert (second.name, dict(second.cells), second.note) == ("Zoë", {}, "")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "nothing in this list"),
        (b"nme\nAna\n", "no column is called 'name'"),
        (b"name\n", "no names in this list"),
        (b"name,name\nA,B\n", "two columns are called 'name'"),
        (b"name,quantity\n,3\n", "line 2: this row has no name. Fill it in"),
        (b"name\nAna,Maria\n", "line 2: 'Maria' stands under no column"),
        (b'name\n"Ana\n', "line 2: this line cannot be read"),
        ("name\nZoë\n".encode("latin-1"), "'CSV UTF-8'"),
        (b"name\nA\0\n", "no list of names"),
        (b"name\n" + b"A\n" * 2001, "more than 2000 names"),
    ],
)
def test_what_is_no_list_is_told(data: bytes, told: str):
    with pytest.raises(JobError) as wrong:
        read_names(data, "l.csv")
    assert told in str(wrong.value)
    assert str(wrong.value).startswith("l.csv")


def row(**cells: str) -> NameRow:
    return NameRow(3, "Ana", {key.replace("__", "."): value for key, value in cells.items()})


def test_cells_stand_in_place_of_settings_and_the_job_stays_as_it_was():
    before = repr(TABLE)
    changed = with_row(
        TABLE,
        row(
            quantity="4",
            cloth__colour="#ffffff",
            lay__fill__pieces="C; D",
            lay__edge__gap_mm="0.8",
            lettering__cap_height_mm="25.5",
        ),
        "l.csv",
    )
    assert changed["title"] == "Team · Ana"
    assert changed["quantity"] == 4
    assert changed["cloth"] == {"colour": "#ffffff"}
    assert changed["lay"][0]["pieces"] == ["C", "D"]
    assert changed["lay"][1]["gap_mm"] == 0.8
    assert changed["lettering"][0] == {
        **TABLE["lettering"][0],
        "text": "Ana",
        "cap_height_mm": 25.5,
    }
    assert repr(TABLE) == before


def test_a_number_is_a_name_where_the_name_is_text():
    assert with_row(TABLE, NameRow(2, "007", {}), "l.csv")["lettering"][0]["text"] == "007"


@pytest.mark.parametrize(
    ("column", "told"),
    [
        ("quanity", "leads to no setting of a job. Did you mean 'quantity'?"),
        ("lay.pieces", "Write lay.fill.KEY, lay.edge.KEY"),
        ("lay.fil.pieces", "leads to no lay of this job"),
        ("edit.0.do", "leads to no setting"),
    ],
)
def test_a_column_that_leads_nowhere_is_told_with_its_line(column: str, told: str):
    with pytest.raises(JobError) as wrong:
        with_row(TABLE, NameRow(7, "Ana", {column: "x"}), "l.csv")
    assert told in str(wrong.value)
    assert "l.csv, line 7, 'Ana'" in str(wrong.value)


def test_where_no_words_are_the_name_it_is_said():
    words = [{"id": "club"}, {"id": "town"}]
    with pytest.raises(JobError, match="is the name"):
        with_row({**TABLE, "lettering": words}, row(), "l.csv")
