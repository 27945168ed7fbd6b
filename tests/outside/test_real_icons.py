"""Real drawings made whole: every law holds, and pieces stand where another renderer paints.

The drawings are icons of two sets under free licences: lucide-static (ISC), stroked paths and
basic shapes, and bootstrap-icons (MIT), filled compound paths; see tests/real_artwork.py. The
renderer that says where they are painted is resvg, which shares no code with our reader.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image
from scipy.ndimage import distance_transform_edt

from embellish.job.files import open_job
from embellish.job.making import Made, made_files
from embellish.job.placing import place
from tests.laws import Facts, check_made
from tests.real_artwork import icons

WIDTH_MM = 120.0
PX_PER_MM = 8
SLACK_MM = 2.0 / PX_PER_MM
"""What a picture of pixels cannot tell."""
MARGIN_MM = 4.0

STROKED = (  # noqa: SIM905 - easier to read and to add to
    "anchor apple bird carrot cat cherry clover crown feather fish flower grape heart key leaf moon"
    " rabbit shell snail snowflake sun turtle umbrella zap"
).split()
FILLED = (  # noqa: SIM905 - the same
    "balloon-heart-fill bell-fill bug-fill feather cup-fill droplet-fill egg-fill gift-fill flower1"
    " flower2 hearts yin-yang house-heart-fill key-fill moon-stars-fill puzzle-fill rocket-fill"
    " star-fill suit-club-fill sun-fill"
).split()
FILLS = ("grid", "rings", "scatter", "row")
"""Each filled icon is laid in one way, in turn, so that the whole stays quick."""

JOB = """version = 1
title = "A real icon"
seed = 11
catalogues = ["shipped:stones"]
[artwork]
file = "icon.svg"
width_mm = {width}
[[lay]]
id = "only"
shapes = "*"
way = "{way}"
pieces = {pieces}
gap_mm = 0.9
"""
PITCH_MM = 2.9 + 0.9
"""Greatest size of an SS10 stone as shipped, and the gap."""
ONE = '["R-SS10-CLEAR"]'
MIX = '{ "R-SS6-TOPAZ" = 0.6, "R-SS10-CLEAR" = 0.4 }'


def made(svg: bytes, way: str, folder: Path) -> tuple[Made, Facts]:
    """Make a job of one lay in a folder, and check every law of what was made."""
    (folder / "icon.svg").write_bytes(svg)
    pieces = MIX if way == "scatter" else ONE
    text = JOB.format(width=WIDTH_MM, way=way, pieces=pieces)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    job = made_files(open_job(folder / "job.toml"))
    place(job.files, folder / "out")
    return job, check_made(folder / "out")


def painted(svg: bytes, page: float) -> np.ndarray:
    """Where resvg paints an icon ``page`` units wide, a pixel a PX_PER_MM-th of a mm, and round it.

    The view is widened by a margin, since pieces along a line may stand on the page's very edge.
    """
    spare = page * MARGIN_MM / WIDTH_MM
    view = f'viewBox="{-spare} {-spare} {page + 2 * spare} {page + 2 * spare}"'
    whole = f'viewBox="0 0 {page:g} {page:g}"'
    text = svg.decode("utf-8")
    assert text.count(whole) == 1
    width = int((WIDTH_MM + 2 * MARGIN_MM) * PX_PER_MM)
    png = resvg_py.svg_to_bytes(svg_string=text.replace(whole, view), width=width)
    with Image.open(io.BytesIO(bytes(png))) as picture:
        alpha: np.ndarray = np.asarray(picture.convert("RGBA"))[..., 3]
    return alpha >= 128


def at(paint: np.ndarray, xy: np.ndarray) -> np.ndarray:
    """Whether there is paint at places in mm, shape (..., 2)."""
    cell = np.floor((xy + MARGIN_MM) * PX_PER_MM).astype(int)
    found: np.ndarray = paint[cell[..., 1], cell[..., 0]]
    return found


def edges_alone(svg: bytes, page: float) -> bytes:
    """Return an icon, ``page`` units wide, with no fill, and a thin line along every path."""
    thin = f'fill="none" stroke="#000" stroke-width="{2.0 * SLACK_MM * page / WIDTH_MM}"'.encode()
    for words in (b'fill="none"', b'stroke="currentColor"', b'stroke-width="2"'):
        svg = svg.replace(words, b"")
    svg = svg.replace(b'fill="currentColor"', b"")
    return svg.replace(b"<svg", b"<svg " + thin, 1)


def check_sound(job: Made, layout: Facts) -> np.ndarray:
    """No error stands, something was laid; return the places of the seats."""
    errors = [each for each in job.checked.findings if each.severity == "error"]
    assert not errors, errors
    assert not job.withheld
    assert layout["summary"]["count"] > 0
    return np.column_stack([layout["seats"]["x"], layout["seats"]["y"]])


def check_on_lines(svg: bytes, page: float, xy: np.ndarray) -> None:
    """Seats of a row stand on its lines, but for those between the two sides of a narrow tip.

    In a tip a row runs down the middle while its sides are less than a pitch apart, so that no
    seat is further than half a pitch from a line.
    """
    lines = painted(edges_alone(svg, page), page)
    on = at(lines, xy)
    assert on.mean() >= 0.9, xy[~on]
    away_mm = at(distance_transform_edt(~lines), xy) / PX_PER_MM
    assert (away_mm <= PITCH_MM / 2.0 + SLACK_MM).all(), xy[away_mm > PITCH_MM / 2.0 + SLACK_MM]


@pytest.mark.slow
@pytest.mark.parametrize("name", STROKED)
def test_rows_along_a_stroked_icon_stand_on_its_lines(name: str, tmp_path: Path):
    ((_, svg),) = icons("lucide-static", [name])
    check_on_lines(svg, 24.0, check_sound(*made(svg, "row", tmp_path)))


@pytest.mark.slow
@pytest.mark.parametrize(("name", "way"), [(n, FILLS[i % 4]) for i, n in enumerate(FILLED)])
def test_a_filled_icon_holds_its_pieces(name: str, way: str, tmp_path: Path):
    ((_, svg),) = icons("bootstrap-icons", [name])
    job, layout = made(svg, way, tmp_path)
    xy = check_sound(job, layout)
    if way == "row":
        check_on_lines(svg, 16.0, xy)
        return
    greatest = np.array([piece["max_length_mm"] for piece in layout["pieces"]]) / 2.0
    radius = greatest[layout["seats"]["piece"]] - SLACK_MM
    turns = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    ring = np.column_stack([np.cos(turns), np.sin(turns)])
    inside = at(painted(svg, 16.0), xy[:, None, :] + ring * radius[:, None, None]).all(axis=1)
    assert inside.all(), xy[~inside]
