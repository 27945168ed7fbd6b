"""Catalogues as lists: whatever a piece says comes back; wrong cells and rows are told by line."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.care import Care
from embellish.catalogue.contents import Catalogue
from embellish.catalogue.lists.columns import Style
from embellish.catalogue.lists.mapping import ListMap, guessed, read_map
from embellish.catalogue.lists.reading import ListRead, read_pieces
from embellish.catalogue.lists.writing import rows_of
from embellish.catalogue.offers import Break, Pack
from embellish.catalogue.piece import Hole, LotStock, Piece, Span
from embellish.catalogue.reading import catalogue_of_tables
from embellish.catalogue.strung import Strung
from embellish.errors import CatalogueError, UnfitError

LIST = ListMap.model_validate({"list": {"currency": "EUR"}})


def read(rows: list[dict[str, str]], by: ListMap = LIST) -> ListRead:
    return read_pieces(list(enumerate(rows, 2)), by, "prices.csv")


def stone(**changes: str) -> dict[str, str]:
    held = {"code": "A", "kind": "stone", "fixing": "glue", "size_mm": "2.8", **changes}
    return {name: cell for name, cell in held.items() if cell}


words = st.text("abc é'=+-@,;:\"xyz ", max_size=12).map(str.strip)
lengths = st.floats(0.3, 40.0).map(lambda value: round(value, 3))
money = st.decimals(0, 1000, places=4, allow_nan=False)


@st.composite
def spans(draw: st.DrawFn) -> Span:
    least, nominal, most = sorted(draw(st.tuples(lengths, lengths, lengths)))
    return Span(min=least, nominal=nominal, max=most)


@st.composite
def packs(draw: st.DrawFn) -> Pack:
    price = draw(money)
    steps = sorted(draw(st.sets(st.integers(2, 900), max_size=3)))
    shares = sorted(draw(st.lists(st.integers(1, 90), min_size=3, max_size=3)))
    breaks = [Break(packs=n, off=share / 100) for n, share in zip(steps, shares, strict=False)]
    return Pack(
        pieces=draw(st.integers(1, 10**6)),
        length_m=draw(st.sampled_from([None, 1.0, 9.14])),
        grams=draw(st.sampled_from([None, 10.0, 2.5])),
        strands=draw(st.sampled_from([None, 1, 12])),
        price=price,
        breaks=tuple(breaks),
        supplier=draw(words),
        lot=draw(words),
        count_tolerance=draw(st.sampled_from([None, 0.0, 0.02, 0.125])),
        invented=draw(st.booleans()),
    )


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    size = draw(spans())
    round_ = draw(st.booleans())
    lots = draw(st.dictionaries(st.sampled_from(["L1", "L2", "b 3"]), st.integers(1, 99)))
    held = tuple(LotStock(lot=lot, pieces=count) for lot, count in lots.items())
    hole = Hole(x_mm=0.0, y_mm=-0.01, diameter_mm=0.05, axis=draw(st.sampled_from(["through"])))
    return Piece(
        code=draw(st.sampled_from(["=A", "-1", "A B", "Ü9"])),
        name=draw(words),
        kind=draw(st.sampled_from(["stone", "bead", "sequin"])),
        shape="round" if round_ else "oval",
        size=draw(words),
        length_mm=size,
        width_mm=size if round_ else draw(spans()),
        height_mm=draw(st.none() | lengths),
        colour=draw(words),
        hex=draw(st.sampled_from(["#102030", "#cccccc"])),
        finish=draw(words),
        fixing=draw(st.sampled_from(["glue", "sew-on"])),
        holes=draw(st.sampled_from([(), (hole,)])),
        packs=tuple(draw(st.lists(packs(), max_size=3))),
        count_tolerance=draw(st.sampled_from([0.0, 0.015, 1 / 3])),
        per_gram=draw(st.none() | lengths),
        per_strand=draw(st.none() | st.integers(1, 999)),
        weight_g=draw(st.none() | lengths),
        strung=draw(st.none() | st.just(Strung(pitch_mm=2.5, least_bend_mm=5.25, lost_links=2))),
        care=draw(st.sampled_from([Care(), Care(wash_c=0, hand_wash=False, dry_clean=True)])),
        supplier=draw(words),
        lot=draw(words),
        lots=held,
        stock=sum(lots.values()),
        source=draw(words),
    )


@settings(max_examples=200, deadline=None)
@given(pieces())
def test_all_that_a_piece_says_comes_back(piece: Piece):
    head, rows = rows_of(Catalogue("mine", {piece.code: piece}, currency="EUR"))
    cells = [{k: v for k, v in zip(head, row, strict=True) if v} for row in rows]
    back = read(cells)
    tables = {"catalogue": {"currency": back.currency or "EUR"}, "piece": list(back.pieces)}
    assert catalogue_of_tables(tables, "mine").pieces == {piece.code: piece}


@pytest.mark.parametrize(
    ("style", "cell", "value"),
    [
        (Style(), "1,234.5", "1234.5"),
        (Style(","), "1.234,5", "1234.5"),
        (Style(","), "1.234", "1234"),
        (Style(","), "2,80", "2.80"),
        (Style(), "1 234", "1234"),
        (Style(), "-0.5", "-0.5"),
    ],
)
def test_numbers_are_read_as_the_list_writes_them(style: Style, cell: str, value: str):
    assert style.number(cell) == Decimal(value)


@pytest.mark.parametrize(
    "cell", ["", "x", "1,2,3x", "NaN", "inf", "1.2.3", "2,80", "0,280", "-0,125", "012,345"]
)
def test_what_is_no_number_is_refused(cell: str):
    with pytest.raises(UnfitError, match="no number"):
        Style().number(cell)


@pytest.mark.parametrize(
    ("unit", "cell", "mm"),
    [
        ("mm", "2.8", 2.8),
        ("cm", "1.2", 12.0),
        ("inch", "0.5", 12.7),
        ("mm", '1/8"', None),
        ("cm", "3 mm", 3.0),
        ("mm", "1 in", 25.4),
    ],
)
def test_lengths_become_millimetres(unit: str, cell: str, mm: float | None):
    if mm is None:
        with pytest.raises(UnfitError):
            Style(unit=unit).length(cell)
    else:
        assert Style(unit=unit).length(cell) == mm


@pytest.mark.parametrize("cell", ["2,800", "2800", "40 inch"])
def test_lengths_of_a_metre_are_a_wrong_unit_or_sign(cell: str):
    with pytest.raises(UnfitError, match="no piece is so large"):
        Style().length(cell)


@pytest.mark.parametrize("half", [{"price": "2.50"}, {"pack_pieces": "144"}])
def test_half_a_pack_is_told(half: dict[str, str]):
    found = read([stone(code="B", **half), stone(pack_pieces="144", price="1.10")])
    (told,) = found.findings
    assert (told.code, told.severity) == ("half-packs", "warning")
    assert told.message.endswith("without their pack: B")
    assert ["packs" in piece for piece in found.pieces] == [False, True]


def test_rows_of_one_code_are_its_packs():
    rows = [
        stone(pack_pieces="144", price="1.10"),
        stone(pack_pieces="1440", price="€ 9.50", breaks="5: 9; 10: 10 %"),
    ]
    (piece,) = read(rows).pieces
    assert [pack["pieces"] for pack in piece["packs"]] == [144, 1440]
    assert piece["packs"][1]["breaks"] == [
        {"packs": 5, "price": Decimal(9)},
        {"packs": 10, "off": 0.1},
    ]


BAD: dict[str, tuple[list[dict[str, str]], str]] = {
    "no code": ([stone(code="")], "line 2: it has no code"),
    "no size": ([stone(size_mm="")], "line 2: 'A' has no size"),
    "no number": ([stone(), stone(code="B", size_mm="wide")], "line 3: size_mm: 'wide'"),
    "another size": ([stone(), stone(size_mm="3")], "'A' stands in line 2 too, with another size"),
    "twice": ([stone(), stone()], "'A' stands in line 2 too"),
    "half": ([stone(pack_pieces="1.5", price="1")], "no whole number"),
    "a kind": ([stone(kind="gem")], "line 2: piece 'A', kind"),
    "two currencies": (
        [stone(currency="USD", price="1", pack_pieces="9")],
        "prices in EUR and in USD",
    ),
    "holes": ([stone(holes="1 2")], "is no hole"),
    "lots": ([stone(lots="120")], "is no lot"),
    "breaks": ([stone(pack_pieces="9", price="1", breaks="5 = 2")], "is no price break"),
    "neither": ([stone(tumble_dry="perhaps")], "neither yes nor no"),
    "nothing": ([], "there is no piece"),
}


@pytest.mark.parametrize("name", BAD)
def test_wrong_rows_are_told_by_their_line(name: str):
    rows, words = BAD[name]
    with pytest.raises(CatalogueError) as told:
        read(rows)
    assert words in told.value.message
    assert told.value.file == "prices.csv"


def test_all_wrong_rows_are_told_at_once():
    rows = [stone(code=f"A{n}", size_mm="x") for n in range(9)]
    with pytest.raises(CatalogueError, match=r"9 rows cannot be read: line 2: .*; and 3 more"):
        read(rows)


def test_a_map_names_columns_words_colours_and_what_is_passed_over():
    text = b"""
    [list]
    decimal = ","
    size_spread_mm = 0.1
    [columns]
    code = "Nr"
    size_mm = "Mass"
    colour = "Farbe"
    fixing = "Art"
    [same]
    kind = "stone"
    [words.fixing]
    HF = "heat-set"
    [hex_of]
    Nebel = "#aabbcc"
    [leave_out]
    Stand = ["weg"]
    """
    row = {"Nr": "A", "Mass": "2,8", "Farbe": "Nebel", "Art": "HF", "Stand": ""}
    found = read([row, {**row, "Nr": "B", "Stand": "weg"}], read_map(text, "map.toml"))
    assert found.passed_over == 1
    (piece,) = found.pieces
    assert piece["size_mm"] == [2.7, 2.8, 2.9]
    assert (piece["hex"], piece["fixing"], piece["kind"]) == ("#aabbcc", "heat-set", "stone")
    assert "no-packs" in {each.code for each in found.findings}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"[columns]\ncoed = 'x'", "'coed'"),
        (b"[columns]\nkind = 'x'\n[same]\nkind = 'stone'", "both a column and the same"),
        (b"[list]\ndecimal = ';'", "decimal"),
        (b"[lits]\n", "lits"),
    ],
)
def test_a_map_that_is_wrong_is_refused(text: bytes, words: str):
    with pytest.raises(CatalogueError) as told:
        read_map(text, "map.toml")
    assert words in str(told.value)


def test_colours_of_own_words_are_grey_and_told():
    found = read([stone(colour="dusk over the harbour"), stone(code="B", colour="red")])
    assert [piece.get("hex") for piece in found.pieces] == ["#cccccc", None]
    assert [each.code for each in found.findings] == ["colours-unknown"]


def test_a_map_is_guessed_from_usual_words():
    tables: dict[str, Any] = guessed(
        ["Article no.", "Description", "Diameter (mm)", "Colour name", "Pcs per pack", "Price EUR"]
    )
    assert tables["columns"] == {
        "code": "Article no.",
        "name": "Description",
        "size_mm": "Diameter (mm)",
        "colour": "Colour name",
        "pack_pieces": "Pcs per pack",
        "price": "Price EUR",
    }
    assert set(tables["same"]) == {"kind", "fixing"}


@pytest.mark.parametrize(
    ("head", "unit", "pieces"),
    [
        (["SKU", "Size (mm)", "Gross per pack", "Price"], "gross", 288),
        (["SKU", "Size (mm)", "VPE (Gros)", "Preis"], "gross", 288),
        (["SKU", "Size (mm)", "Pack (dozen)", "Price"], "dozen", 24),
        (["SKU", "Size (mm)", "Pack", "Price"], None, 2),
    ],
)
def test_packs_counted_in_gross_are_guessed_and_read(
    head: list[str], unit: str | None, pieces: int
):
    tables = guessed(head)
    tables.pop("left")
    assert tables["list"].get("pack_unit") == unit
    tables["list"]["currency"] = "EUR"
    assert tables["columns"]["size_mm"] == "Size (mm)"
    by = ListMap.model_validate(tables)
    cells = dict(zip(head, ["A", "2.8", "2", "3.25"], strict=True))
    (row,) = read_pieces([(2, cells)], by, "list.csv").pieces
    assert row["packs"] == [{"pieces": pieces, "price": Decimal("3.25")}]


def test_a_price_per_gross_is_of_a_pack_of_144():
    tables = guessed(["Art.-Nr.", "Durchmesser (mm)", "Größe", "Price per gross"])
    assert tables["list"]["pack_unit"] == "gross"
    assert tables["same"]["pack_pieces"] == "1"
    assert tables["columns"] == {
        "code": "Art.-Nr.",
        "size": "Größe",
        "size_mm": "Durchmesser (mm)",
        "price": "Price per gross",
    }


def test_a_pack_is_a_whole_number_of_pieces():
    style = Style(".", "mm", "gross")
    assert (style.packed("0.5"), style.packed("10")) == (72, 1440)
    with pytest.raises(UnfitError, match="no whole number of pieces"):
        style.packed("0.3")


def test_a_row_of_sums_is_told_and_the_same_pack_at_two_prices_too():
    by = ListMap.model_validate(
        {
            "list": {"currency": "EUR"},
            "columns": {"code": "no", "size_mm": "mm", "pack_pieces": "pack", "price": "price"},
            "same": {"kind": "stone", "fixing": "glue"},
        }
    )
    one = {"no": "A", "mm": "2.8", "pack": "144", "price": "1.30"}
    with pytest.raises(CatalogueError, match="line 3: 'Sum' has no size"):
        read_pieces([(2, one), (3, {"no": "Sum", "price": "9"})], by, "list.csv")
    read = read_pieces([(2, one), (3, {**one, "price": "1.35"})], by, "list.csv")
    assert [each.message for each in read.findings if each.code == "packs-twice"] == [
        "the same pack stands there twice, and the lower price is taken: A"
    ]


def test_a_suppliers_lot_is_a_lot_and_fix_is_how_it_is_fixed():
    columns = guessed(["Art. No", "Fix", "Supplier lot", "Supplier"])["columns"]
    assert (columns["fixing"], columns["lot"]) == ("Fix", "Supplier lot")
    assert columns["supplier"] == "Supplier"
