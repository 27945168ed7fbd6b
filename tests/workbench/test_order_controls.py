"""Every setting of the whole order has a control or is knowingly left to the file."""

from __future__ import annotations

from typing import Any

import pytest

from embellish.errors import EmbellishError
from embellish.job.model import Job
from embellish.job.reading import read_job
from embellish.job.text.changes import SetValue
from embellish.job.text.document import changed
from embellish.workbench.order_controls import LEFT_TO_FILE, order_controls
from tests.workbench.serving import MOTH

SECTIONS = {each["key"]: each for each in order_controls()}
CONTROLS = [control for each in SECTIONS.values() for control in each["controls"]]
TEXT = (MOTH / "moth.toml").read_text()
PHOTO = '\n[background]\nfile = "jacket.jpg"\nwidth_mm = 400\n'


@pytest.mark.parametrize("section", [key for key in SECTIONS if key])
def test_every_key_has_a_control_or_is_left_to_the_file(section: str):
    model = Job.model_fields[section].annotation
    fields = next(
        kind.model_fields
        for kind in (model, *getattr(model, "__args__", ()))
        if hasattr(kind, "model_fields")
    )
    shown = {control["at"][1] for control in SECTIONS[section]["controls"]}
    assert shown | LEFT_TO_FILE[section] == set(fields)
    assert not shown & LEFT_TO_FILE[section]


def _offered(control: dict[str, Any]) -> list[Any]:
    if control["kind"] == "choice":
        return [choice["value"] for choice in control["choices"]]
    if control["kind"] == "yes-no":
        return [True, False]
    if control["kind"] == "colour":
        return ["#123456"]
    if control["kind"] == "text":
        return ["EUR" if control["key"] == "currency" else "a"]
    least, most = control["least"], control["most"]
    low = least if not control["above"] else least + 0.01
    high = most if not control["below"] else most - 0.01
    if control["kind"] == "pair":
        return [[low, high]]
    numbers = [low, high] if control["whole"] else [low, (low + high) / 2 + 0.25, high]
    if control.get("percent"):
        numbers = [low, 0.3, high]
    return [f"{each:.2f}" for each in numbers] if control["as_text"] else numbers


@pytest.mark.parametrize("control", CONTROLS, ids=lambda each: ".".join(each["at"]))
def test_what_a_control_offers_is_taken_and_can_be_taken_back(control: dict[str, Any]):
    beside = [SetValue(do="set", at=at, value=None) for at in control["instead_of"]]
    before = TEXT + PHOTO if control["at"][0] == "background" else TEXT
    for value in _offered(control):
        text = changed(before, [SetValue(do="set", at=control["at"], value=value), *beside], "job")
        read_job(text.encode(), "job")
        assert all(line in text for line in TEXT.splitlines() if line.startswith("#"))
    if control["key"] != "title" and control["at"] != ["background", "width_mm"]:
        back = changed(text, [SetValue(do="set", at=control["at"], value=None)], "job")
        read_job(back.encode(), "job")


@pytest.mark.parametrize(
    "control",
    [c for c in CONTROLS if c.get("above") and c["kind"] == "number"],
    ids=lambda c: c["key"],
)
def test_a_limit_that_is_not_reached_is_refused_by_the_job(control: dict[str, Any]):
    text = changed(TEXT, [SetValue(do="set", at=control["at"], value=control["least"])], "job")
    with pytest.raises(EmbellishError):
        read_job(text.encode(), "job")


def test_where_nothing_is_assumed_a_control_does_not_say_as_usual():
    """What a label or a maker has not said is not known, and is not made up."""
    told = {".".join(each["at"]): each.get("unsaid") for each in CONTROLS}
    assert told["cloth.care.dry_clean"] == told["template.press.temperature_c"] == "not said"
    assert told["cloth.heat_limit_c"] == "not known"
    assert told["template.clearance_mm"] is None
    for control in CONTROLS:
        if "unsaid" in control:
            assert control["optional"]
            assert control["default"] is None


def test_no_two_controls_are_called_alike():
    labels = [control["label"] for control in CONTROLS]
    assert len(set(labels)) == len(labels)


def test_hoops_are_listed_by_their_size():
    (hoop,) = (each for each in CONTROLS if each["at"] == ["hoop", "hoop"])
    names = [choice["words"] for choice in hoop["choices"]]
    for first, then in (
        ("50x50", "100x100"),
        ("140x200", "144.78x240.03"),
        ("360x400", "round 90"),
    ):
        assert names.index(first) < names.index(then)


def test_words_are_whole_sentences_without_inner_names():
    for control in CONTROLS:
        assert control["told"].endswith(".")
        assert "_" not in control["label"] + control["told"]
