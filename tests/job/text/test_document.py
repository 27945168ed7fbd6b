"""A job file changed by the page reads as if a careful person had changed it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import EmbellishError, JobError
from embellish.job.text.changes import Change, read_changes
from embellish.job.text.document import changed

JOB = """# A job of ours.
version = 1
title = "Moth"   # as on the order
catalogues = ["shipped:stones"]

[artwork]
file = "moth.svg"

# What goes on the edge.
[[lay]]
id = "edge"
shapes = "#a"
way = "row"
pieces = ["A"]
gap_mm = 0.9 # clearance and wall

[[lay]]
id = "fill"   # inside
shapes = "#a"
way = "grid"
pieces = { "A" = 1, "B" = 2 }
gap_mm = 1.0

[[edit]]
lay = "edge"
do = "pin"
at = [0.1, 0.2]

[[edit]]
lay = "fill"
do = "delete"
at = [0.3, 0.2]
"""


def ask(*changes: dict[str, Any]) -> list[Change]:
    import json

    return read_changes(json.dumps({"number": 1, "changes": changes}).encode()).changes


def after(*changes: dict[str, Any], text: str = JOB) -> str:
    return changed(text, ask(*changes), "job.toml")


def test_nothing_asked_is_nothing_changed():
    assert changed(JOB, [], "job.toml") == JOB


def test_a_value_changes_and_its_comment_stays():
    text = after({"do": "set", "at": ["lay", "edge", "gap_mm"], "value": 1.25})
    assert text == JOB.replace("0.9 #", "1.25 #")


def test_values_of_every_kind_are_written_as_toml():
    text = after(
        {"do": "set", "at": ["quantity"], "value": 3},
        {"do": "set", "at": ["lay", "fill", "pieces"], "value": {"C": 0.5, "D D": 2}},
        {"do": "set", "at": ["lay", "edge", "pieces"], "value": ["A", "B"]},
        {"do": "set", "at": ["lay", "edge", "reverse"], "value": True},
        {"do": "set", "at": ["cloth", "colour"], "value": 'na"vy'},
        {"do": "set", "at": ["edit", 1, "at"], "value": [0.5, 0.5]},
    )
    held = tomllib.loads(text)
    assert held["quantity"] == 3
    assert held["lay"][1]["pieces"] == {"C": 0.5, "D D": 2}
    assert held["lay"][0]["pieces"] == ["A", "B"]
    assert held["lay"][0]["reverse"] is True
    assert held["cloth"] == {"colour": 'na"vy'}
    assert held["edit"][1]["at"] == [0.5, 0.5]
    for comment in (
        "# A job of ours.",
        "# as on the order",
        "# What goes on the edge.",
        "# inside",
    ):
        assert comment in text


def test_a_key_taken_out_leaves_no_empty_table_behind():
    text = after({"do": "set", "at": ["cloth", "colour"], "value": "#fff"})
    assert "[cloth]" in text
    assert after({"do": "set", "at": ["cloth", "colour"], "value": None}, text=text) == JOB
    noted = JOB + "\n[cloth]\n# wash at 30\ncolour = 1\n"
    text = after({"do": "set", "at": ["cloth", "colour"], "value": None}, text=noted)
    assert "# wash at 30" in text


def test_lays_are_added_copied_moved_renamed_and_taken_out():
    lay = {"id": "new", "shapes": "*", "way": "row", "pieces": ["A"], "gap_mm": 1.0}
    text = after(
        {"do": "add", "to": "lay", "table": lay, "after": "edge"},
        {"do": "copy-lay", "id": "fill"},
        {"do": "move-lay", "id": "fill-2", "before": "edge"},
        {"do": "rename-lay", "id": "edge", "to": "rim"},
    )
    held = tomllib.loads(text)
    assert [each["id"] for each in held["lay"]] == ["fill-2", "rim", "new", "fill"]
    assert [each["lay"] for each in held["edit"]] == ["rim", "fill"]
    assert "\n\n\n" not in text
    gone = tomllib.loads(after({"do": "remove", "of": "lay", "which": "fill"}))
    assert [each["id"] for each in gone["lay"]] == ["edge"]
    assert [each["lay"] for each in gone["edit"]] == ["edge"]


@pytest.mark.parametrize(
    "change",
    [
        {"do": "set", "at": ["lay", "none", "gap_mm"], "value": 1},
        {"do": "set", "at": ["edit", 7, "do"], "value": "pin"},
        {"do": "set", "at": ["title", "x"], "value": 1},
        {"do": "set", "at": ["edit", 0], "value": 1},
        {"do": "remove", "of": "edit", "which": 9},
        {"do": "move-lay", "id": "none"},
        {"do": "copy-lay", "id": "none"},
        {"do": "rename-lay", "id": "edge", "to": "fill"},
    ],
)
def test_what_is_not_there_any_more_is_told(change: dict[str, Any]):
    with pytest.raises(JobError):
        after(change)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b'{"number":1,"changes":[]}',
        b'{"number":1,"changes":[{"do":"burn"}]}',
        b'{"number":1,"changes":[{"do":"set","at":["a"],"value":1,"more":2}]}',
        b'{"number":1,"changes":[{"do":"set","at":[],"value":1}]}',
        b'{"number":1,"changes":[{"do":"add","to":"artwork","table":{}}]}',
        b'{"number":1,"changes":[{"do":"set","at":["a"],"value":NaN}]}',
    ],
)
def test_what_is_no_change_is_refused(body: bytes):
    with pytest.raises(EmbellishError):
        read_changes(body)


deeds = st.one_of(
    st.builds(
        lambda lay, gap: {"do": "set", "at": ["lay", lay, "gap_mm"], "value": gap},
        st.sampled_from(["edge", "fill"]),
        st.floats(0.1, 9, allow_nan=False),
    ),
    st.builds(lambda n: {"do": "set", "at": ["quantity"], "value": n}, st.integers(1, 9)),
    st.builds(
        lambda x: {"do": "add", "to": "edit", "table": {"lay": "edge", "do": "pin", "at": [x, x]}},
        st.floats(0, 1, allow_nan=False),
    ),
    st.builds(
        lambda lay, before: {
            "do": "move-lay",
            "id": lay,
            "before": None if before == lay else before,
        },
        st.sampled_from(["edge", "fill"]),
        st.sampled_from(["edge", "fill"]),
    ),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(deeds, max_size=12))
def test_whatever_is_done_stays_toml_and_every_remark_stays(steps: list[dict[str, Any]]):
    text = JOB
    for step in steps:
        text = after(step, text=text)
    held = tomllib.loads(text)
    assert sorted(each["id"] for each in held["lay"]) == ["edge", "fill"]
    assert held["title"] == "Moth"
    for remark in ("# A job of ours.", "# as on the order", "# clearance and wall", "# inside"):
        assert text.count(remark) == 1


def test_every_job_of_the_demos_is_kept_as_it_is_written():
    for path in (Path(__file__).parents[2] / "demos").glob("*/*.toml"):
        text = path.read_text()
        (lay, *_) = tomllib.loads(text)["lay"]
        there = after({"do": "set", "at": ["lay", lay["id"], "gap_mm"], "value": 7.5}, text=text)
        back = {"do": "set", "at": ["lay", lay["id"], "gap_mm"], "value": lay["gap_mm"]}
        assert after(back, text=there) == text
