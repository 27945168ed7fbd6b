"""The proof: to scale, counted in full, lit from one side, stamped where it must be."""

from io import BytesIO

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from PIL import Image

from embellish.outputs.drawing.drawing import (
    Circles,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Stamps,
    Words,
)
from embellish.outputs.drawing.fonts import text_width_mm
from embellish.outputs.drawing.png import png_bytes
from embellish.outputs.legend import entries, fitted, piece_size, wrapped
from embellish.outputs.proof import proof_drawing, proof_files
from embellish.outputs.proof_forms import Form, enlarged
from embellish.outputs.proof_pieces import piece_picture
from embellish.outputs.seated import seated
from embellish.plans.title import TitleBlock
from tests.outputs import cast


def words(drawing: Drawing) -> list[str]:
    return [
        item.text for layer in drawing.layers for item in layer.items if isinstance(item, Words)
    ]


def layer(drawing: Drawing, name: str) -> tuple[Item, ...]:
    return next((one.items for one in drawing.layers if one.id == name), ())


def picture_of(piece, angle: float, px: float = 40.0) -> np.ndarray:
    """Grey levels of one piece as set at a turn, on mid-grey cloth."""
    items = piece_picture(piece, angle, "#808080")
    where = Instances("one", items, np.array([[6.0, 6.0]]), np.array([angle]))
    drawing = Drawing(12.0, 12.0, (Layer("a", (where,)),), background="#808080")
    image = Image.open(BytesIO(png_bytes(drawing, px))).convert("L")
    return np.asarray(image, dtype=float)


@pytest.mark.parametrize("piece", cast.ALL, ids=lambda piece: piece.code)
def test_a_picture_covers_its_nominal_size_and_little_more(piece):
    seen = picture_of(piece, 0.0) != 128.0
    # Its shadow falls to the lower right, so left and upper edges are its own.
    columns, rows = np.flatnonzero(seen.any(axis=0)), np.flatnonzero(seen.any(axis=1))
    left, top = 6.0 - columns[0] / 40.0, 6.0 - rows[0] / 40.0
    assert left == pytest.approx(piece.length_mm.nominal / 2.0, abs=0.08)
    assert top == pytest.approx(piece.width_mm.nominal / 2.0, abs=0.08)
    reach = piece.length_mm.nominal / 2.0 + 0.4 * piece.width_mm.nominal
    assert columns[-1] / 40.0 - 6.0 < reach


@pytest.mark.parametrize("piece", cast.ALL, ids=lambda piece: piece.code)
@pytest.mark.parametrize("angle", [0.0, 75.0, 180.0, 285.0])
def test_shadows_fall_to_the_lower_right_whatever_the_turn(piece, angle):
    seen = picture_of(piece, angle) != 128.0
    y, x = (np.indices(seen.shape) + 0.5) / 40.0 - 6.0
    turn = np.radians(angle)
    ring = Form.of(piece).ring @ [[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]
    shadow = seen & ~shapely.contains_xy(shapely.Polygon(ring).buffer(0.06), x, y)
    assert shadow.sum() > 50
    middle = np.array([x[shadow].mean(), y[shadow].mean()])
    assert middle.min() > 0.1
    assert np.hypot(*middle) > 0.3


@pytest.mark.parametrize("piece", [cast.STONE, cast.PEARL, cast.STUD, cast.ROUND_BEAD])
def test_the_lit_side_is_the_upper_left(piece):
    light = picture_of(piece, 0.0)
    r = piece.length_mm.nominal / 2.0 * 40.0
    y, x = np.indices(light.shape) - 240.0
    rim = (np.hypot(x, y) < r * 0.95) & (np.hypot(x, y) > r * 0.3)
    assert light[rim & (x + y < -r * 0.6)].mean() > light[rim & (x + y > r * 0.6)].mean() + 5.0


def test_a_hole_shows_the_cloth():
    dark = piece_picture(cast.SEQUIN, 0.0, "#000000")[-1]
    light = piece_picture(cast.SEQUIN, 0.0, "#ffffff")[-1]
    assert isinstance(dark, Circles)
    assert dark.style.fill == "#000000"
    assert light.style.fill != dark.style.fill


@settings(max_examples=20, deadline=None)
@given(st.floats(0.2, 8.0))
def test_enlarging_scales_every_part(factor):
    items = piece_picture(cast.SEQUIN)
    for small, large in zip(items, enlarged(items, factor), strict=True):
        if isinstance(small, Circles):
            assert isinstance(large, Circles)
            assert large.radius_mm == pytest.approx(small.radius_mm * factor)
        else:
            assert isinstance(large, Lines)
            assert large.lines[0] == pytest.approx(small.lines[0] * factor)
        assert large.style.stroke_width_mm == pytest.approx(small.style.stroke_width_mm * factor)


def test_facets_keep_the_sharp_corners():
    corners = Form.of(cast.NAVETTE).corners
    tips = np.array([[-4.0, 0.0], [4.0, 0.0]])
    for tip in tips:
        assert np.hypot(*(corners - tip).T).min() < 1e-6
    assert 12 <= len(corners) <= 20


def test_pieces_stand_where_their_seats_are_at_their_turns():
    plan = cast.layout([(10.0, 20.0, 0.0, "STONE"), (30.0, 20.0, 40.0, "NAVETTE")])
    drawing = proof_drawing(plan, cast.TITLE)
    (stamps,) = layer(drawing, "pieces")
    assert isinstance(stamps, Stamps)
    assert stamps.xy[1] - stamps.xy[0] == pytest.approx([20.0, 0.0])
    assert stamps.angle_deg == pytest.approx([0.0, 40.0])


def test_the_design_is_in_the_middle_of_its_cloth():
    plan = cast.layout([(10.0, 20.0, 0.0, "STONE"), (50.0, 60.0, 0.0, "STONE")])
    drawing = proof_drawing(plan, cast.TITLE, artwork=[cast.square_shape(5.0, 15.0, 50.0)])
    (cloth,) = layer(drawing, "cloth")
    assert isinstance(cloth, Lines)
    (stamps,) = layer(drawing, "pieces")
    assert isinstance(stamps, Stamps)
    middle = (cloth.lines[0].min(axis=0) + cloth.lines[0].max(axis=0)) / 2.0
    assert stamps.xy.mean(axis=0) == pytest.approx(middle)
    assert layer(drawing, "artwork")


def test_a_layout_keeps_its_order_so_that_laps_lie_right():
    plan = cast.layout(
        [(10.0 + 2.0 * i, 10.0, 0.0, "SEQUIN" if i % 2 else "PEARL") for i in range(9)]
    )
    (stamps,) = layer(proof_drawing(plan, cast.TITLE), "pieces")
    assert isinstance(stamps, Stamps)
    assert (np.diff(stamps.xy[:, 0]) > 0.0).all()
    assert stamps.which.tolist() == [0, 1] * 4 + [0]


def test_units_are_counted_in_full_and_set_where_their_members_are():
    plan = cast.layout([(10.0, 10.0, 90.0, "SPRIG"), (20.0, 10.0, 0.0, "BEAD")])
    every = seated(plan)
    assert [cast.ALL[i].code for i in every.piece] == ["SEQUIN", "BEAD", "BEAD"]
    assert every.xy[1] == pytest.approx([9.5, 11.0])
    assert every.angle_deg[1] == pytest.approx(180.0)
    assert {line.code: line.count for line in entries(plan)} == {"BEAD": 2, "SEQUIN": 1, "SPRIG": 1}


def test_a_unit_of_unknown_pieces_is_refused():
    plan = cast.layout([(0.0, 0.0, 0.0, "SPRIG")])
    object.__setattr__(plan, "pieces", plan.pieces[:1])
    with pytest.raises(ValueError, match="SEQUIN"):
        seated(plan)


def test_the_words_tell_title_counts_and_sizes():
    drawing = proof_drawing(cast.one_of_each(), cast.TITLE, notes=("Small parts.",))
    said = words(drawing)
    assert "Invented wreath" in said
    assert any("size M" in text and "rev. B" in text and "0badcafe" in text for text in said)
    assert "16 pieces" in said
    assert "Small parts." in said
    assert "SS12 · 3 mm" in said
    assert not layer(drawing, "stop")


def test_a_stop_is_stamped_across_the_picture_and_above_it():
    title = TitleBlock("Invented", "A", "00000000", stop="NOT TO BE CUT")
    drawing = proof_drawing(cast.one_of_each(), title)
    assert words(drawing).count("NOT TO BE CUT") == 2
    assert drawing.layers[-1].id == "stop"


def test_sizes_in_words():
    assert piece_size(cast.STONE) == "SS12 · 3 mm"
    assert piece_size(cast.NAVETTE) == "8 × 4 mm"
    assert piece_size(cast.NAVETTE.model_copy(update={"size": "8x4"})) == "8 × 4 mm"


@settings(max_examples=40, deadline=None)
@given(st.text(min_size=1, max_size=60), st.floats(5.0, 60.0))
def test_fitted_and_wrapped_words_stay_in_their_room(text, width):
    assert text_width_mm(fitted(text, 2.0, width), 2.0) <= max(width, text_width_mm("…", 2.0))
    for line in wrapped(text, 2.0, width):
        assert text_width_mm(line, 2.0) <= max(width, text_width_mm("…", 2.0))


def test_nothing_laid_is_still_a_page():
    assert words(proof_drawing(cast.layout([]), cast.TITLE))


def test_files_are_to_scale_capped_and_equal_every_time():
    plan = cast.one_of_each()
    files = proof_files(proof_drawing(plan, cast.TITLE, artwork=[cast.square_shape(0, 0, 60)]))
    assert sorted(files) == ["proof.png", "proof.svg"]
    again = proof_files(proof_drawing(plan, cast.TITLE, artwork=[cast.square_shape(0, 0, 60)]))
    assert files == again
    root = etree.fromstring(files["proof.svg"])
    width, height = (float(str(root.get(side)).removesuffix("mm")) for side in ("width", "height"))
    image = Image.open(BytesIO(files["proof.png"]))
    assert max(image.size) <= 4000
    assert image.width / image.height == pytest.approx(width / height, rel=2e-3)


def test_a_gown_is_drawn_smaller():
    plan = cast.layout([(0.0, 0.0, 0.0, "STONE"), (900.0, 1400.0, 0.0, "STONE")])
    image = Image.open(BytesIO(proof_files(proof_drawing(plan, cast.TITLE))["proof.png"]))
    assert max(image.size) == 4000
