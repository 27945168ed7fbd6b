"""A job file is read whole, or one sentence names the file, the item and the mend."""

from __future__ import annotations

import pytest

from embellish.errors import JobError
from embellish.job.reading import read_job

JOB = """
version = 1
title = "Test"
[artwork]
file = "a.svg"
width_mm = 100.0
[[lay]]
id = "edge"
shapes = "*"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
"""


def test_a_small_job_is_read_with_its_defaults():
    job = read_job(JOB.encode(), "job.toml")
    assert job.title == "Test"
    assert job.quantity == 1
    assert job.lay[0].codes == ("R-SS10-CLEAR",)
    assert job.lay[0].shares is None
    assert job.catalogues == ("shipped:stones",)


def test_a_byte_order_mark_and_windows_line_ends_are_fine():
    assert read_job(b"\xef\xbb\xbf" + JOB.replace("\n", "\r\n").encode(), "job.toml").version == 1


BAD = {
    "broken TOML": (JOB + "\nx = [", r"job\.toml, line 14: .*in ‘x = \[’"),
    "unknown key": (JOB.replace("title", "tilte"), "unknown key 'tilte'.*'title'"),
    "unknown table": (JOB + "\n[hop]\nx = 1\n", "unknown key 'hop'.*'hoop'"),
    "unknown key of the artwork": (
        JOB.replace("width_mm", "widht_mm"),
        "unknown key 'widht_mm'.*'width_mm'",
    ),
    "unknown key of the lay": (JOB.replace("gap_mm", "gap"), "lay 'edge'.*'gap'.*'gap_mm'"),
    "unknown way": (JOB.replace('"row"', '"rwo"'), "lay 'edge': there is no way 'rwo'.*'row'"),
    "no way": (JOB.replace('way = "row"', ""), "lay 'edge': this lay has no way"),
    "NaN gap": (
        JOB.replace("0.9", "nan"),
        "lay 'edge', gap_mm: must be a plain number, not nan.*from 0 to 1000",
    ),
    "infinite gap": (JOB.replace("0.9", "inf"), "lay 'edge', gap_mm"),
    "negative gap": (
        JOB.replace("0.9", "-0.1"),
        "lay 'edge', gap_mm: must be at least 0, not -0.1",
    ),
    "zero width": (JOB.replace("100.0", "0.0"), r"\[artwork\], width_mm: must be above 0"),
    "two sizes": (JOB.replace("width_mm", "scale = 2.0\nwidth_mm"), "both given. Keep one"),
    "no pieces": (JOB.replace('["R-SS10-CLEAR"]', "[]"), "at least one piece"),
    "a mix on a row": (JOB.replace('["R-SS10-CLEAR"]', "{ A = 1 }"), "sequence, not a mix"),
    "no lay": (JOB.split("[[lay]]", maxsplit=1)[0], "no lay"),
    "a lay that is no table": ("lay = [3]\n" + JOB.split("[[lay]]", maxsplit=1)[0], "lay 1"),
    "twins": (JOB + JOB[JOB.index("[[lay]]") :], "two lays have the id 'edge'"),
    "text for a number": (JOB.replace("0.9", '"0.9 mm"'), "lay 'edge', gap_mm.*number"),
    "missing title": (JOB.replace('title = "Test"', ""), "title: this key is missing"),
    "a newer version": (JOB.replace("version = 1", "version = 99"), "version 99.*newer"),
    "no version": (JOB.replace("version = 1", ""), "version"),
    "zero quantity": ("quantity = 0\n" + JOB, "quantity"),
    "settings": (JOB + "settings = 1\n", "unknown key 'settings'"),
    "a bad id": (JOB.replace('"edge"', '"../x"'), "lay '../x', id"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_wrong_is_one_sentence(name: str):
    text, expected = BAD[name]
    with pytest.raises(JobError, match=expected) as told:
        read_job(text.encode(), "job.toml")
    assert str(told.value).startswith("job.toml")
    assert "\n" not in str(told.value)


def test_not_utf8_names_the_line():
    with pytest.raises(JobError, match="line 3"):
        read_job(b"version = 1\n\ntitle = '\xe9'\n", "job.toml")


def test_shares_add_up_to_one():
    text = JOB.replace('"row"', '"grid"').replace('["R-SS10-CLEAR"]', "{ A = 0.6, B = 0.6 }")
    assert read_job(text.encode(), "job.toml").lay[0].shares == (0.5, 0.5)
