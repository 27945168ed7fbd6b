"""Pictures traced: areas known exactly, neighbours that meet, grounds, specks, sketches."""

from __future__ import annotations

import contextlib
import io
import math
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from embellish.artwork.artwork import Artwork
from embellish.artwork.flatten import region_of
from embellish.artwork.pictures.reading import read_picture, without_specks
from embellish.artwork.pictures.settings import PictureSettings
from embellish.artwork.sizing import sized
from embellish.errors import ArtworkError

FINE = 8


def drawn(paint: Any, size: tuple[int, int] = (300, 200), ground: Any = "white") -> Image.Image:
    """Draw large and make smaller, so that edges are mixtures as renderers make them."""
    large = Image.new("RGBA", (size[0] * FINE, size[1] * FINE), ground)
    paint(ImageDraw.Draw(large))
    return large.resize(size, Image.Resampling.BOX)


def png(image: Image.Image, **more: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG", **more)
    return out.getvalue()


def disc(x: float, y: float, r: float) -> list[float]:
    return [(x - r) * FINE, (y - r) * FINE, (x + r) * FINE - 1, (y + r) * FINE - 1]


def areas(artwork: Artwork) -> dict[str, float]:
    found: dict[str, float] = {}
    for shape in artwork.shapes:
        assert shape.fill is not None
        found[shape.fill] = found.get(shape.fill, 0.0) + region_of(shape, 1e-3).area
    return found


def test_areas_are_right_to_a_part_of_a_pixel():
    def paint(pen: Any) -> None:
        pen.ellipse(disc(80, 90, 50), fill="#c02030")
        pen.ellipse(disc(80, 90, 20), fill="white")
        pen.rectangle([160 * FINE, 50 * FINE, 250 * FINE - 1, 130 * FINE - 1], fill="#2040a0")

    artwork, told = read_picture(png(drawn(paint)), "a.png")
    assert not artwork.sized
    assert artwork.page == (300, 200)
    found = areas(artwork)
    assert set(found) == {"#c02030", "#2040a0"}
    assert found["#c02030"] == pytest.approx(math.pi * (50**2 - 20**2), rel=2e-3)
    assert found["#2040a0"] == pytest.approx(90 * 80, rel=1e-3)
    ring = next(shape for shape in artwork.shapes if shape.fill == "#c02030")
    assert len(ring.paths) == 2
    assert ring.id.endswith("-part-1")
    assert ring.groups == ring.classes
    assert {each.code for each in told} == {"picture-ground", "picture-traced"}


def test_neighbours_meet_and_a_mixture_is_no_third_colour():
    def paint(pen: Any) -> None:
        pen.rectangle([40 * FINE, 40 * FINE, 150 * FINE + 3, 160 * FINE], fill="black")
        pen.rectangle([150 * FINE + 4, 40 * FINE, 260 * FINE, 160 * FINE], fill="#808080")
        pen.ellipse(disc(150, 100, 40), fill="#f0c020")

    artwork, _ = read_picture(png(drawn(paint)), "a.png")
    assert set(areas(artwork)) == {"#000000", "#808080", "#f0c020"}
    regions = [region_of(shape, 1e-3) for shape in artwork.shapes]
    assert len(regions) == 3
    together = shapely.union_all(regions)
    overlap = sum(each.area for each in regions) - together.area
    # Between them neither cloth shows nor lies one on the other, to a tenth of a pixel's width.
    edges = 2 * 40 + 2 * math.pi * 40
    assert overlap < 0.1 * edges
    outer = [shapely.Polygon(shapely.get_exterior_ring(p)) for p in shapely.get_parts(together)]
    holes = sum(each.area for each in outer) - together.area
    assert holes < 0.1 * edges


def test_the_ground_is_left_out_unless_it_is_wanted():
    def paint(pen: Any) -> None:
        pen.ellipse(disc(150, 100, 60), fill="#c02030")

    data = png(drawn(paint, ground="#205030"))
    assert set(areas(read_picture(data, "a.png")[0])) == {"#c02030"}
    whole = areas(read_picture(data, "a.png", PictureSettings(ground=True))[0])
    assert sum(whole.values()) == pytest.approx(300 * 200, rel=2e-3)
    free = png(drawn(paint, ground=(0, 0, 0, 0)))
    alone, told = read_picture(free, "a.png")
    assert areas(alone)["#c02030"] == pytest.approx(math.pi * 60**2, rel=5e-3)
    assert "picture-ground" not in {each.code for each in told}


def test_as_many_colours_as_are_asked_for():
    def paint(pen: Any) -> None:
        for k, colour in enumerate(("#c02030", "#c82838", "#2040a0", "#208040")):
            pen.rectangle(
                [(20 + 65 * k) * FINE, 50 * FINE, (75 + 65 * k) * FINE, 150 * FINE], colour
            )

    data = png(drawn(paint))
    for colours, expected in ((None, 3), (5, 4), (4, 3), (3, 2)):
        found, _ = read_picture(data, "a.png", PictureSettings(colours=colours))
        assert len(areas(found)) == expected, colours


def test_specks_are_dropped_by_their_area_and_told():
    def paint(pen: Any) -> None:
        pen.ellipse(disc(100, 100, 60), fill="#c02030")
        pen.ellipse(disc(100, 100, 4), fill="white")
        pen.ellipse(disc(250, 100, 5), fill="#c02030")

    artwork, _ = read_picture(png(drawn(paint)), "a.png")
    small = sized(artwork, width_mm=60.0)  # 0.2 mm a pixel: the hole is 2.0, the dot 3.1 mm²
    for least, shapes, paths, dropped in ((0.5, 2, 3, 0), (2.5, 2, 2, 1), (5.0, 1, 1, 2)):
        kept, told = without_specks(small, least)
        assert len(kept.shapes) == shapes
        assert sum(len(shape.paths) for shape in kept.shapes) == paths
        assert [each.message.split()[0] for each in told] == ([str(dropped)] if dropped else [])


def test_a_sketch_in_uneven_light_is_its_lines():
    size = (600, 400)

    def paint(pen: Any) -> None:
        pen.line([(80 * FINE, 80 * FINE), (520 * FINE, 80 * FINE)], fill="#303038", width=8 * FINE)
        pen.ellipse(disc(300, 240, 100), outline="#303038", width=8 * FINE)

    paper = np.asarray(drawn(paint, size)).astype(float)[..., :3]
    x, y = np.meshgrid(np.linspace(0, 1, size[0]), np.linspace(0, 1, size[1]))
    lit = paper * (1.0 - 0.55 * x * y)[..., None]
    noise = np.random.default_rng(1).normal(0, 3, lit.shape)
    image = Image.fromarray(np.clip(lit + noise, 0, 255).astype(np.uint8))
    artwork, _ = read_picture(png(image), "s.png", PictureSettings(kind="lines"))
    regions = [region_of(shape, 1e-3) for shape in artwork.shapes]
    large = [each for each in regions if each.area > 100]
    assert len(large) == 2
    ring, line = sorted(large, key=lambda each: -each.area)
    assert line.area == pytest.approx(440 * 8, rel=0.04)
    assert ring.area == pytest.approx(math.pi * (100**2 - 92**2), rel=0.04)
    assert all(shape.id.startswith("ink-part-") for shape in artwork.shapes)


def test_a_photo_is_turned_as_its_camera_noted():
    def paint(pen: Any) -> None:
        pen.rectangle([0, 0, 100 * FINE, 50 * FINE], fill="#c02030")

    exif = Image.Exif()
    exif[0x0112] = 6  # the camera lay on its right side
    out = io.BytesIO()
    drawn(paint).convert("RGB").save(out, "JPEG", quality=95, exif=exif)
    artwork, _ = read_picture(out.getvalue(), "a.jpg")
    assert artwork.page == (200, 300)
    x0, y0, x1, y1 = region_of(artwork.shapes[0], 1e-2).bounds
    assert (x0, y0, x1, y1) == pytest.approx((150, 0, 200, 100), abs=1.0)


@pytest.mark.parametrize("mode", ["L", "P", "1", "RGB", "I;16", "LA"])
def test_every_kind_of_pixel_is_read(mode: str):
    def paint(pen: Any) -> None:
        pen.ellipse(disc(150, 100, 60), fill="black")

    grey = drawn(paint).convert("L")
    if mode == "I;16":
        image = Image.fromarray(np.asarray(grey).astype(np.uint16) * 257)
    else:
        image = grey.convert(mode)
    artwork, _ = read_picture(png(image), "a.png")
    assert sum(areas(artwork).values()) == pytest.approx(math.pi * 60**2, rel=0.02)


def test_a_large_picture_is_traced_smaller_and_told():
    image = Image.new("RGB", (3000, 2000), "white")
    ImageDraw.Draw(image).rectangle([600, 400, 2399, 1599], fill="#2040a0")
    artwork, told = read_picture(png(image), "a.png")
    assert artwork.page == (3000, 2000)
    assert areas(artwork)["#2040a0"] == pytest.approx(1800 * 1200, rel=2e-3)
    assert "picture-reduced" in {each.code for each in told}


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "no photo"),
        (b"<svg/>", "no photo"),
        (png(Image.new("RGB", (50, 50)))[:60], "damaged"),
        (png(Image.new("RGB", (50, 50), "red")), "nothing stands out"),
        (png(Image.new("RGBA", (50, 50), (0, 0, 0, 0))), "nothing stands out"),
    ],
)
def test_what_is_no_picture_to_trace_is_told(data: bytes, sentence: str):
    with pytest.raises(ArtworkError, match=sentence):
        read_picture(data, "a.png")


def test_noise_does_not_go_on_for_ever():
    noise = np.random.default_rng(1).integers(0, 256, (700, 700, 3), dtype=np.uint8)
    with contextlib.suppress(ArtworkError):
        assert len(read_picture(png(Image.fromarray(noise)), "n.png")[0].shapes) <= 5_000
