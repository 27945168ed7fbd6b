"""Any name becomes a file name, and no two the same."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.job.names import safe_names


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("Ana", "Ana"),
        ("Zoë Ångström", "Zoe-Angstrom"),
        ("../../etc/passwd", "etc-passwd"),
        ("CON", "name-CON"),
        ("nul.txt", "name-nul.txt"),
        ("", "name"),
        ("...", "name"),
        ("名前", "name"),
        ("=1+1", "1-1"),
    ],
)
def test_one_name(name: str, safe: str):
    assert safe_names([name]) == [safe]


def test_two_alike_in_all_but_case_get_numbers():
    assert safe_names(["Ana", "ana", "ANA", "ana-2"]) == ["Ana", "ana-2", "ANA-3", "ana-2-2"]


@settings(deadline=None)
@given(st.lists(st.text(max_size=90), max_size=12))
def test_any_names(names: list[str]):
    safe = safe_names(names)
    assert len({each.lower() for each in safe}) == len(names)
    for each in safe:
        assert re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9_.-]*", each), each
        assert each.rstrip(".") == each
        assert len(each) <= 70
