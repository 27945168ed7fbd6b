"""Every setting of every way has a control in plain words, with the range the job itself holds."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

from embellish.layout.ways.fades import Fade
from embellish.layout.ways.fields import Blend
from embellish.layout.ways.pictures import Mosaic
from embellish.layout.ways.table import WAYS
from embellish.workbench import course_controls
from embellish.workbench.controls import BY_FORM, controls

TAKEN_FOR_GRANTED = {"settle"}
"""Settled where a way can be: in the others it has no use."""

OF = {each["way"]: each for each in controls()["ways"]}


@pytest.mark.parametrize("way", WAYS)
def test_every_key_has_a_control(way: str):
    keys = {control["key"] for control in OF[way]["controls"]}
    wanted = set(WAYS[way].settings.model_fields) - BY_FORM
    assert wanted - keys <= TAKEN_FOR_GRANTED
    assert keys <= wanted


@pytest.mark.parametrize("way", WAYS)
def test_a_control_cannot_ask_for_what_the_job_refuses(way: str):
    for control in OF[way]["controls"]:
        offered = []
        if control.get("kind") == "choice":
            offered = [choice["value"] for choice in control["choices"]]
        if control.get("kind") == "number":
            offered = [each for each in (control["least"], control["most"]) if each is not None]
            if control["key"] in ("pitch_mm", "lap_mm"):
                offered = [1.0]  # above nothing
        for value in offered:
            WAYS[way].settings.model_validate({control["key"]: value})


def test_words_say_what_it_does_and_not_how_it_is_called_inside():
    for control in [c for each in OF.values() for c in each["controls"]] + controls()["common"]:
        for words in (control["label"], control["told"]):
            assert words
            assert "_" not in words
        assert control["told"].endswith(".")


@pytest.mark.parametrize(("table", "model"), [("fade", Fade), ("blend", Blend), ("mosaic", Mosaic)])
def test_every_key_of_what_a_lay_goes_by_has_a_control(table: str, model: type[BaseModel]):
    held = course_controls.course_controls()[table]
    keys = {control["key"] for control in held["controls"]}
    by_form = course_controls.BY_FORM
    assert keys | by_form >= set(model.model_fields)
    assert keys <= set(model.model_fields) - by_form
    assert held["ways"]
    assert all(control["told"].endswith(".") for control in held["controls"])
