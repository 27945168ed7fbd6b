"""The views of the page: sheets as they are cut and printed, and the garment behind the layout."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.workbench.serving import Started
from tests.workbench.showing import IN_A_BROWSER, laid, step

pytestmark = IN_A_BROWSER


def photo(colour: tuple[int, int, int]) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (400, 300), colour).save(file, format="PNG")
    return file.getvalue()


def look(page: Any, name: str) -> None:
    page.locator("#looks").get_by_role("button", name=name, exact=True).click()


def shown(page: Any) -> Any:
    """Return the sheet's picture, once it is there."""
    image = page.locator("#sheets img")
    image.wait_for()
    page.wait_for_function(
        "() => { const i = document.querySelector('#sheets img');"
        " return i.complete && i.naturalWidth > 0; }"
    )
    return image


def test_templates_are_shown_as_they_are_cut_one_after_the_other(page: Any):
    laid(page)
    look(page, "Templates")
    first = shown(page)
    assert first.get_attribute("alt").startswith("Template 1 of 2: ")
    assert "Brush in, one after the other: R-SS16" in page.locator("#sheets").inner_text()
    before = first.get_attribute("src")
    page.get_by_role("button", name="The next sheet").click()
    page.wait_for_function(
        "(src) => !document.querySelector('#sheets img').src.endsWith(src)", arg=before
    )
    shown(page)
    assert page.get_by_role("button", name="The next sheet").is_disabled()
    wide = page.locator("#sheets img").bounding_box()["width"]
    page.get_by_role("button", name="Larger").click()
    assert page.locator("#sheets img").bounding_box()["width"] > wide
    look(page, "As it will look")
    assert page.locator("#sheets").is_hidden()


def test_walls_too_thin_are_ringed_and_said(page: Any, moth: Started):
    laid(page)
    moth.change({"do": "set", "at": ["template", "wall_mm"], "value": 0.9})
    laid(page)
    look(page, "Templates")
    shown(page)
    page.locator("#sheets").get_by_text("An error stands: not to be cut").wait_for()
    said = page.locator("#sheets").inner_text()
    assert "walls thinner than 0.9 mm" in said
    sheets = moth.get("/api/sheets")["sheets"]
    which = next(k for k, each in enumerate(sheets) if each["thin"])
    picture = moth.client.get(f"/api/sheet?which={which}").text
    assert 'id="too-thin"' in picture
    assert "NOT TO BE CUT" in picture
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => !document.getElementById('sheets').innerText.includes('thinner')")


def lightness(page: Any, where: str) -> float:
    """Return how light a point of the picture is: a seat's middle, or bare cloth."""
    page.wait_for_function("() => bench.drawn()")
    found: float = page.evaluate(
        """(where) => { const { store, eye } = bench;
        const pen = document.getElementById("base").getContext("2d");
        const at = where === "seat" ? [store.seats.xy[0], store.seats.xy[1]]
          : [store.layout.bounds_mm[0] - 3, store.layout.bounds_mm[1] - 3];
        const [x, y] = [(at[0] - eye.x) * eye.scale, (at[1] - eye.y) * eye.scale];
        const n = 4 * eye.ratio;
        const got = pen.getImageData(x * eye.ratio - n / 2, y * eye.ratio - n / 2, n, n).data;
        const sum = got.reduce((so_far, each, k) => so_far + (k % 4 < 3 ? each : 0), 0);
        return sum / (got.length * 0.75); }""",
        where,
    )
    return found


def test_evening_falls_on_the_cloth_and_not_on_the_stones(page: Any):
    laid(page)
    day = {where: lightness(page, where) for where in ("seat", "cloth")}
    look(page, "In the evening")
    evening = {where: lightness(page, where) for where in day}
    assert evening["cloth"] < 0.6 * day["cloth"]
    assert evening["seat"] == pytest.approx(day["seat"], rel=0.02)
    look(page, "By day")
    assert {where: lightness(page, where) for where in day} == day


def test_the_chart_is_shown_page_by_page(page: Any):
    laid(page)
    look(page, "Chart")
    assert shown(page).get_attribute("alt").startswith("Chart, page 1: ")
    page.get_by_label("Sheet shown").select_option(label="Chart, page 2")
    page.wait_for_function("() => document.querySelector('#sheets img').alt.includes('page 2')")


def test_a_sheet_is_named_by_number_alone(moth: Started):
    for which in ("99", "-1", "../moth.toml", ""):
        assert moth.client.get("/api/sheet", params={"which": which}).status_code == 404


def middle(page: Any) -> list[int]:
    """Return the colour of the picture where no piece and no shape is: near its lower corner."""
    found: list[int] = page.evaluate(
        """() => new Promise((done) => requestAnimationFrame(() => setTimeout(() => {
          const { eye, store } = bench, canvas = document.getElementById("base");
          const [x, y] = [store.layout.page_mm[0] / 2, store.layout.page_mm[1] - 1];
          const at = [(x - eye.x) * eye.scale * eye.ratio, (y - eye.y) * eye.scale * eye.ratio];
          done([...canvas.getContext("2d").getImageData(...at.map(Math.round), 1, 1).data]);
        }, 60)))"""
    )
    return found[:3]


def all_in_sight(page: Any) -> bool:
    return bool(
        page.evaluate(
            """() => { const { store, toCloth } = bench, stage = document.getElementById("stage");
            const [x0, y0, x1, y1] = store.layout.bounds_mm, [u, v] = toCloth(0, 0);
            const [s, t] = toCloth(stage.clientWidth, stage.clientHeight);
            return x0 >= u && y0 >= v && x1 <= s && y1 <= t; }"""
        )
    )


def test_all_is_in_sight_until_the_hand_takes_the_view(page: Any):
    laid(page)
    page.wait_for_function("() => bench.drawn()")
    assert all_in_sight(page)
    page.set_viewport_size({"width": 820, "height": 500})
    page.wait_for_timeout(300)
    assert all_in_sight(page)
    look(page, "Larger")
    look(page, "Larger")
    scale = page.evaluate("() => bench.eye.scale")
    page.set_viewport_size({"width": 1280, "height": 860})
    page.wait_for_timeout(300)
    assert page.evaluate("() => bench.eye.scale") == scale
    look(page, "Show all")
    assert all_in_sight(page)


def test_the_garment_lies_behind_the_layout_and_fades(page: Any, shelf: Path):
    laid(page)
    before = (shelf / "moth.toml").read_text()
    step(page, "Order")
    page.locator("summary", has_text="A photo of the garment").click()
    page.get_by_label("A photo of the garment").set_input_files(
        {"name": "my jacket.png", "mimeType": "image/png", "buffer": photo((200, 30, 30))}
    )
    page.wait_for_function("() => bench.store.state.job.background?.width_mm === 400")
    laid(page)
    assert (shelf / page.evaluate("() => bench.store.state.job.background.file")).exists()
    page.wait_for_timeout(400)
    red = middle(page)
    assert max(abs(a - b) for a, b in zip(red, (200, 30, 30), strict=True)) < 12
    page.get_by_label("Faded (%)").fill("100")
    page.wait_for_function("() => bench.store.state.job.background.fade === 1")
    laid(page)
    page.wait_for_timeout(400)
    cloth = middle(page)
    assert max(abs(a - b) for a, b in zip(cloth, (0x2F, 0x3E, 0x5C), strict=True)) < 12
    page.get_by_role("button", name="Without the photo").click()
    page.wait_for_function("() => !bench.store.state.job.background")
    assert "background" not in (shelf / "moth.toml").read_text()
    assert (shelf / "moth.toml").read_text().strip() == before.strip()


def test_the_garment_is_placed_by_two_points_clicked_and_by_its_width_again(page: Any):
    laid(page)
    step(page, "Order")
    page.locator("summary", has_text="A photo of the garment").click()
    page.get_by_label("A photo of the garment").set_input_files(
        {"name": "jacket.png", "mimeType": "image/png", "buffer": photo((200, 30, 30))}
    )
    page.wait_for_function("() => bench.store.state.job.background?.width_mm === 400")
    laid(page)
    box = page.locator("#base").bounding_box()
    page.get_by_role("button", name="Click them in the picture").click()
    page.get_by_text("Click the first point in the photo.").wait_for()
    for right, down in ((100, 100), (100, 100), (200, 100), (100, 200)):
        page.mouse.click(box["x"] + right, box["y"] + down)
    page.wait_for_function("() => document.getElementById('point7').value !== ''")
    # What was clicked may be typed over: the second belongs as far below as it is to the right.
    clicked = [float(page.locator(f"#point{k}").input_value()) for k in range(8)]
    assert clicked[:2] == clicked[2:4]
    apart = clicked[4] - clicked[0]
    page.locator("#point6").fill(str(clicked[0]))
    page.locator("#point7").fill(str(clicked[1] + 2 * apart))
    page.get_by_role("button", name="Place the photo so").click()
    page.wait_for_function("() => bench.store.state.job.background.points_px")
    laid(page)
    placed = page.evaluate("() => bench.store.state.job.background")
    assert "width_mm" not in placed
    (px, py), (qx, qy) = placed["points_px"]
    # A photo that was 400 mm wide and upright stands turned by a right angle, twice as large.
    assert qx - px == pytest.approx(apart, rel=0.01)  # of 400 pixels, 400 mm
    assert qy == pytest.approx(py, abs=0.1)
    assert placed["points_mm"][0] == pytest.approx(clicked[:2], abs=1e-3)
    page.get_by_role("button", name="By its width again").click()
    page.wait_for_function("() => !bench.store.state.job.background.points_px")
    laid(page)
    assert page.evaluate("() => bench.store.state.job.background.width_mm") == pytest.approx(
        800, rel=0.01
    )
    page.keyboard.press("Control+z")
    page.wait_for_function("() => bench.store.state.job.background.points_px")
    # What is begun is left by the key Escape, and by another step.
    for leave in (lambda: page.keyboard.press("Escape"), lambda: step(page, "Check")):
        page.get_by_role("button", name="Click them in the picture").click()
        page.mouse.click(box["x"] + 100, box["y"] + 100)
        page.wait_for_function("() => document.getElementById('point0').value !== ''")
        leave()
        page.wait_for_function("() => !document.getElementById('point0')?.value")
        assert page.locator("#hint").inner_text() == ""


@pytest.mark.parametrize(
    ("asked", "content"),
    [
        ("for=background&name=a.png", b"no picture"),
        ("for=background&lay=edge&name=a.png", b""),
        ("for=price&name=a.png", b""),
        ("for=mosaic&lay=nobody&name=a.png", None),
        ("for=background&name=noending", None),
    ],
)
def test_what_is_no_picture_leaves_nothing_behind(
    moth: Started, shelf: Path, asked: str, content: bytes | None
):
    before = {path.name: path.read_bytes() for path in shelf.iterdir() if path.is_file()}
    sent = photo((1, 2, 3)) if content is None else content
    assert moth.client.post(f"/api/picture?{asked}", content=sent).status_code == 422
    assert {path.name: path.read_bytes() for path in shelf.iterdir() if path.is_file()} == before


@pytest.mark.parametrize("name", ["../../up.png", "..\\up.png", "/root/up.png", "up.png"])
def test_a_picture_stays_in_the_folder_whatever_it_is_called(moth: Started, shelf: Path, name: str):
    answer = moth.client.post(
        "/api/picture", params={"for": "background", "name": name}, content=photo((1, 2, 3))
    )
    assert answer.json()["job"]["background"]["file"] == "up.png"
    assert (shelf / "up.png").read_bytes() == photo((1, 2, 3))
    again = moth.client.post(
        "/api/picture", params={"for": "background", "name": name}, content=photo((1, 2, 3))
    )
    assert again.json()["job"]["background"]["file"] == "up.png"  # not put there twice
