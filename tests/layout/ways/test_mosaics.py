"""Mosaics: light averaged over squares, the nearest colours, few of many, misses made up."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pydantic import ValidationError

from embellish.catalogue.colour_difference import delta_e, lab_of_hex, lab_of_linear, linear_of
from embellish.errors import JobError
from embellish.geometry.streams import Stream
from embellish.layout.ways.blends import lay_by
from embellish.layout.ways.fields import Blend
from embellish.layout.ways.palettes import best_colours, dithered, nearest_colours
from embellish.layout.ways.pictures import Mosaic, Picture, PictureTable
from embellish.layout.ways.table import WAYS
from embellish.layout.ways.way import Ground, Kit, Laid, no_progress
from tests.layout.ways.fill_cases import check_laws, kit_of, shape_of

BOX = shapely.box(0, 0, 60, 40)
BLACK, WHITE, RED, BLUE = "#000000", "#ffffff", "#ff0000", "#0000ff"


def picture(*rows: list[tuple[int, ...]]) -> Picture:
    rgba = np.array([[(*each, 255)[:4] for each in row] for row in rows], dtype=np.uint8)
    return Picture.of("p.png", rgba)


def lay(way: str, hexes: tuple[str, ...], shown: Picture, **table: Any) -> Laid:
    kit = kit_of(*([2.0] * len(hexes)))
    asked = WAYS[way].settings(mosaic={"picture": shown, **table})
    codes = tuple(f"P{k}" for k in range(len(hexes)))
    ground = Ground((shape_of(BOX),))
    stream = Stream.of(1, "lay")
    laid = lay_by(WAYS[way], ground, kit, asked, codes, hexes, stream, no_progress)
    check_laws(laid, kit, [BOX])
    return laid


@pytest.mark.parametrize("way", ["grid", "scatter", "rings"])
def test_two_halves_are_two_colours(way: str):
    shown = picture([(250, 10, 5), (20, 20, 240)])
    seats = lay(way, (BLUE, RED), shown).seats
    sure = np.abs(seats.xy[:, 0] - 30.0) > 1.5
    assert np.array_equal(seats.choice[sure], (seats.xy[:, 0] < 30.0).astype(np.int64)[sure])
    assert np.count_nonzero(seats.choice) not in (0, len(seats))


def test_what_is_clear_or_the_colour_left_bare_has_no_piece():
    shown = picture([(255, 0, 0), (255, 0, 0, 0), (255, 255, 255)])
    every = lay("grid", (RED, WHITE), shown).seats
    assert not ((every.xy[:, 0] > 22) & (every.xy[:, 0] < 38)).any()
    bare = lay("grid", (RED,), shown, bare="white").seats
    assert bare.xy[:, 0].max() < 22
    assert lay("grid", (RED,), picture([(0, 0, 0, 0)])).seats.xy.shape == (0, 2)


def test_a_picture_covers_the_shapes_or_lies_where_it_is_put():
    shown = picture([(255, 0, 0), (0, 0, 255)])
    put = lay("grid", (RED, BLUE), shown, at_mm=[0.0, 0.0], width_mm=20.0).seats
    assert put.xy[:, 0].max() < 22
    assert put.xy[:, 1].max() < 12
    square = PictureTable(picture=picture([(1, 1, 1)])).seen_over([BOX])
    assert square.pixel_mm == 60.0
    assert square.corner_mm == (0.0, -10.0)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.5, 6.0))
def test_squares_are_averaged_exactly_in_light(seed: int, half: float):
    rng = np.random.default_rng(seed)
    rgba = rng.integers(0, 256, (9, 13, 4)).astype(np.uint8)
    rgba[..., 3] = 255
    at = rng.uniform(half, [13 - half, 9 - half] if half < 4.5 else [half, half], (5, 2))
    if half >= 4.5:
        return
    light, cover = Picture.of("p", rgba).seen(at, half)
    assert cover == pytest.approx(1.0)
    linear = linear_of(rgba[..., :3] / 255.0)
    edge_x, edge_y = np.arange(14), np.arange(10)
    for (x, y), found in zip(at, light, strict=True):
        wide = np.clip(np.minimum(edge_x[1:], x + half) - np.maximum(edge_x[:-1], x - half), 0, 1)
        high = np.clip(np.minimum(edge_y[1:], y + half) - np.maximum(edge_y[:-1], y - half), 0, 1)
        mean = (linear * high[:, None, None] * wide[None, :, None]).sum((0, 1)) / (4 * half**2)
        assert found == pytest.approx(mean, abs=1e-9)


def test_large_pictures_are_averaged_by_squares_first():
    """Fine black and white is grey in light, not in the numbers of the file."""
    rgba = np.zeros((3000, 3000, 4), dtype=np.uint8)
    rgba[::2, ::2, :3] = rgba[1::2, 1::2, :3] = 255
    rgba[..., 3] = 255
    shown = Picture.of("p", rgba)
    assert shown.size_px == (1500, 1500)
    light, _ = shown.seen(np.array([[700.0, 700.0]]), 20.0)
    assert light[0] == pytest.approx([0.5] * 3, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_nearest_is_nearest(seed: int):
    rng = np.random.default_rng(seed)
    lab = np.round(lab_of_linear(rng.random((40, 3))), 2)
    palette = lab_of_linear(rng.random((9, 3)))
    away = delta_e(lab[:, None], palette[None])
    found = away[np.arange(40), nearest_colours(lab, palette)]
    assert found == pytest.approx(away.min(axis=1), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 3))
def test_few_colours_are_the_best_few_or_nearly(seed: int, most: int):
    rng = np.random.default_rng(seed)
    lab = np.round(lab_of_linear(rng.random((60, 3))) / 3.0) * 3.0
    palette = lab_of_linear(rng.random((8, 3)))
    away = delta_e(lab[:, None], palette[None])
    chosen = best_colours(lab, palette, most, np.zeros(8, dtype=bool))
    assert len(chosen) == most
    best = min(away[:, each].min(axis=1).sum() for each in combinations(range(8), most))
    assert away[:, chosen].min(axis=1).sum() <= 1.1 * best


@pytest.mark.parametrize("level", [40, 90, 128, 200])
def test_misses_are_made_up_for(level: int):
    """Grey shown in black and white: its light, averaged over an area, comes out."""
    xy = np.stack(np.meshgrid(np.arange(40) * 2.0, np.arange(30) * 2.0), -1).reshape(-1, 2)
    light = np.full((len(xy), 3), float(linear_of(np.array(level / 255.0))))
    own = np.array([[0.0] * 3, [1.0] * 3])
    chosen = dithered(xy, light, own, lab_of_hex([BLACK, WHITE]), 2.0, no_progress)
    inner = (xy > 10).all(axis=1) & (xy < [70, 50]).all(axis=1)
    made = own[chosen][inner].mean()
    plain = own[nearest_colours(lab_of_linear(light), lab_of_hex([BLACK, WHITE]))][inner].mean()
    assert abs(made - light[0, 0]) < 0.5 * abs(plain - light[0, 0])


def test_a_colour_that_none_comes_near_spoils_nothing_after_it():
    shown = picture([(0, 255, 0), (0, 255, 0), (255, 0, 0), (255, 0, 0)])
    seats = lay("grid", (RED, BLUE), shown, dither=True).seats
    last = seats.choice[seats.xy[:, 0] > 36.0]
    assert (last == 0).mean() > 0.97


def test_at_most_so_many_colours_and_the_same_every_time():
    rng = np.random.default_rng(4)
    rgba = np.asarray(Image.fromarray(rng.integers(0, 256, (8, 12, 3), np.uint8)).convert("RGBA"))
    hexes = tuple(f"#{number:06x}" for number in rng.integers(0, 1 << 24, 60).tolist())
    for dither in (False, True):
        runs = [
            lay("scatter", hexes, Picture.of("p", rgba), colours=7, dither=dither).seats.choice
            for _ in range(2)
        ]
        assert np.array_equal(runs[0], runs[1])
        assert 3 <= len(np.unique(runs[0])) <= 7


def test_pieces_of_several_sizes_shares_and_blends_are_refused():
    shown, ground = picture([(0, 0, 0)]), Ground((shape_of(BOX),))
    stream = Stream.of(1, "lay")

    def attempt(kit: Kit, hexes: tuple[str, ...], **more: Any) -> None:
        asked = WAYS["grid"].settings(mosaic={"picture": shown}, **more)
        lay_by(WAYS["grid"], ground, kit, asked, ("A", "B"), hexes, stream, no_progress)

    with pytest.raises(JobError, match="A and B differ"):
        attempt(kit_of(2.0, 1.0), (RED, BLUE))
    with pytest.raises(JobError, match="shares or a blend"):
        attempt(kit_of(2.0, 2.0, shares=(0.5, 0.5)), (RED, BLUE))
    with pytest.raises(JobError, match="not of units"):
        attempt(kit_of(2.0, 2.0), (RED, ""))


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({}, "needs a picture"),
        ({"picture": 3}, "named by its file"),
        ({"picture": "p.png", "at_mm": [0, 0]}, "together"),
        ({"picture": "p.png", "colours": 0}, "colours"),
        ({"picture": "p.png", "bare": "no colour"}, "bare"),
    ],
)
def test_a_table_that_is_wrong_is_refused(table: dict[str, Any], words: str):
    with pytest.raises(ValidationError, match=words):
        Mosaic.model_validate(table)


def test_a_grey_picture_is_a_field_from_dark_to_light():
    row: list[tuple[int, ...]] = [(0, 0, 0), (119, 119, 119), (255, 255, 255)]
    shown = picture(row, row)
    blend = Blend(kind="picture", picture=shown, mixes=({"A": 1}, {"B": 1}))
    course = blend.over([BOX])
    # 119 is the grey that looks half as light as white: L* 50 (CIELAB of sRGB 119 is 50.0).
    at = np.array([[2.0, 20.0], [30.0, 20.0], [58.0, 20.0]])
    assert course(at) == pytest.approx([0.0, 0.5, 1.0], abs=2e-3)
    for wrong in ({"kind": "picture"}, {"kind": "line", "picture": shown}):
        with pytest.raises(ValidationError, match="go together"):
            Blend.model_validate({"mixes": ({"A": 1}, {"B": 1}), **wrong})
