from __future__ import annotations

import json
import re

import numpy as np
import pytest
from lxml import etree

from embellish.geometry.outlines import bounds
from embellish.layout.layout import Layout, SetBy
from embellish.outputs.templates_card import card_files
from embellish.plans.templates.card import AROUND, REPEAT, STEP_MM, CutCard, cut_card
from embellish.plans.templates.settings import TemplateSettings
from embellish.plans.templates.template import clearances
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16, layout_of

SVG = "{http://www.w3.org/2000/svg}"


def laid(*pieces, set_by: SetBy = "template") -> Layout:
    places = [(20.0 * index, 0.0) for index in range(len(pieces))]
    return layout_of(list(pieces), places, list(range(len(pieces))), set_by=(set_by,))


def card_of(*pieces, clearance_mm=None) -> CutCard:
    layout = laid(*pieces)
    found, _ = clearances(layout, TemplateSettings(clearance_mm=clearance_mm))
    card = cut_card(layout, found)
    assert card is not None
    return card


@pytest.mark.parametrize("now", [None, 0.1, {"SS16-A": 0.35}])
def test_holes_run_in_steps_of_a_twentieth_round_what_the_job_has(now):
    card = card_of(SS10_CLEAR, SS16, clearance_mm=now)
    assert [row.codes for row in card.rows] == [("SS16-A",), ("SS10-CLEAR",)]
    at = 0
    for row, most in zip(card.rows, (4.0, 2.9), strict=True):
        tried = np.array(row.tried_mm)
        assert row.now_mm in row.tried_mm
        assert np.diff(tried) == pytest.approx(STEP_MM)
        assert (tried >= 0.0).all()
        assert tried[-1] == pytest.approx(row.now_mm + AROUND * STEP_MM)
        mine = slice(at, at + REPEAT * len(tried))
        at = mine.stop
        assert 2 * card.holes.radius_mm[mine] == pytest.approx(most + np.repeat(tried, REPEAT))
    assert at == len(card.holes)


def test_two_colours_of_a_size_are_tried_once():
    assert [row.codes for row in card_of(SS10_CLEAR, SS10_RED, SS6).rows] == [
        ("SS10-CLEAR", "SS10-RED"),
        ("SS6-A",),
    ]


def test_holes_keep_apart_and_on_the_card_with_their_words_outside():
    card = card_of(SS10_CLEAR, SS16, SS6)
    xy, radius = card.holes.xy, card.holes.radius_mm
    free = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)) - radius[:, None] - radius
    free[np.diag_indices(len(free))] = np.inf
    assert free.min() >= 1.0
    assert ((xy - radius[:, None]) > 2.0).all()
    assert (xy[:, 0] + radius < card.width_mm - 2.0).all()
    assert (xy[:, 1] + radius < card.height_mm - 2.0).all()
    for words in card.words:
        beside = np.abs(xy[:, 1] - words.y_mm) - radius
        assert (beside[np.abs(xy[:, 0] - words.x_mm) < 9.0] > 0.2).all(), words


def test_the_card_says_what_to_enter_where():
    card = card_of(SS10_CLEAR)
    told = " ".join(each.text for each in card.words)
    assert '[template] clearance_mm = { "SS10-CLEAR" = 0.30 }' in told
    assert re.findall(r">(\d\.\d\d)<", told) == ["0.30"]


def test_shaped_pieces_have_shaped_holes():
    card = card_of(NAVETTE, clearance_mm=0.2)
    middle = AROUND * REPEAT
    assert card.clearance_mm[middle] == pytest.approx(0.2)
    x0, y0, x1, y1 = bounds(card.holes.shaped[middle])
    assert (x1 - x0, y1 - y0) == pytest.approx((8.2, 4.2), abs=1e-6)


def test_the_files_have_a_hole_each_and_say_what_it_is():
    card = card_of(SS10_CLEAR, SS16)
    files = card_files(card, ("svg", "plt"))
    assert sorted(files) == ["test-cut-card.json", "test-cut-card.plt", "test-cut-card.svg"]
    facts = json.loads(files["test-cut-card.json"])
    root = etree.fromstring(files["test-cut-card.svg"])
    (cut,) = [each for each in root if each.get("id") == facts["layer"]]
    told = [
        (row["codes"][0], clearance)
        for row in facts["rows"]
        for clearance in row["clearance_mm"]
        for _ in range(facts["repeat"])
    ]
    assert len(cut) == len(told)
    for hole, (code, clearance) in zip(cut, told, strict=True):
        most = {"SS16-A": 4.0, "SS10-CLEAR": 2.9}[code]
        assert 2.0 * float(hole.get("r") or 0) == pytest.approx(most + clearance)


def test_nothing_set_by_template_has_no_card():
    layout = laid(SS6, set_by="hand")
    assert cut_card(layout, np.array([0.3])) is None
