"""The chart: every piece in its place with its own symbol, plain and mirrored, whole on a page."""

from __future__ import annotations

import dataclasses
import io

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from pypdf import PdfReader

from embellish.errors import OutputError
from embellish.geometry.outlines import sampled
from embellish.layout.layout import Layout
from embellish.outputs.chart import chart_files
from embellish.outputs.chart_pages import HEAD_MM, tiled_drawings
from embellish.outputs.chart_sheet import ChartSheet, chart_sheet
from embellish.outputs.chart_signs import signs_of
from embellish.outputs.drawing.drawing import Chains, Circles, Drawing, Lines, Stamps, Words
from embellish.outputs.paper import MARGIN_MM, SIZES_MM, Paper
from embellish.outputs.seated import seated
from embellish.outputs.symbols import BASE, MOST, Symbol, symbols
from tests.outputs.cast import ALL, PEAR, STONE, TITLE, layout, one_of_each, piece, square_shape

SVG = "{http://www.w3.org/2000/svg}"


def sheet_of(laid: Layout, *, mirror: bool = False) -> ChartSheet:
    return chart_sheet(laid, TITLE, signs_of(laid), mirror=mirror)


def stamps_of(drawing: Drawing) -> list[Stamps]:
    layers = [each for each in drawing.layers if each.id == "pieces"]
    return [item for layer in layers for item in layer.items if isinstance(item, Stamps)]


def words_of(drawing: Drawing) -> str:
    items = [item for layer in drawing.layers for item in layer.items]
    return "\n".join(item.text for item in items if isinstance(item, Words))


def strewn(count: int, width: float, height: float, seed: int = 1) -> Layout:
    xy = np.random.default_rng(seed).uniform((0, 0), (width, height), (count, 2))
    return layout(
        [(x, y, 2.0 * i, ("PEAR", "BUGLE")[i % 2]) for i, (x, y) in enumerate(xy.tolist())]
    )


# Symbols


def inked(symbol: Symbol) -> np.ndarray:
    """Which of 61 × 61 cells a symbol paints, drawn at half height 1 in [-1.2, 1.2]."""
    parts: list[shapely.Geometry] = []
    for item in symbol.drawn(1.0, "#000000"):
        for line in item.lines:
            solid = shapely.Polygon(line).buffer(0) if item.closed else None
            parts.append(solid or shapely.LineString(line).buffer(item.style.stroke_width_mm / 2.0))
    whole = shapely.union_all(parts)
    shapely.prepare(whole)
    x, y = np.meshgrid(np.linspace(-1.2, 1.2, 61), np.linspace(-1.2, 1.2, 61))
    found: np.ndarray = shapely.contains_xy(whole, x, y)
    return found


ALL_SYMBOLS = tuple(symbols([str(number) for number in range(MOST)]).values())
INKED = np.array([inked(symbol).ravel() for symbol in ALL_SYMBOLS], dtype=np.float64)


def test_symbols_have_names_of_their_own_and_stay_within_their_circle():
    assert len({symbol.name for symbol in ALL_SYMBOLS}) == MOST
    x, y = np.meshgrid(np.linspace(-1.2, 1.2, 61), np.linspace(-1.2, 1.2, 61))
    outside = (np.hypot(x, y) > 1.19).ravel()
    assert not INKED[:, outside].any()
    assert (INKED.sum(axis=1) > 40).all()


@pytest.mark.parametrize(("many", "least"), [(len(BASE), 0.33), (MOST, 0.19)])
def test_no_symbol_looks_like_another(many: int, least: float):
    """Of what two symbols paint together, a share is painted by one of them alone."""
    ink = INKED[:many]
    both = ink @ ink.T
    alone = 1.0 - both / (ink.sum(axis=1)[:, None] + ink.sum(axis=1)[None] - both)
    np.fill_diagonal(alone, 1.0)
    i, j = np.unravel_index(alone.argmin(), alone.shape)
    assert alone[i, j] > least, (alone[i, j], ALL_SYMBOLS[i].name, ALL_SYMBOLS[j].name)


def test_more_codes_than_symbols_are_one_clear_sentence():
    with pytest.raises(OutputError) as told:
        symbols([str(i) for i in range(MOST + 1)])
    assert str(MOST) in str(told.value)
    assert "lays" in str(told.value)


# One sheet


def test_every_piece_stands_in_its_place_turned_as_laid():
    laid = one_of_each()
    sheet = sheet_of(laid)
    plain = seated(laid)
    assert len(sheet.xy) == len(plain.xy)
    assert np.allclose(sheet.xy - sheet.xy[0], plain.xy - plain.xy[0], atol=1e-9)
    assert np.allclose(sheet.angle_deg, plain.angle_deg)
    told = [sheet.codes[index] for index in sheet.which]
    assert told == [laid.pieces[index].code for index in plain.piece]
    signs = signs_of(laid)
    assert len({sign.symbol.name for sign in signs.values()}) == len(signs) == len(sheet.codes)


def test_the_design_is_wholly_on_its_sheet():
    laid = one_of_each()
    sheet = chart_sheet(laid, TITLE, signs_of(laid), [square_shape(-30.0, -5.0, 140.0)])
    # The square reaches beyond the pieces, so that it bounds the sheet.
    assert np.allclose((sheet.width_mm, sheet.height_mm), (140.0, 140.0))
    assert np.concatenate(sheet.lines).min() == pytest.approx(0.0)
    assert sheet.xy.min() > sheet.reach_mm
    alone = sheet_of(laid)
    edges = np.concatenate([outline_on(alone, row) for row in range(len(alone.xy))])
    assert edges.min() >= 0.0
    assert (edges.max(axis=0) <= (alone.width_mm, alone.height_mm)).all()


def outline_on(sheet: ChartSheet, row: int) -> np.ndarray:
    """Points of a piece's edge as it stands on the sheet, turned here by numpy alone."""
    edge = sheet.edges[sheet.which[row]]
    if isinstance(edge, Circles):
        turns = np.linspace(0, 2 * np.pi, 60)
        points = np.stack([np.cos(turns), np.sin(turns)], 1) * edge.radius_mm[0]
    else:
        assert isinstance(edge, Chains)
        points = sampled(edge.outlines[0], 1e-4)
    turn = np.radians(sheet.angle_deg[row])
    c, s = np.cos(turn), np.sin(turn)
    turned: np.ndarray = points @ np.array([[c, s], [-s, c]]) + sheet.xy[row]
    return turned


@given(
    seats=st.lists(
        st.tuples(
            st.floats(0, 80),
            st.floats(0, 80),
            st.floats(0, 359.9),
            st.sampled_from([*[each.code for each in ALL], "SPRIG"]),
        ),
        min_size=1,
        max_size=6,
    )
)
@settings(max_examples=40, deadline=None)
def test_turned_over_a_mirrored_chart_is_the_plain_one(seats):
    """Every piece's edge, units' members and pears' tips among them, seen from the other side."""
    laid = layout(seats)
    plain, mirrored = sheet_of(laid), sheet_of(laid, mirror=True)
    assert mirrored.width_mm == pytest.approx(plain.width_mm)
    for row in range(len(plain.xy)):
        one, two = outline_on(plain, row), outline_on(mirrored, row)
        back = np.column_stack([mirrored.width_mm - two[:, 0], two[:, 1]])
        here, there = shapely.Polygon(one), shapely.Polygon(back)
        apart = shapely.hausdorff_distance(here.exterior, there.exterior, densify=0.1)
        assert apart < 0.02, (seats, row)


def test_a_mirrored_pear_points_the_other_way():
    """A pear whose tip points right (0 degrees) points left on the mirrored chart."""
    for angle, tip in ((0.0, (-1.0, 0.0)), (90.0, (0.0, 1.0)), (30.0, (-0.866025, 0.5))):
        laid = layout([(20.0, 20.0, angle, PEAR.code), (50.0, 20.0, 0.0, STONE.code)])
        points = outline_on(sheet_of(laid, mirror=True), 0)
        centre = sheet_of(laid, mirror=True).xy[0]
        along, aside = np.array([tip, (-tip[1], tip[0])]) @ (points - centre).T
        assert np.ptp(aside[along > 3.0]) < 0.7 * np.ptp(aside[along < -3.0])


def test_symbols_are_upright_whatever_the_turn_of_the_piece():
    laid = layout([(20.0, 20.0, 137.0, PEAR.code), (40.0, 20.0, 0.0, PEAR.code)])
    ((drawn,),) = [stamps_of(page) for page in tiled_drawings(sheet_of(laid), "A4")[1:]]
    kinds = [type(drawn.pictures[picture][0]) for picture in drawn.which]
    assert kinds == [Chains, Lines, Chains, Lines]
    assert drawn.angle_deg.tolist() == [137.0, 0.0, 0.0, 0.0]
    assert np.array_equal(drawn.xy[0::2], drawn.xy[1::2])


# Pages


def whole_on(sheet: ChartSheet, drawing: Drawing) -> set[tuple[int, float]]:
    """The pieces that a page shows whole, inside its margins: code and turn."""
    found = set()
    for stamps in stamps_of(drawing):
        edges = np.flatnonzero(stamps.which < len(sheet.edges))
        one = dataclasses.replace(
            sheet,
            xy=stamps.xy[edges],
            which=stamps.which[edges],
            angle_deg=stamps.angle_deg[edges],
        )
        for row in range(len(edges)):
            points = outline_on(one, row)
            assert (points.min(axis=0) >= (MARGIN_MM, MARGIN_MM + HEAD_MM)).all()
            assert (points.max(axis=0) <= np.array(size_of(drawing)) - MARGIN_MM).all()
            found.add((int(one.which[row]), float(one.angle_deg[row])))
    return found


def size_of(drawing: Drawing) -> tuple[float, float]:
    return drawing.width_mm, drawing.height_mm


LONG = piece("LONG", "other", "rectangle", 60.0, 8.0)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("width", [60.0, 190.0, 260.0, 700.0])
@pytest.mark.parametrize("height", [40.0, 250.0, 500.0])
@pytest.mark.parametrize("long", [False, True])
def test_every_piece_is_whole_on_at_least_one_page(
    paper: Paper, width: float, height: float, long: bool
):
    xy = np.random.default_rng(4).uniform((0, 0), (width, height), (150, 2)).tolist()
    # A turn of its own names each piece.
    codes = ["PEAR", "NAVETTE", "LONG" if long else "BUGLE"]
    laid = layout(
        [(x, y, 2.0 * i, codes[i % 3]) for i, (x, y) in enumerate(xy)], pieces=(*ALL, LONG)
    )
    sheet = sheet_of(laid)
    first, *tiles = tiled_drawings(sheet, paper)
    assert not stamps_of(first)
    shown = set().union(*(whole_on(sheet, each) for each in tiles))
    assert shown == set(zip(sheet.which.tolist(), sheet.angle_deg.tolist(), strict=True))
    assert len(shown) == 150


def test_a_piece_longer_than_half_a_page_is_shown_where_it_reaches():
    huge = piece("HUGE", "other", "rectangle", 400.0, 20.0)
    laid = layout([(300.0, 300.0, 45.0, "HUGE"), (0.0, 0.0, 0.0, "STONE")], pieces=(*ALL, huge))
    tiles = tiled_drawings(sheet_of(laid), "A4")[1:]
    assert sum(bool(stamps_of(each)) for each in tiles) > 4


def test_pages_lie_together_by_their_crosses():
    """A cross of one page has its fellow at the same place of the design on its neighbour."""
    sheet = sheet_of(strewn(60, 330.0, 400.0))
    tiles = tiled_drawings(sheet, "A4")[1:]
    assert len(tiles) == 4
    seen: list[tuple[float, float]] = []
    for tile in tiles:
        stamps = stamps_of(tile)[0]
        row = int(stamps.which[0])
        (home,) = np.flatnonzero((sheet.which == row) & (sheet.angle_deg == stamps.angle_deg[0]))
        move = sheet.xy[home] - stamps.xy[0]
        for item in next(each for each in tile.layers if each.id == "match").items:
            assert isinstance(item, Lines)
            seen.append(tuple(np.round(item.lines[0].mean(axis=0) + move, 6).tolist()))
    assert len(seen) == 16
    assert all(seen.count(place) == 2 for place in seen)


def test_pages_are_turned_where_that_takes_fewer():
    wide, high = strewn(20, 240.0, 100.0), strewn(20, 100.0, 240.0)
    for laid, turned in ((wide, True), (high, False)):
        pages = tiled_drawings(sheet_of(laid), "A4")
        assert len(pages) == 2
        upright = SIZES_MM["A4"]
        assert {size_of(page) for page in pages} == {upright[::-1] if turned else upright}


def test_words_tell_what_a_page_is():
    laid = strewn(60, 330.0, 400.0)
    first, *tiles = tiled_drawings(sheet_of(laid), "A4")
    assert "2 × 2 pages" in words_of(first)
    for name, tile in zip(("A1", "A2", "B1", "B2"), tiles, strict=True):
        assert f"page {name} of B2" in words_of(tile)
    for page in (first, *tiles):
        assert TITLE.words in words_of(page)
        assert "not mirrored" in words_of(page)
    mirrored = tiled_drawings(sheet_of(laid, mirror=True), "A4")
    assert all("MIRRORED" in words_of(page) for page in mirrored)
    stopped = dataclasses.replace(TITLE, stop="NOT TO BE CUT")
    told = chart_sheet(laid, stopped, signs_of(laid))
    assert all("NOT TO BE CUT" in words_of(page) for page in tiled_drawings(told, "A4"))


@pytest.mark.parametrize("width", [60.0, 240.0])
@pytest.mark.parametrize("many", [1, 12, 45])
def test_a_legend_however_long_stays_on_its_pages(width: float, many: int):
    kinds = [piece(f"CODE-{i}", "stone", "round", 3.0, 3.0) for i in range(many)]
    seats = [(i * width / many, 0.0, 0.0, each.code) for i, each in enumerate(kinds)]
    laid = layout([*seats, (width, 0.0, 0.0, "CODE-0")], pieces=kinds)
    pages = [page for page in tiled_drawings(sheet_of(laid), "A4") if not stamps_of(page)]
    told = " ".join(words_of(page) for page in pages).split()
    assert all(told.count(each.code) == 1 for each in kinds)
    for page in pages:
        for item in (item for layer in page.layers for item in layer.items):
            if isinstance(item, Stamps):
                assert (item.xy < np.array(size_of(page)) - MARGIN_MM).all()
            if isinstance(item, Words):
                assert item.y_mm < page.height_mm - MARGIN_MM
        assert any(layer.id == "scale" for layer in page.layers)


# Files


def face_down() -> Layout:
    """Stones set by template, pears and units face down."""
    laid = layout([(10.0, 10.0, 0.0, "STONE"), (30.0, 12.0, 20.0, "PEAR"), (55, 12, 90.0, "SPRIG")])
    lays = (
        dataclasses.replace(laid.lays[0], id="stones", set_by="template"),
        dataclasses.replace(laid.lays[0], id="pears", set_by="face-down"),
    )
    return dataclasses.replace(laid, lays=lays, lay=np.array([0, 1, 1]))


def symbols_in(svg: bytes) -> dict[str, int]:
    """How often each picture is set on the pieces' layer."""
    root = etree.fromstring(svg)
    (layer,) = [each for each in root.iter(f"{SVG}g") if each.get("id") == "pieces"]
    found: dict[str, int] = {}
    for use in layer.iter(f"{SVG}use"):
        name = use.get("href") or use.get("{http://www.w3.org/1999/xlink}href") or ""
        found[name] = found.get(name, 0) + 1
    return found


def test_a_mirrored_chart_is_made_of_what_is_set_face_down_alone():
    files = chart_files(face_down(), TITLE)
    assert sorted(files) == [
        "chart-face-down.pdf",
        "chart-face-down.svg",
        "chart.pdf",
        "chart.svg",
    ]
    assert b"MIRRORED" in files["chart-face-down.svg"]
    assert b"MIRRORED" not in files["chart.svg"]
    assert sum(symbols_in(files["chart.svg"]).values()) == 2 * 4
    below = symbols_in(files["chart-face-down.svg"])
    assert sum(below.values()) == 2 * 3
    assert set(below) < set(symbols_in(files["chart.svg"]))
    assert sorted(chart_files(one_of_each(), TITLE)) == ["chart.pdf", "chart.svg"]


def test_what_is_worked_from_the_back_has_a_mirrored_chart_of_its_own():
    laid = face_down()
    lays = (laid.lays[0], dataclasses.replace(laid.lays[1], set_by="sewn", worked_from="back"))
    files = chart_files(dataclasses.replace(laid, lays=lays), TITLE)
    assert sorted(files) == ["chart-back.pdf", "chart-back.svg", "chart.pdf", "chart.svg"]
    assert b"from the back" in files["chart-back.svg"]
    assert b"MIRRORED" in files["chart-back.svg"]
    assert b"MIRRORED" not in files["chart.svg"]
    assert sum(symbols_in(files["chart-back.svg"]).values()) == 2 * 3


def test_the_same_layout_gives_the_same_bytes():
    assert chart_files(face_down(), TITLE) == chart_files(face_down(), TITLE)


def test_an_empty_layout_still_makes_a_chart():
    files = chart_files(layout([]), TITLE)
    assert len(PdfReader(io.BytesIO(files["chart.pdf"])).pages) == 2
