"""Lists of suppliers put into files: comments stay, what is not listed stays, nothing half-done."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from embellish.catalogue.catalogue import read_catalogue, shipped
from embellish.catalogue.shipped import shipped_names
from embellish.errors import CatalogueError, OutputError
from embellish.job.price_lists import (
    exported,
    map_text,
    new_catalogue,
    open_list,
    rest_text,
    updated_catalogue,
)

MINE = """# my own stock
[catalogue]
currency = "EUR"

[sizes.ss]
SS6 = { size_mm = [1.9, 2.0, 2.1] }
[colours.plain]
RED = { name = "red", hex = "#aa0000" }
[[family]]
code = "F-{size}-{colour}"
kind = "stone"
fixing = "glue"
sizes = "ss"
colours = "plain"

[[piece]]
code = "A"  # the good one
kind = "stone"
fixing = "glue"
size_mm = [2.7, 2.8, 2.9]  # measured, ten of them
finish = "foiled"
source = "measured"
packs = [{ pieces = 144, price = "1.10" }]

[[piece]]
code = "B"
kind = "stone"
fixing = "glue"
size_mm = [3.8, 3.9, 4.0]
"""

LIST = "code,kind,fixing,size_mm,size_min_mm,size_max_mm,pack_pieces,price,currency\r\n"
ROW = "{},stone,glue,2.8,2.7,2.9,144,{},EUR\r\n"


def updated(where: Path, text: str, before: str = MINE):
    (where / "list.csv").write_text(text)
    read, by = open_list(where / "list.csv", None)
    return updated_catalogue(before.encode(), read, by, "mine.toml")


def test_an_update_changes_what_is_listed_and_leaves_the_rest_as_written(tmp_path: Path):
    done = updated(tmp_path, LIST + ROW.format("A", "1.35") + ROW.format("NEW", "2.00"))
    assert (done.changed, done.new) == (("A",), ("NEW",))
    assert done.not_listed == ("F-SS6-RED", "B")
    text = done.content.decode()
    changed = text[: text.index('[[piece]]\ncode = "NEW"')].rstrip()
    assert (
        changed
        == MINE.replace(
            'packs = [{ pieces = 144, price = "1.10" }]', 'packs = [{pieces = 144, price = "1.35"}]'
        ).rstrip()
    )
    held = read_catalogue(done.content, "mine.toml")
    assert (held.pieces["A"].finish, held.pieces["A"].source) == ("foiled", "measured")
    again = updated(tmp_path, (tmp_path / "list.csv").read_text(), text)
    assert (again.content, again.changed, again.new) == (done.content, (), ())


def test_an_update_keeps_what_the_maker_measured(tmp_path: Path):
    before = MINE.replace(
        'finish = "foiled"', 'finish = "foiled"\ncolour = "dusk"\nhex = "#5b5577"'
    )
    text = "code,kind,fixing,size_mm,colour,pack_pieces,price,currency\r\n"
    done = updated(tmp_path, text + "A,stone,glue,2.8,dusk,144,1.35,EUR\r\n", before)
    piece = read_catalogue(done.content, "mine.toml").pieces["A"]
    assert (piece.length_mm.min, piece.length_mm.max, piece.hex) == (2.7, 2.9, "#5b5577")
    assert b"# measured, ten of them" in done.content
    assert str(piece.packs[0].price) == "1.35"


def test_codes_of_families_are_refused(tmp_path: Path):
    with pytest.raises(CatalogueError, match="1 codes of the list come from families: F-SS6-RED"):
        updated(tmp_path, LIST + ROW.format("F-SS6-RED", "1.35"))


@pytest.mark.parametrize("name", shipped_names("pieces"))
@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_shipped_catalogues_come_back_whole(name: str, ending: str, tmp_path: Path):
    catalogue, path = shipped(name), tmp_path / f"list{ending}"
    path.write_bytes(exported(catalogue, path))
    read, by = open_list(path, None)
    back = read_catalogue(new_catalogue(read, by, "back.toml"), "back.toml")
    assert dict(back.pieces) == dict(catalogue.pieces)
    assert back.currency == catalogue.currency


WHOLE = """[catalogue]
name = "Harbour bead shop (invented)"
currency = "EUR"
note = "prices of spring"

[[piece]]
code = "A"
kind = "stone"
fixing = "glue"
size_mm = [2.7, 2.8, 2.9]
packs = [
    { pieces = 144, price = "1.10", supplier = "Harbour" },
    { pieces = 10, price = "0.30", supplier = "Hill & Sons" },
]

[suppliers.Harbour]
shipping = "4.90"
free_from = "60.00"
[suppliers."Hill & Sons"]
least_order = "25.00"
[suppliers.Elsewhere]
shipping = "12.00"

[[unit]]
name = "two of them"
members = [{ piece = "A" }, { piece = "A", dx_mm = 3.5, angle_deg = 45.0 }]
"""


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_list_and_map_together_are_the_whole_catalogue(ending: str, tmp_path: Path):
    whole = read_catalogue(WHOLE.encode(), "harbour.toml")
    path, beside = tmp_path / f"list{ending}", tmp_path / "map.toml"
    path.write_bytes(exported(whole, path))
    beside.write_text(rest_text(whole, path))
    read, by = open_list(path, beside)
    assert read_catalogue(new_catalogue(read, by, "new.toml"), "harbour.toml") == whole


@pytest.mark.parametrize("name", shipped_names("pieces"))
def test_nothing_of_a_shipped_catalogue_is_lost(name: str, tmp_path: Path):
    whole, path, beside = shipped(name), tmp_path / "list.csv", tmp_path / "map.toml"
    path.write_bytes(exported(whole, path))
    beside.write_text(rest_text(whole, path))
    read, by = open_list(path, beside)
    assert read_catalogue(new_catalogue(read, by, "new.toml"), whole.name) == whole


def test_a_list_that_says_all_needs_no_map():
    assert rest_text(read_catalogue(MINE.encode(), "mine.toml"), Path("list.csv")) == ""


def test_a_map_puts_its_terms_and_units_into_a_file(tmp_path: Path):
    before = MINE + '\n[suppliers.Harbour]\nshipping = "3.90"  # since spring\n'
    whole = read_catalogue(WHOLE.encode(), "harbour.toml")
    path, beside = tmp_path / "list.csv", tmp_path / "map.toml"
    path.write_bytes(exported(whole, path))
    beside.write_text(rest_text(whole, path))
    read, by = open_list(path, beside)
    done = updated_catalogue(before.encode(), read, by, "mine.toml")
    assert done.terms == ("Harbour", "Hill & Sons", "Elsewhere")
    assert done.units == ("two of them",)
    held = read_catalogue(done.content, "mine.toml")
    assert (held.suppliers, held.units) == (whole.suppliers, whole.units)
    assert b"# my own stock" in done.content
    again = updated_catalogue(done.content, read, by, "mine.toml")
    assert (again.content, again.terms, again.units) == (done.content, (), ())


def test_terms_without_a_currency_are_refused(tmp_path: Path):
    (tmp_path / "list.csv").write_text("code,kind,fixing,size_mm\nA,stone,glue,2.8\n")
    (tmp_path / "map.toml").write_text('[suppliers.Harbour]\nshipping = "4.90"\n')
    read, by = open_list(tmp_path / "list.csv", tmp_path / "map.toml")
    with pytest.raises(CatalogueError, match="no currency"):
        new_catalogue(read, by, "new.toml")


def test_a_list_is_the_same_every_time_and_has_no_formula(tmp_path: Path):
    text = MINE.replace('"foiled"', '"=1+1"')
    catalogue = read_catalogue(text.encode(), "mine.toml")
    for ending in (".csv", ".xlsx"):
        path = tmp_path / f"x{ending}"
        assert exported(catalogue, path) == exported(catalogue, path)
    assert b"'=1+1" in exported(catalogue, tmp_path / "x.csv")
    sheet = openpyxl.load_workbook(io.BytesIO(exported(catalogue, tmp_path / "x.xlsx"))).active
    assert sheet is not None
    cells = {str(cell.value): cell.data_type for row in sheet.iter_rows() for cell in row}
    assert cells["=1+1"] == "s"
    with pytest.raises(OutputError, match="ending"):
        exported(catalogue, tmp_path / "x.ods")


def test_a_map_is_started_below_a_title_and_reads_what_the_list_writes(tmp_path: Path):
    path = tmp_path / "prices.csv"
    path.write_text(
        "Spring prices (invented);;;\n;;;\nNr;Diameter;Backing;Net\nA;2,80;HF;1,10\nB;3,9;HF;1,9\n"
    )
    text = map_text(path)
    assert "head_row = 3" in text
    assert 'decimal = ","' in text
    assert '"HF" = "heat-set"' in text
    assert "# Not used: 'Nr'" in text
    (tmp_path / "map.toml").write_text(
        text.replace("[columns]", '[columns]\ncode = "Nr"').replace(
            'currency = ""', 'currency = "EUR"'
        )
    )
    read, by = open_list(path, tmp_path / "map.toml")
    assert [piece["code"] for piece in read.pieces] == ["A", "B"]
    assert (
        read_catalogue(new_catalogue(read, by, "n.toml"), "n.toml").pieces["B"].fixing == "heat-set"
    )


BAD = {
    "not utf-8": (b"code\xff\n", "UTF-8"),
    "nothing": (b"\n\n", "nothing in this list"),
    "no code": (b"Nr;Mass\nA;2\n", "no column is called 'code'"),
    "a broken spreadsheet": (b"PK\x03\x04 and no more", "damaged"),
    "quotes": (b'code\n"a\n', "cannot be read"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_list_is_refused_in_a_sentence(name: str, tmp_path: Path):
    data, words = BAD[name]
    (tmp_path / "list.csv").write_bytes(data)
    with pytest.raises(CatalogueError) as told:
        open_list(tmp_path / "list.csv", None)
    assert words in str(told.value)


def test_a_column_the_list_does_not_have_is_named(tmp_path: Path):
    (tmp_path / "list.csv").write_text("Nr,Size\nA,2\n")
    (tmp_path / "map.toml").write_text('[columns]\ncode = "Number"\n')
    with pytest.raises(CatalogueError, match="there is no column 'Number'"):
        open_list(tmp_path / "list.csv", tmp_path / "map.toml")
