"""A budget tried at the workbench: nothing is changed until it is used, and that is one step."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from tests.workbench.serving import Started


def test_a_fit_is_a_draft_until_it_is_used_and_then_one_step(moth: Started, tmp_path: Path):
    job = tmp_path / "moth.toml"
    before = job.read_text()
    number = moth.get("/api/state")["number"]
    count = moth.drawing()[0]["count"]
    found = moth.post("/api/fit", {"number": number, "what": "count", "most": str(count - 100)})
    assert found["before"]["count"] == count
    # What a budget is of stands on the page before any is tried.
    assert moth.get("/api/facts")["figures"] == found["before"]
    assert found["after"]["count"] <= count - 100
    assert job.read_text() == before
    drawn = moth.drawing(f"/api/fit/layout?number={number}")[0]
    assert drawn["draft"]
    assert drawn["count"] == found["after"]["count"]
    moth.post("/api/fit/use", {"number": number})
    moth.checked()
    assert moth.drawing()[0]["count"] == found["after"]["count"]
    assert moth.get("/api/state")["back"] == "gaps widened to fit"
    moth.post("/api/undo")
    assert job.read_text() == before


def test_a_fit_of_an_earlier_state_is_not_used(moth: Started):
    number = moth.get("/api/state")["number"]
    count = moth.drawing()[0]["count"]
    moth.post("/api/fit", {"number": number, "what": "count", "most": str(count - 20)})
    moth.change({"do": "set", "at": ["title"], "value": "Another"})
    moth.checked()
    assert "changed" in moth.refused("/api/fit/use", {"number": number})
    now = moth.get("/api/state")["number"]
    assert "changed since this fit" in moth.refused("/api/fit/use", {"number": now})


@pytest.mark.parametrize("most", ["0", "-3", "many", "NaN", "1"])
def test_a_budget_that_cannot_be_kept_is_told(moth: Started, most: str):
    number = moth.get("/api/state")["number"]
    moth.refused("/api/fit", {"number": number, "what": "count", "most": most})


def test_a_search_is_stopped(moth: Started):
    number = moth.get("/api/state")["number"]
    told: list[str] = []
    asked = {"number": number, "what": "minutes", "most": "1"}
    search = threading.Thread(target=lambda: told.append(moth.refused("/api/fit", asked)))
    search.start()
    while search.is_alive():
        answer = moth.client.post("/api/fit/stop")
        assert answer.status_code == 204
        search.join(0.1)
    assert "stopped" in told[0]
