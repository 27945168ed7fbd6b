"""Reading catalogues: the right is read in full, the wrong is one sentence."""

from __future__ import annotations

import json
import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.catalogue import Catalogue, read_catalogue
from embellish.catalogue.offers import Pack
from embellish.catalogue.piece import Hole, Piece, Span
from embellish.catalogue.reading import catalogue_of_tables, tables_of
from embellish.errors import CatalogueError

WHOLE = """
[catalogue]
name = "my stock"
currency = "EUR"
[catalogue.sources]
caliper = "measured, ten of each"

[sizes.ss]
SS10 = { size_mm = [2.70, 2.80, 2.90], height_mm = 1.2, source = "{caliper}" }
SS16 = { size_mm = [3.80, 3.90, 4.00], source = "{caliper}" }

[colours.plain]
CLEAR = { name = "clear", hex = "#e8f1f5", finish = "foiled", group = "clear" }
RED = { hex = "#aa2233" }

[[family]]
code = "R-{size}-{colour}"
name = "stone {size} {colour}"
kind = "stone"
fixing = "heat-set"
sizes = "ss"
colours = "plain"
count_tolerance = 0.02
source = "common practice"
[[family.pack]]
pieces = 144
prices.clear = { SS10 = "1.10", SS16 = "1.60" }
prices.all = { SS10 = "1.30" }

[[piece]]
code = "MY-DROP"
kind = "stone"
shape = "pear"
fixing = "sew-on"
length_mm = [9.8, 10.0, 10.2]
width_mm = [5.8, 6.0, 6.2]
holes = [{ x_mm = 3.5, diameter_mm = 0.8 }]
stock = 12

[[unit]]
name = "drop with a stone"
members = [{ piece = "MY-DROP" }, { piece = "R-SS10-CLEAR", dx_mm = 7.0 }]
"""


def read(text: str) -> Catalogue:
    return read_catalogue(text.encode(), "stock.toml")


def test_a_family_expands_over_sizes_colours_and_prices():
    catalogue = read(WHOLE)
    assert list(catalogue.pieces) == [
        *("R-SS10-CLEAR", "R-SS10-RED", "R-SS16-CLEAR", "R-SS16-RED", "MY-DROP"),
    ]
    clear = catalogue.pieces["R-SS10-CLEAR"]
    assert clear.length_mm == clear.width_mm == Span(min=2.7, nominal=2.8, max=2.9)
    assert (clear.size, clear.colour, clear.hex, clear.finish) == (
        *("SS10", "clear", "#e8f1f5", "foiled"),
    )
    assert clear.name == "stone SS10 clear"
    assert clear.height_mm == 1.2
    assert clear.count_tolerance == 0.02
    assert clear.source == "measured, ten of each; common practice"
    assert clear.packs == (Pack(pieces=144, price=Decimal("1.10")),)
    assert catalogue.pieces["R-SS10-RED"].packs == (Pack(pieces=144, price=Decimal("1.30")),)
    assert catalogue.pieces["R-SS16-RED"].packs == ()
    assert catalogue.units["drop with a stone"].members[1].dx_mm == 7.0
    assert catalogue.currency == "EUR"


def test_a_catalogue_cannot_be_changed():
    catalogue = read(WHOLE)
    with pytest.raises(TypeError):
        catalogue.pieces["new"] = catalogue.pieces["MY-DROP"]  # type: ignore[index]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[[piece]]", "[[peice]]", ["stock.toml", "unknown key 'peice'", "'piece'"]),
        ('kind = "stone"\nshape', 'knid = "stone"\nshape', ["'MY-DROP'", "'knid'", "'kind'"]),
        ('shape = "pear"', 'shape = "peer"', ["'MY-DROP', shape", "peer", "pear"]),
        ("[9.8, 10.0, 10.2]", "[9.8, 10.0]", ["'MY-DROP', length_mm", "[min, nominal, max]"]),
        ("[9.8, 10.0, 10.2]", "10.0", ["'MY-DROP', length_mm", "[min, nominal, max]"]),
        ("[9.8, 10.0, 10.2]", "[10.2, 10.0, 9.8]", ["'MY-DROP', length_mm", "not in order"]),
        ("[9.8, 10.0, 10.2]", "[nan, nan, nan]", ["'MY-DROP', length_mm"]),
        ("[9.8, 10.0, 10.2]", "[-1, 10.0, 10.2]", ["'MY-DROP', length_mm", "above 0"]),
        ("x_mm = 3.5", "x_mm = 5.0", ["'MY-DROP'", "hole", "out of the piece"]),
        ('"MY-DROP"\nkind', '"R-SS10-RED"\nkind', ["'R-SS10-RED'", "already", "family"]),
        ('"MY-DROP"\nkind', '" MY-DROP"\nkind', ["code", "spaces"]),
        ("stock = 12", "stock = -1", ["'MY-DROP', stock"]),
        ('SS10 = "1.10"', "SS10 = 1.10", ["family 'R-{size}-{colour}'", "SS10", "text"]),
        ('SS10 = "1.10"', 'SSS10 = "1.10"', ["pack 1, prices.clear", "'SSS10'", "'SS10'"]),
        ("prices.clear", "prices.claer", ["pack 1, prices", "'claer'", "'clear'"]),
        ('sizes = "ss"', 'sizes = "sss"', ["[sizes.sss]", "'ss'"]),
        ('colours = "plain"', 'colours = "plane"', ["[colours.plane]", "'plain'"]),
        ("{size}-{colour}", "{size}-{color}", ["code", "{color}", "'colour'"]),
        ('-{colour}"', '"', ["'R-SS10'", "already"]),
        ('source = "{caliper}" }\nSS16', 'source = "{calliper}" }\nSS16', ["source", "'caliper'"]),
        ('currency = "EUR"', "", ["catalogue, currency", "EUR"]),
        ('currency = "EUR"', 'currency = "euro"', ["catalogue", "currency"]),
        ('hex = "#aa2233"', 'hex = "redd"', ["colours.plain.RED", "hex", "'red'"]),
        ("size_mm = [3.80, 3.90, 4.00], ", "", ["sizes.ss.SS16", "size_mm"]),
        ('name = "drop with a stone"', 'name = "MY-DROP"', ["'MY-DROP'", "taken"]),
        ("[[unit]]", "[unit]", ["unit", "[[unit]]"]),
        ("[colours.plain]", "[colours]", ["colours.CLEAR"]),
        ('RED = { hex = "#aa2233" }', "RED = 3", ["colours.plain", "'RED' must be a table"]),
    ],
)
def test_what_is_wrong_is_named_with_its_mend(old, new, words):
    assert old in WHOLE
    with pytest.raises(CatalogueError) as caught:
        read(WHOLE.replace(old, new, 1))
    sentence = str(caught.value)
    assert sentence.startswith("stock.toml")
    for word in words:
        assert word in sentence
    assert "\n" not in sentence


def test_broken_toml_names_the_line():
    with pytest.raises(CatalogueError, match=r"stock\.toml.*line 3"):
        read('[catalogue]\nname = "x"\ncurrency = = "EUR"\n')


def test_bytes_that_are_no_text_are_refused():
    with pytest.raises(CatalogueError, match="UTF-8"):
        read_catalogue(b"\xff\xfe\x00[", "stock.toml")


def test_size_mm_stands_for_both_in_a_single_piece():
    one = '[[piece]]\ncode = "A"\nkind = "bead"\nfixing = "sew-on"\nsize_mm = [1, 2, 3]\n'
    piece = read(one).pieces["A"]
    assert piece.length_mm == piece.width_mm == Span(min=1, nominal=2, max=3)
    with pytest.raises(CatalogueError, match="size_mm"):
        read(one + "width_mm = [1, 2, 3]\n")


def test_an_empty_file_is_an_empty_catalogue():
    assert len(read("")) == 0


words = st.text(st.characters(codec="utf-8", exclude_characters="{}"), max_size=12)
lengths = st.tuples(*[st.floats(0.5, 60)] * 3).map(sorted)


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    length = draw(lengths)
    shape = draw(st.sampled_from(["round", "oval", "pear", "rectangle"]))
    width = length if shape == "round" else draw(lengths)
    return Piece.model_validate(
        {
            "code": draw(st.from_regex(r"[A-Z0-9=+@/ -]{0,8}[A-Z]", fullmatch=True)).strip(),
            "name": draw(words),
            "kind": draw(st.sampled_from(["stone", "bead", "sequin"])),
            "shape": shape,
            "length_mm": length,
            "width_mm": width,
            "height_mm": draw(st.none() | st.floats(0.1, 20)),
            "fixing": draw(st.sampled_from(["heat-set", "sew-on", "glue"])),
            "holes": draw(st.just(()) | st.just((Hole(diameter_mm=0.3, axis="along"),))),
            "packs": draw(
                st.lists(
                    st.builds(
                        Pack,
                        pieces=st.integers(1, 10**6),
                        price=st.decimals(0, 10**6, places=4),
                        invented=st.booleans(),
                    ),
                    max_size=3,
                )
            ),
            "count_tolerance": draw(st.floats(0, 0.5)),
            "stock": draw(st.integers(0, 10**6)),
            "source": draw(words),
        }
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(pieces(), max_size=5, unique_by=lambda piece: piece.code))
def test_a_catalogue_written_as_tables_is_read_back_the_same(made):
    catalogue = Catalogue(
        "stock.toml", {piece.code: piece for piece in made}, {}, currency="EUR", note="a note"
    )
    kept = json.loads(json.dumps(tables_of(catalogue)))
    assert catalogue_of_tables(kept, "stock.toml") == catalogue


def test_units_are_kept_as_well():
    catalogue = read(WHOLE)
    assert catalogue_of_tables(tables_of(catalogue), "stock.toml") == catalogue


OFFERS = """[catalogue]
currency = "EUR"
[suppliers.Harbour]
shipping = "4.90"
free_from = "60.00"
[[piece]]
code = "A"
kind = "stone"
fixing = "heat-set"
size_mm = [2.8, 2.9, 3.0]
supplier = "Harbour"
packs = [
  {pieces = 99, price = "1.00", breaks = [{ packs = 5, off = 0.1 }, { packs = 9, price = "0.8" }]},
  { pieces = 10, price = "0.20", supplier = "Hillside", lot = "7", count_tolerance = 0.02 },
]
"""


def test_offers_of_several_suppliers_are_read_and_written():
    catalogue = read(OFFERS)
    assert catalogue.suppliers["Harbour"].free_from == Decimal("60.00")
    large, small = catalogue.pieces["A"].packs
    assert [large.price_of(n) for n in (1, 4, 5, 8, 9)] == [
        *(Decimal("1.00"), Decimal("1.00"), Decimal("0.900"), Decimal("0.900"), Decimal("0.8")),
    ]
    assert (small.supplier, small.lot, small.count_tolerance) == ("Hillside", "7", 0.02)
    again = catalogue_of_tables(tables_of(catalogue), "stock.toml")
    assert again.pieces == catalogue.pieces
    assert again.suppliers == catalogue.suppliers


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("off = 0.1", 'off = 0.1, price = "0.9"', "a price of its own, or a share off"),
        ("packs = 9", "packs = 4", "do not go up"),
        ('price = "0.8"', 'price = "0.95"', "makes the pack dearer"),
        ('shipping = "4.90"', "shipping = 4.9", 'Write "4.9"'),
        ('free_from = "60.00"', 'free = "60.00"', "Did you mean 'free_from'"),
        ('currency = "EUR"', "", "there are prices, but no currency"),
        ("[suppliers.Harbour]", "[suppliers]", "must be a table"),
    ],
)
def test_offers_that_cannot_be_are_told(old: str, new: str, sentence: str):
    with pytest.raises(CatalogueError, match=re.escape(sentence)):
        read(OFFERS.replace(old, new))


AMOUNTS = """
[catalogue]
currency = "EUR"
[[piece]]
code = "B"
kind = "bead"
fixing = "sew-on"
size_mm = [2.0, 2.1, 2.2]
per_gram = 117.5
per_strand = 230
packs = [{ grams = 10, price = "2.10" }, { strands = 3, price = "4.00" }]
"""


def test_packs_by_weight_and_strand_hold_what_the_piece_says():
    piece = read_catalogue(AMOUNTS.encode(), "mine.toml").piece("B")
    assert [(pack.pieces, pack.amount) for pack in piece.packs] == [
        (1175, "10 g"),
        (690, "3 strands"),
    ]


@pytest.mark.parametrize("missing", ["per_gram", "per_strand"])
def test_what_a_weight_or_strand_holds_must_be_said(missing: str):
    lines = [line for line in AMOUNTS.splitlines() if not line.startswith(missing)]
    with pytest.raises(CatalogueError, match=f"does not say {missing}"):
        read_catalogue("\n".join(lines).encode(), "mine.toml")
