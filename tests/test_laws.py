"""The laws hold for any job: awkward shapes, every way, several lays, turned and mirrored.

Each example is a whole run: job file and drawing in, a folder of files out, and the laws read from
those files alone by tests/laws.py.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from embellish.artwork.flatten import region_of
from embellish.artwork.selecting import select
from embellish.job.files import open_job
from embellish.job.grounds import job_transform
from embellish.job.laying import lay_job
from embellish.job.making import made_files
from embellish.job.placing import place
from tests.laws import check_made

# Each in a box of about 100 × 80 mm.
SHAPES = {
    "heart": "M50 76 C10 50 4 36 6 20 C9 3 42 1 50 20 C58 1 91 3 94 20 C96 36 90 50 50 76 Z",
    "star": "M50 4 L61 33 L92 35 L68 54 L76 78 L50 64 L24 78 L32 54 L8 35 L39 33 Z",
    "ring": "M50 4 A36 36 0 1 1 49.9 4 Z M50 24 A16 16 0 1 0 50.1 24 Z",
    "figure eight": "M50 40 C20 0 0 20 10 40 C20 60 40 60 50 40 C60 20 80 20 90 40 C100 60 80 80 50 40 Z",  # noqa: E501 - one path
    "cusp": "M5 40 C40 40 50 38 95 5 C60 38 60 42 95 75 C50 42 40 40 5 40 Z",
    "sliver": "M5 40 L95 37 L95 43 Z",
    "lobes": "M10 40 A18 18 0 1 1 46 40 L54 40 A18 18 0 1 1 90 40 A18 18 0 1 1 54 41 L46 41 A18 18 0 1 1 10 40 Z",  # noqa: E501 - one path
    "open wave": "M5 40 C20 0 30 80 45 40 S70 0 95 40",
    "zigzag": "M5 70 L20 10 L35 70 L50 10 L65 70 L80 10 L95 70",
    "spiral": "M50 40 C54 36 60 40 58 47 C55 57 40 56 37 44 C33 27 52 18 64 28 C80 42 70 66 50 68 C25 70 14 46 22 28",  # noqa: E501 - one path
    "dot": "M50 40 A0.6 0.6 0 1 1 49.99 40 Z",
}
FILLED = [name for name in SHAPES if name not in ("open wave", "zigzag", "spiral")]

ROUND = ["R-SS6-CLEAR", "R-SS10-TOPAZ", "R-SS16-RED", "G-SS10-BLUE", "P-4-CREAM"]
SHAPED = ["NS-8x4-CLEAR", "seed-bugle-seed", "sequin with seed", "U-2-GOLD"]
CATALOGUES = ["stones", "pearls", "shaped", "beads", "sequins"]
WAYS = ["row", "rings", "grid", "scatter"]


def job_text(lays: list[dict[str, object]], turn: float, mirror: bool, seed: int) -> str:
    lines = [
        "version = 1",
        'title = "Laws"',
        f"seed = {seed}",
        f"catalogues = {json.dumps([f'shipped:{name}' for name in CATALOGUES])}",
        "[artwork]",
        'file = "a.svg"',
        f"rotate_deg = {turn}",
        f"mirror = {str(mirror).lower()}",
        "[template]",
        "wall_mm = 0.1",
        "[paper]",
        "pounce = true",
        "stencil = true",
    ]
    for number, lay in enumerate(lays):
        lines += ["[[lay]]", f'id = "lay{number}"']
        lines += [f"{key} = {json.dumps(value)}" for key, value in lay.items()]
    return "\n".join(lines)


def drawing(names: list[str]) -> str:
    paths = "".join(
        f'<path id="s{n}" d="{SHAPES[name]}" transform="translate({n * 60},{n * 20})"/>'
        for n, name in enumerate(names)
    )
    return f"""<svg xmlns="http://www.w3.org/2000/svg" width="160mm" height="100mm"
    viewBox="0 0 160 100">{paths}</svg>"""


@st.composite
def lay(draw, shape: int, name: str) -> dict[str, object]:
    way = draw(st.sampled_from(WAYS if name in FILLED else ["row"]))
    pieces = draw(st.lists(st.sampled_from(ROUND + SHAPED), min_size=1, max_size=3, unique=True))
    gap = draw(st.sampled_from([0.0, 0.4, 0.9, 1.7]))
    found: dict[str, object] = {
        "shapes": f"#s{shape}",
        "way": way,
        "pieces": pieces,
        "gap_mm": gap,
    }
    if way != "row":
        found["edge_mm"] = draw(st.sampled_from([0.0, 0.7]))
    return found


@st.composite
def jobs(draw) -> tuple[str, str]:
    names = draw(st.lists(st.sampled_from(sorted(SHAPES)), min_size=1, max_size=2))
    lays = [
        draw(lay(shape, name)) for shape, name in enumerate(names) for _ in range(draw(st.just(1)))
    ]
    if draw(st.booleans()):
        lays.append(draw(lay(0, names[0])))
    turn = draw(st.sampled_from([0.0, 90.0, 33.3, -120.0]))
    text = job_text(lays, turn, draw(st.booleans()), draw(st.integers(0, 99)))
    return drawing(names), text


def folder_of(where: Path, svg: str, text: str) -> Path:
    (where / "a.svg").write_text(svg)
    (where / "job.toml").write_text(text)
    return where / "job.toml"


@pytest.mark.slow
@given(jobs())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_law_holds_for_any_job(example: tuple[str, str]):
    with tempfile.TemporaryDirectory() as name:
        where = Path(name)
        opened = open_job(folder_of(where, *example))
        made = made_files(opened, anyway=True)
        place(made.files, where / "out")
        check_made(where / "out")
        errors = {each.code for each in made.checked.findings if each.severity == "error"}
        # Walls may be too thin for the gap asked; the laying itself must be without error.
        assert errors <= {"wall-too-thin", "wrong-drop", "nothing-laid"}, errors


# Two of three sizes alike, and not room for all of each.
FEWER = (
    """<svg xmlns="http://www.w3.org/2000/svg" width="160mm" height="100mm" viewBox="0 0 160 100">
<path id="s0" d="M5 40 C40 40 50 38 95 5 C60 38 60 42 95 75 C50 42 40 40 5 40 Z"/>
<path id="s1" d="M65 60 L155 57 L155 63 Z"/></svg>""",
    """version = 1
title = "Laws"
seed = 0
catalogues = ["shipped:stones", "shipped:beads", "shipped:sequins"]
[artwork]
file = "a.svg"
[[lay]]
id = "lay0"
shapes = "#s0"
way = "row"
pieces = ["R-SS6-CLEAR"]
gap_mm = 0.0
[[lay]]
id = "lay1"
shapes = "#s1"
way = "scatter"
pieces = ["sequin with seed", "R-SS6-CLEAR", "R-SS10-TOPAZ"]
gap_mm = 0.0
""",
)


@pytest.mark.slow
@given(jobs())
@example(FEWER)
@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
def test_fills_stay_inside_and_the_same_job_gives_the_same_bytes(example: tuple[str, str]):
    with tempfile.TemporaryDirectory() as name:
        opened = open_job(folder_of(Path(name), *example))
        one = lay_job(opened.job, opened.artwork, opened.catalogue)
        two = lay_job(opened.job, opened.artwork, opened.catalogue)
        for column in ("xy", "angle_deg", "piece", "unit", "lay", "shape", "row", "u"):
            assert getattr(one.layout, column).tobytes() == getattr(two.layout, column).tobytes()
        assert opened.artwork.page is not None
        back = job_transform(opened.job, opened.artwork.page).inverse()
        for index, asked in enumerate(opened.job.lay):
            if asked.way == "row":
                continue
            region = shapely.union_all(
                [region_of(each) for each in select(opened.artwork, asked.shapes)]
            )
            rows = one.layout.rows(index)
            points = shapely.points(back(one.layout.xy[rows]))
            assert shapely.contains(region, points).all()
            least = np.array(
                [
                    min(p.outline.points[:, 1].max() for p in footprint.parts)
                    for footprint in one.layout.footprints
                ]
            )[one.layout.footprint[rows]]
            # An independent, weaker bound: no centre nearer the edge than the smallest half width.
            assert (
                shapely.distance(region.boundary, points) >= least * 0.99 + asked.edge_mm - 1e-5
            ).all()
