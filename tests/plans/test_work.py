from __future__ import annotations

import re
from dataclasses import replace

import pytest

from embellish.catalogue.piece import Kind, Piece
from embellish.layout.layout import Layout
from embellish.plans.cloth import ClothSettings
from embellish.plans.lifts import plan_lifts
from embellish.plans.paper import plan_paper
from embellish.plans.paper_settings import PaperSettings
from embellish.plans.stitching.settings import StitchSettings
from embellish.plans.stitching.stitch import plan_stitches
from embellish.plans.templates.settings import PressSettings, TemplateSettings
from embellish.plans.templates.template import plan_templates
from embellish.plans.working.cautions import _RULES
from embellish.plans.working.work import WorkPlan, plan_work
from tests.plans.template_cases import NAVETTE, SS6, SS10_CLEAR, SS10_RED, SS16, lattice, layout_of


def other(code: str, kind: Kind, fixing: str) -> Piece:
    return SS16.model_copy(update={"code": code, "kind": kind, "fixing": fixing})


SEQUIN = other("SEQ", "sequin", "sew-on")
GLUED = other("GEM", "stone", "glue")
STUD = other("STUD", "stud", "heat-set")


def worked(layout: Layout, quantity: int = 1, press: PressSettings | None = None) -> WorkPlan:
    settings = TemplateSettings(press=press or PressSettings())
    templates = plan_templates(layout, settings, quantity)
    stitches = plan_stitches(layout, StitchSettings())
    return plan_work(layout, templates, plan_lifts(layout, templates), stitches, quantity)


def everything() -> Layout:
    return layout_of(
        [SS10_CLEAR, NAVETTE, SEQUIN, GLUED, SS6],
        [(30.0 * index, 0.0) for index in range(5)],
        [0, 1, 2, 3, 4],
        lay=[0, 1, 2, 3, 4],
        set_by=("template", "face-down", "sewn", "hand", "hand"),
    )


def test_marks_are_sewn_then_pressed_then_sewn_on_and_glue_is_last():
    layout = everything()
    lays = tuple(replace(lay, mark="each") if lay.set_by == "sewn" else lay for lay in layout.lays)
    plan = worked(replace(layout, lays=lays), 24)
    kinds = [step.kind for step in plan.steps]
    order = ["try", "cut", "sew-marks", "lift", "face-down", "press", "hand", "sew-on", "glue"]
    assert [kinds.index(kind) for kind in ("try", "cut", "sew-marks", "lift")] == [0, 1, 2, 3]
    assert kinds[-3:] == ["hand", "sew-on", "glue"]
    assert set(kinds) == set(order)
    assert {step.times for step in plan.steps if step.kind in ("try", "cut")} == {1}
    assert {step.times for step in plan.steps if step.kind not in ("try", "cut")} == {24}
    assert (plan.templates, plan.lifts, plan.passes) == (1, 48, 48)


def test_the_steps_set_every_piece_once():
    layout = everything()
    setting = ("lift", "face-down", "hand", "sew-on", "glue")
    counted = [
        count for step in worked(layout).steps if step.kind in setting for count in step.counts
    ]
    assert sorted(counted) == sorted((piece.code, 1) for piece in layout.pieces)


def test_the_brush_in_order_and_the_gathering_are_told():
    layout = lattice([SS10_CLEAR, SS10_RED, SS16, SS6], 8, 8, 6.0, (0, 1, 2, 3))
    (lift,) = [step for step in worked(layout, 24).steps if step.kind == "lift"]
    told = " ".join(lift.words)
    assert told.index("SS16-A (16)") < told.index("SS10-CLEAR (16)") < told.index("SS6-A (16)")
    assert "One sheet takes them all" in told
    assert dict(lift.counts) == {"SS10-CLEAR": 16, "SS10-RED": 16, "SS16-A": 16, "SS6-A": 16}


def test_press_settings_are_those_entered_and_no_others():
    layout = lattice([SS16], 3, 3, 6.0)
    (silent,) = [step for step in worked(layout).steps if step.kind == "press"]
    assert not any("°C" in words or "entered" in words for words in silent.words)
    press = PressSettings(temperature_c=150, seconds=12, pressure="medium", note="Peel cold.")
    (told,) = [step for step in worked(layout, 1, press).steps if step.kind == "press"]
    assert "As entered in the job: 150 °C, 12 s, medium." in told.words
    assert "Peel cold." in told.words


def test_the_first_step_names_the_card_only_where_templates_are_cut():
    first = worked(lattice([SS16], 3, 3, 6.0)).steps[0]
    assert first.kind == "try"
    assert any("test-cut card" in words for words in first.words)
    sewn = worked(layout_of([SEQUIN], [(0.0, 0.0)], set_by=("sewn",))).steps[0]
    assert sewn.kind == "try"
    assert not any("card" in words for words in sewn.words)


def test_what_is_worked_from_the_back_says_so():
    layout = layout_of([SEQUIN, SEQUIN], [(0.0, 0.0), (20.0, 0.0)], [0, 1], lay=[0, 1],
                       set_by=("sewn", "sewn"))  # fmt: skip
    back = replace(layout.lays[1], worked_from="back")
    layout = replace(layout, lays=(layout.lays[0], back))
    told = [" ".join(step.words) for step in worked(layout).steps if step.kind == "sew-on"]
    assert ["MIRRORED" in each for each in told] == [False, True]


def test_patterns_on_paper_are_laid_on_before_anything_is_set():
    layout = layout_of([SEQUIN], [(0.0, 0.0)], set_by=("sewn",))
    templates = plan_templates(layout, TemplateSettings())
    paper = plan_paper(layout, PaperSettings(pounce=True, stencil=True, wash_away=True))
    plan = plan_work(layout, templates, plan_lifts(layout, templates), quantity=3, paper=paper)
    assert [step.kind for step in plan.steps] == ["try", "paper", "paper", "paper", "sew-on"]
    assert [step.files for step in plan.steps[1:4]] == [
        ("paper/pounce",),
        ("paper/stencil",),
        ("paper/wash-away",),
    ]
    assert {step.times for step in plan.steps[1:]} == {3}


def test_the_press_step_says_what_heat_the_cloth_bears_where_that_is_known():
    layout = layout_of([SS16], [(0.0, 0.0)], set_by=("template",))
    templates = plan_templates(layout, TemplateSettings())
    lifts = plan_lifts(layout, templates)
    for cloth, told in (
        (ClothSettings(heat_limit_c=110), "The cloth bears 110 °C, as entered in the job."),
        (
            ClothSettings.model_validate({"care": {"iron_c": 0}}),
            "The cloth's label allows no iron, as entered in the job.",
        ),
        (ClothSettings(), None),
    ):
        work = plan_work(layout, templates, lifts, heat_words=cloth.bears_words)
        (press,) = (step for step in work.steps if step.kind == "press")
        assert [words for words in press.words if words.startswith("The cloth")] == (
            [told] if told else []
        )


@pytest.mark.parametrize(("mark", "words"), [("each", "over the marks"), ("none", "by the chart")])
def test_only_what_is_marked_is_sewn_over_marks_and_nothing_else_speaks_of_a_press(mark, words):
    layout = layout_of([SEQUIN], [(0.0, 0.0)], set_by=("sewn",))
    lays = tuple(replace(lay, mark=mark) for lay in layout.lays)
    steps = {step.kind: step for step in worked(replace(layout, lays=lays)).steps}
    assert words in steps["sew-on"].words[0]
    assert "press" not in " ".join(steps["try"].words)
    pressed = worked(layout_of([SS16], [(0.0, 0.0)], set_by=("template",)))
    assert "press, wash" in " ".join(pressed.steps[0].words)


def test_no_caution_leans_on_hearsay():
    """A source is a law, a body or a guide to ask for, or it is said that there is none."""
    for caution, _ in _RULES:
        assert not re.search(r"www|https?:|\.com|community|first-hand|wiki", caution.source)


@pytest.mark.parametrize(
    ("pieces", "set_by", "there", "not_there"),
    [
        ([SS16], "template", {"hot-press", "dial", "blade", "small-parts", "lead"}, {"glue"}),
        ([SEQUIN], "sewn", {"small-parts"}, {"hot-press", "no-heat-on-sequins", "lead", "blade"}),
        ([GLUED], "hand", {"glue"}, {"hot-press", "blade"}),
        ([STUD], "hand", {"nickel", "hot-press"}, {"lead", "glue", "dial"}),
    ],
    ids=["template", "sequin", "glue", "stud"],
)
def test_cautions_are_those_of_what_the_job_holds(pieces, set_by, there, not_there):
    plan = worked(layout_of(pieces, [(0.0, 0.0)], set_by=(set_by,)))
    codes = {caution.code for caution in plan.cautions}
    assert "makers-instructions" in codes
    assert there <= codes
    assert not not_there & codes
    assert all(caution.source for caution in plan.cautions)


def test_sequins_beside_a_press_are_cautioned():
    codes = {caution.code for caution in worked(everything()).cautions}
    assert "no-heat-on-sequins" in codes


def test_nothing_to_do_is_nothing():
    layout = layout_of([SS16], [])
    plan = worked(layout)
    assert plan.steps == ()
    assert plan.cautions == ()


def test_each_transfer_sheet_has_a_number_and_its_tile_and_the_pass_names_them():
    layout = lattice([SS10_CLEAR, SS10_RED], 40, 30, 5.0, (0, 1))
    settings = TemplateSettings(platen=(130.0, 130.0))
    templates = plan_templates(layout, settings, 24)
    lifts = plan_lifts(layout, templates)
    steps = plan_work(layout, templates, lifts, None, 24).steps
    many = len(lifts.lifts)
    titles = [step.title for step in steps if step.kind == "lift"]
    assert titles == [
        f"Transfer sheet {n} of {many}: brush in and lift from templates 1 of 2, tile {n}; "
        f"2 of 2, tile {n}"
        for n in range(1, many + 1)
    ]
    presses = [step for step in steps if step.kind == "press"]
    named = [int(word) for step in presses for word in re.findall(r"\d+", step.words[0])]
    assert named == list(range(1, many + 1))
    # A tile with fewer than two registration holes is laid on by its edges.
    sparse = [each for each in templates.templates[0].parts if len(each.registration) < 2]
    by_edges = [step for step in steps if "edges and ticks" in " ".join(step.words)]
    assert len(by_edges) == len(sparse) > 0
    for step in (step for step in steps if step.kind == "lift"):
        assert sum(count for _, count in step.counts) > 0
        assert step.times == 24
