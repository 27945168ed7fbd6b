from __future__ import annotations

import numpy as np
import pytest
from lxml import etree

from embellish.geometry.outlines import bounds
from embellish.outputs.templates_card import card_files
from embellish.plans.template_card import cut_card
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16

SVG = "{http://www.w3.org/2000/svg}"


def test_holes_run_in_steps_of_a_twentieth_over_the_largest_piece():
    card = cut_card([SS10_CLEAR, SS16], 0.1, 0.3, repeat=2)
    assert len(card.holes) == 2 * 5 * 2
    for code, most in (("SS16-A", 4.0), ("SS10-CLEAR", 2.9)):
        mine = np.array([each == code for each in card.codes])
        np.testing.assert_allclose(
            2 * card.holes.radius_mm[mine],
            np.repeat(most + np.array([0.1, 0.15, 0.2, 0.25, 0.3]), 2),
        )


def test_two_colours_of_a_size_are_tried_once():
    assert set(cut_card([SS10_CLEAR, SS10_RED, SS6]).codes) == {"SS10-CLEAR", "SS6-A"}


def test_holes_keep_apart_and_on_the_card_with_their_words_outside():
    card = cut_card([SS10_CLEAR, SS16, SS6])
    xy, radius = card.holes.xy, card.holes.radius_mm
    free = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)) - radius[:, None] - radius
    free[np.diag_indices(len(free))] = np.inf
    assert free.min() >= 1.0
    assert ((xy - radius[:, None]) > 2.0).all()
    assert (xy[:, 0] + radius < card.width_mm - 2.0).all()
    assert (xy[:, 1] + radius < card.height_mm - 2.0).all()
    for words in card.words:
        beside = np.abs(xy[:, 1] - words.y_mm) - radius
        assert (beside[np.abs(xy[:, 0] - words.x_mm) < 5.0] > 0.2).all(), words


def test_shaped_pieces_have_shaped_holes():
    card = cut_card([NAVETTE], 0.2, 0.2, repeat=1)
    x0, y0, x1, y1 = bounds(card.holes.shaped[0])
    assert (x1 - x0, y1 - y0) == pytest.approx((8.2, 4.2), abs=1e-6)


def test_the_file_has_a_circle_a_hole():
    card = cut_card([SS10_CLEAR, SS16])
    files = card_files(card, ("svg", "plt"))
    assert sorted(files) == ["test-card.plt", "test-card.svg"]
    root = etree.fromstring(files["test-card.svg"])
    (cut,) = [each for each in root if each.get("id") == "cut"]
    assert [float(hole.get("r") or 0) for hole in cut] == pytest.approx(
        card.holes.radius_mm.tolist()
    )
    text = " ".join(each.text or "" for each in root.iter(f"{SVG}text"))
    assert "0.10" in text
    assert "0.60" in text


def test_nothing_to_try_is_refused():
    with pytest.raises(ValueError, match="needs a piece"):
        cut_card([])
    with pytest.raises(ValueError, match="from low to high"):
        cut_card([SS6], 0.5, 0.1)
