"""Jobs of older versions are brought up step by step, and what changed is told."""

from __future__ import annotations

from typing import Any

import pytest

from embellish.errors import JobError
from embellish.job.model import JOB_VERSION
from embellish.job.upgrading import STEPS, upgraded


def renamed(tables: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    return {("names" if key == "name" else key): each for key, each in tables.items()}, [
        "'name' is called 'names'"
    ]


def shown(tables: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    return {**tables, "seen": True}, ["a is now b", "c is now d"]


def test_every_version_up_to_this_one_has_its_step():
    assert sorted(STEPS) == list(range(1, JOB_VERSION))


def test_steps_follow_each_other_and_each_change_is_told():
    tables, told = upgraded(
        {"version": 1, "name": "x"}, "j.toml", steps={1: renamed, 2: shown}, newest=3
    )
    assert tables == {"version": 3, "names": "x", "seen": True}
    assert [each.severity for each in told] == ["note"] * 3
    assert "version 1: 'name' is called 'names'" in told[0].message
    assert "version 2: c is now d" in told[2].message
    assert "version = 3" in told[0].mend


def test_this_version_stays_as_it_is():
    assert upgraded({"version": JOB_VERSION}, "j.toml") == ({"version": JOB_VERSION}, ())
    # What is no version is for the reader of tables to say.
    assert upgraded({"version": "1"}, "j.toml") == ({"version": "1"}, ())
    assert upgraded({}, "j.toml") == ({}, ())


@pytest.mark.parametrize(
    ("version", "words"), [(99, "up to 1.*newer"), (0, "never was a version 0"), (-3, "never was")]
)
def test_a_version_that_is_not_known_is_one_sentence(version: int, words: str):
    with pytest.raises(JobError, match=words):
        upgraded({"version": version}, "j.toml")
