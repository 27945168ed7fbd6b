"""A photo of the garment under the proof: where it is said to lie, and in nothing that is made."""

from __future__ import annotations

import io
import json
import math
import zipfile
import zlib
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image, ImageDraw

from embellish.errors import EmbellishError
from embellish.job.backdrops import backdrop_of
from embellish.job.bundling import bundled
from embellish.job.files import OpenJob, open_job
from embellish.job.keeping import job_sha256
from embellish.job.making import check_job, made_files, proof_of
from embellish.job.partners import in_pair
from embellish.job.placing import place
from embellish.job.sizes import in_sizes
from embellish.outputs.drawing.drawing import Drawing, Lines, Picture
from embellish.outputs.drawing.png import png_bytes
from embellish.outputs.drawing.svg import svg_bytes
from embellish.plans.background import BackgroundSettings
from tests.cli.running import embellish
from tests.laws import check_made

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm"
viewBox="0 0 100 80"><rect id="box" x="20" y="20" width="60" height="40" fill="#345"/></svg>"""

JOB = """version = 1
title = "Box"
catalogues = ["shipped:stones"]
[artwork]
file = "a.svg"
[cloth]
colour = "#204060"
[[lay]]
id = "edge"
shapes = "#box"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""
RED = (255, 0, 0)
SIZE = (400, 300)


def photo(spots: tuple[tuple[float, float], ...] = ()) -> Image.Image:
    """Return a green photo of 400 × 300 pixels with red squares about places in pixels."""
    image = Image.new("RGB", SIZE, (0, 160, 0))
    for x, y in spots:
        ImageDraw.Draw(image).rectangle((x - 6, y - 6, x + 5, y + 5), fill=RED)
    return image


def opened(folder: Path, background: str = "", rest: str = "", job: str = JOB) -> OpenJob:
    (folder / "a.svg").write_text(DRAWING)
    if not (folder / "coat.png").exists():
        photo(((100.0, 60.0),)).save(folder / "coat.png")
    table = f'\n[background]\nfile = "coat.png"\n{background}\n' if background else ""
    (folder / "job.toml").write_text(job + rest + table)
    return open_job(folder / "job.toml")


def page_of(proof: Drawing) -> tuple[float, float]:
    """Return where the layout's (0, 0) lies on the proof: its cloth begins a known way from it."""
    ring = next(
        item.lines[0]
        for layer in proof.layers
        for item in layer.items
        if layer.id == "cloth" and isinstance(item, Lines)
    )
    x, y = ring.min(axis=0).tolist()
    return x, y


def red_middle(proof: Drawing) -> tuple[float, float]:
    """Return the middle of all that is red on the proof as resvg paints it, in mm."""
    data = resvg_py.svg_to_bytes(
        svg_string=svg_bytes(proof).decode(), width=1600, dpi=96, background="white"
    )
    picture = np.asarray(Image.open(io.BytesIO(bytes(data))).convert("RGB"), dtype=float)
    red = (picture[..., 0] > 150) & (picture[..., 1] < 90) & (picture[..., 2] < 90)
    rows, columns = np.nonzero(red)
    assert len(rows) > 20
    scale = proof.width_mm / picture.shape[1]
    return (float(columns.mean()) + 0.5) * scale, (float(rows.mean()) + 0.5) * scale


def shot(job: OpenJob) -> Drawing:
    return proof_of(check_job(job))


def test_by_width_the_photo_lies_about_the_page_s_middle(tmp_path: Path):
    # 400 px are 200 mm: half a mm a pixel. Its middle (200, 150) px lies at (50 + 10, 40 - 5) mm.
    job = opened(tmp_path, "width_mm = 200\noffset_mm = [10, -5]")
    backdrop = backdrop_of(job, (100.0, 80.0))
    assert backdrop is not None
    places = backdrop.to_layout(np.array([[200.0, 150.0], [0.0, 0.0], [100.0, 60.0]]))
    assert places.tolist() == pytest.approx(np.array([[60.0, 35.0], [-40.0, -40.0], [10.0, -10.0]]))


def test_by_two_points_the_photo_is_turned_and_scaled_onto_them(tmp_path: Path):
    # From (100, 50) to (300, 50) px becomes straight down from (50, 10) to (50, 70) mm: 0.3 mm a
    # pixel, a quarter turn clockwise, so a pixel to the right is down, a pixel down is left.
    job = opened(tmp_path, "points_px = [[100, 50], [300, 50]]\npoints_mm = [[50, 10], [50, 70]]")
    backdrop = backdrop_of(job, (100.0, 80.0))
    assert backdrop is not None
    places = backdrop.to_layout(np.array([[100.0, 50.0], [300.0, 50.0], [100.0, 150.0]]))
    assert places.tolist() == pytest.approx(np.array([[50.0, 10.0], [50.0, 70.0], [20.0, 10.0]]))


@pytest.mark.parametrize(
    ("background", "mm"),
    [
        ("width_mm = 200", (0.0, -5.0)),
        ("width_mm = 200\nfade = 0.2\noffset_mm = [20, 10]", (20.0, 5.0)),
        ("points_px = [[100, 60], [300, 200]]\npoints_mm = [[10, 5], [70, 90]]", (10.0, 5.0)),
    ],
)
def test_another_renderer_shows_a_spot_of_the_photo_where_it_was_put(
    tmp_path: Path, background: str, mm: tuple[float, float]
):
    """Outside check (resvg): the spot at (100, 60) px, by arithmetic, on the proof as painted."""
    job = opened(tmp_path, background)
    proof = shot(job)
    backdrop = backdrop_of(job, (100.0, 80.0))
    assert backdrop is not None
    # The proof begins where the photo, or the design where it reaches further, begins.
    corners = backdrop.to_layout(
        np.array([[0.0, 0.0], [SIZE[0], 0.0], [SIZE[0], SIZE[1]], [0.0, SIZE[1]]])
    )
    low = corners.min(axis=0)
    x, y = page_of(proof)
    seen_x, seen_y = red_middle(proof)
    assert seen_x - x + low[0] == pytest.approx(mm[0], abs=0.4)
    assert seen_y - y + low[1] == pytest.approx(mm[1], abs=0.4)


def test_it_is_in_the_proof_alone(tmp_path: Path):
    """Never part of what is cut, sewn, printed to work from, counted or measured."""
    both = {}
    for name, background in (("plain", ""), ("photo", "width_mm = 300")):
        (tmp_path / name).mkdir()
        # A lay with marks to sew, so that there are stitch files to compare.
        job = JOB.replace("gap_mm = 0.9", 'gap_mm = 0.9\nset_by = "hand"\nmark = "each"')
        rest = (
            '[template]\nformats = ["svg", "dxf", "plt", "pdf"]\nsheet = [200, 200]\n'
            "[paper]\npounce = true\nstencil = true\n"
            '[[lay]]\nid = "fill"\nshapes = "#box"\nway = "grid"\npieces = ["R-SS6-RED"]\n'
            "gap_mm = 0.9\nedge_mm = 4\n"
        )
        made = made_files(opened(tmp_path / name, background, rest, job=job))
        assert not made.withheld
        both[name] = made.files
        place(made.files, tmp_path / name / "out")
        check_made(tmp_path / name / "out")
    plain, with_photo = both["plain"], both["photo"]
    assert plain.keys() == with_photo.keys()
    for kind in ("templates/", "marks/", "paper/", "chart", "transfer"):
        assert any(name.startswith(kind) for name in plain), kind
    different = {name for name in plain if plain[name] != with_photo[name]}
    assert different == {"proof.svg", "proof.png"}
    assert b"data:image" in with_photo["proof.svg"]


def test_no_place_moves_and_a_kept_layout_still_holds(tmp_path: Path):
    plain = check_job(opened(tmp_path))
    photo_too = check_job(opened(tmp_path, "width_mm = 300"))
    assert plain.plans.title.fingerprint == photo_too.plans.title.fingerprint
    assert job_sha256(plain.opened.job) == job_sha256(photo_too.opened.job)


def test_around_shows_no_more_of_the_photo_than_asked(tmp_path: Path):
    whole = shot(opened(tmp_path, "width_mm = 400"))
    near = shot(opened(tmp_path, "width_mm = 400\naround_mm = 15"))
    pictures = [
        next(i for layer in p.layers for i in layer.items if isinstance(i, Picture))
        for p in (whole, near)
    ]
    assert pictures[0].width_mm == pytest.approx(400)
    # The design is 60 mm and the stones on its edge wide; a proof is 110 mm wide at least.
    assert 60 + 2 * 15 <= pictures[1].width_mm <= 115


def test_the_photo_does_not_change_what_the_proof_says_of_the_design(tmp_path: Path):
    said = [svg_bytes(shot(opened(tmp_path, table))).decode() for table in ("", "width_mm = 500")]
    line = [
        text[text.index(">design ") : text.index("mm</text>", text.index(">design "))]
        for text in said
    ]
    assert line[0] == line[1]


def test_fade_ends_in_the_colour_of_the_cloth(tmp_path: Path):
    proof = shot(opened(tmp_path, "width_mm = 300\nfade = 1"))
    picture = Image.open(io.BytesIO(png_bytes(proof, 2.0))).convert("RGB")
    x, y = (round((at + 1.0) * 2.0) for at in page_of(proof))
    assert picture.getpixel((x, y)) == pytest.approx((0x20, 0x40, 0x60), abs=3)


def test_a_camera_s_note_which_side_is_up_is_followed(tmp_path: Path):
    # Orientation 6 (Exif 2.3, tag 0x0112): the stored picture is to be turned 90° clockwise.
    exif = Image.Exif()
    exif[0x0112] = 6
    photo().save(tmp_path / "coat.jpg", exif=exif)
    job = opened(tmp_path, "width_mm = 150", job=JOB)
    (tmp_path / "job.toml").write_text(
        (tmp_path / "job.toml").read_text().replace("coat.png", "coat.jpg")
    )
    job = open_job(tmp_path / "job.toml")
    assert job.photo is not None
    assert job.photo.size_px == (300, 400)


def test_the_partner_of_a_pair_stands_on_the_mirrored_photo(tmp_path: Path):
    job = opened(tmp_path, "width_mm = 200\noffset_mm = [30, 0]", '[partner]\ndrawn = "LEFT"\n')
    left, right = (backdrop_of(side, (100.0, 80.0)) for side in in_pair(job))
    assert left is not None
    assert right is not None
    spot = np.array([[100.0, 60.0]])
    ((x, y),) = left.to_layout(spot).tolist()
    assert right.to_layout(spot).tolist() == pytest.approx(np.array([[100.0 - x, y]]))


def test_it_grows_with_the_garment_s_size(tmp_path: Path):
    sizes = '[[size]]\nname = "L"\npercent = 150\n[[size]]\nname = "S"\nwidth_mm = 50\n'
    job = opened(tmp_path, "width_mm = 200\noffset_mm = [10, 4]", sizes)
    for each, factor in zip(in_sizes(job), (1.5, 0.5), strict=True):
        base, grown = (
            backdrop_of(job, (100.0, 80.0)),
            backdrop_of(each, (100.0 * factor, 80.0 * factor)),
        )
        assert base is not None
        assert grown is not None
        spot = np.array([[17.0, 210.0]])
        assert grown.to_layout(spot) == pytest.approx(base.to_layout(spot) * factor)


def test_a_bundle_brings_the_photo_along(tmp_path: Path):
    names = zipfile.ZipFile(io.BytesIO(bundled(opened(tmp_path, "width_mm = 200"), {}))).namelist()
    assert "coat.png" in names


def test_a_design_beside_the_photo_and_a_coarse_photo_are_told(tmp_path: Path):
    codes = {f.code for f in check_job(opened(tmp_path, "width_mm = 40")).findings}
    assert "background-beside" in codes
    assert "background-coarse" not in codes
    codes = {f.code for f in check_job(opened(tmp_path, "width_mm = 500")).findings}
    assert "background-coarse" in codes
    assert "background-beside" not in codes


@pytest.mark.parametrize(
    ("background", "words"),
    [
        ("fade = 0.2", "points_px"),
        ("width_mm = 200\npoints_px = [[0, 0], [9, 90]]\npoints_mm = [[0, 0], [9, 90]]", "twice"),
        ("points_px = [[0, 0], [9, 90]]", "without points_mm"),
        ("points_mm = [[0, 0], [9, 90]]", "without points_px"),
        ("points_px = [[0, 0], [3, 3]]\npoints_mm = [[0, 0], [9, 90]]", "same point"),
        ("points_px = [[0, 0], [90, 3]]\npoints_mm = [[7, 7], [7, 7.5]]", "same point"),
        (
            "points_px = [[0, 0], [90, 3]]\npoints_mm = [[0, 0], [90, 3]]\noffset_mm = [1, 1]",
            "offset_mm",
        ),
        ("width_mm = 200\nfade = 1.5", "fade"),
        ("width = 200", "width_mm"),
        ("width_mm = -4", "width_mm"),
    ],
)
def test_what_does_not_place_a_photo_is_refused(tmp_path: Path, background: str, words: str):
    with pytest.raises(EmbellishError, match=words) as wrong:
        opened(tmp_path, background)
    assert "job.toml" in str(wrong.value)
    assert wrong.value.mend


def png() -> bytes:
    file = io.BytesIO()
    photo().save(file, format="PNG")
    return file.getvalue()


def gif() -> bytes:
    file = io.BytesIO()
    photo().save(file, format="GIF")
    return file.getvalue()


def vast() -> bytes:
    """Return a PNG that is small on disk and says 60 000 × 60 000 pixels."""
    whole = png()
    head = whole[12:16] + (60_000).to_bytes(4) * 2 + whole[24:29]
    return whole[:12] + head + zlib.crc32(head).to_bytes(4) + whole[33:]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no photo"),
        (b"<svg/>", "no photo"),
        (gif(), "no photo"),
        (png()[: len(png()) // 2], "damaged"),
        (vast(), "too many pixels"),
    ],
    ids=["empty", "svg", "gif", "cut", "vast"],
)
def test_what_is_no_photo_is_refused(tmp_path: Path, data: bytes, words: str):
    (tmp_path / "coat.png").write_bytes(data)
    with pytest.raises(EmbellishError, match=words) as wrong:
        opened(tmp_path, "width_mm = 200")
    assert "coat.png" in str(wrong.value)
    assert wrong.value.mend


def test_a_missing_photo_names_the_file(tmp_path: Path):
    opened(tmp_path, "width_mm = 200")
    (tmp_path / "coat.png").unlink()
    with pytest.raises(EmbellishError, match=r"no such photo"):
        open_job(tmp_path / "job.toml")


def test_two_points_keep_every_distance_to_scale():
    """Law of a similarity: all distances grow alike, and nothing is mirrored."""
    rng = np.random.default_rng(2)
    for _ in range(50):
        (p, q, a, b), some = rng.uniform(-500, 500, (4, 2)), rng.uniform(0, 400, (6, 2))
        settings = BackgroundSettings.model_validate(
            {
                "file": "x.png",
                "points_px": [p.tolist(), q.tolist()],
                "points_mm": [a.tolist(), b.tolist()],
            }
        )
        to_page = settings.placed((400, 300), (100.0, 80.0))
        assert to_page(np.stack([p, q])) == pytest.approx(np.stack([a, b]), abs=1e-9)
        scale = math.dist(a, b) / math.dist(p, q)
        grown = np.hypot(*np.diff(to_page(some), axis=0).T)
        assert grown == pytest.approx(scale * np.hypot(*np.diff(some, axis=0).T))
        assert to_page.determinant > 0


def test_look_tells_where_it_came_from(tmp_path: Path):
    opened(tmp_path, "width_mm = 200")
    seen = embellish("look", "job.toml", "--json", cwd=tmp_path)
    settings = {each["key"]: each for each in json.loads(seen.stdout)["settings"]}
    assert settings["background.width_mm"]["value"] == 200
    assert settings["background.fade"]["from"] == "built-in"
