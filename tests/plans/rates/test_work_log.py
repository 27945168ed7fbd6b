"""The work log reads back what was written; a wrong row has its line; further time is added."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import JobError
from embellish.plans.rates.work_log import (
    COLUMNS,
    UNITS,
    WorkLog,
    WorkRow,
    read_minutes,
    read_work_log,
    with_work,
)

HEAD = ",".join(COLUMNS)


def read(*rows: str, head: str = HEAD) -> WorkLog:
    return read_work_log("\n".join((head, *rows)).encode(), "work.csv")


def test_further_time_is_added_to_the_work_it_is_of():
    log = read(
        '1,setting,,,60,"12 sewn bead, 3 hand stone",Moth,',
        "1,broken,B,2,,12 bead,Moth,",
        "2,setting,,,30,40 sewn bead,Star,",
        '3,setting,,,5.5,"0 hand stone, 0 sewn bead",Moth,',
        "3,broken,B,1,,0 bead,Moth,",
    )
    found = [(row.target, row.what, row.minutes, row.broken) for row in log.told()]
    assert found == [
        ("Moth", "setting", Decimal("65.5"), 0),
        ("Moth", "broken", Decimal(0), 3),
        ("Star", "setting", Decimal(30), 0),
    ]
    assert log.logged("setting", "Moth") == 1
    assert log.logged("pressing", "Moth") is None


def test_what_was_undone_holds_no_more():
    log = read("1,pressing,,,9,3 passes,Moth,", "2,undo,,,,,1,")
    assert log.told() == ()
    assert log.logged("pressing", "Moth") is None
    with pytest.raises(JobError, match="there is nothing to undo"):
        log.undoing(None)
    with pytest.raises(JobError, match="no entry 7 to undo"):
        log.undoing(7)


def test_a_list_kept_by_hand_may_leave_out_what_it_does_not_need():
    log = read("setting;1:20;12 SEWN  bead", "setup;30;1 designs", head="what;minutes;did")
    assert [(row.entry, row.minutes) for row in log.rows] == [(1, Decimal(80)), (2, Decimal(30))]
    assert log.rows[0].did == {"sewn bead": 12}


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("1,sleeping,,,9,3 passes,M,", "line 2: 'sleeping' is no work"),
        ("1,pressing,,,,3 passes,M,", "line 2: minutes must be above 0, not ''"),
        ("1,pressing,,,0,3 passes,M,", "minutes must be above 0, not '0'"),
        ("1,pressing,,,-4,3 passes,M,", "minutes must be above 0"),
        (
            "1,pressing,,,9,,M,",
            "'' does not say what was done. Write under did such as: 412 passes",
        ),
        ("1,pressing,,,9,three passes,M,", "'three passes' does not say"),
        ("1,pressing,,,9,3 trims,M,", "pressing is not counted in 'trims'"),
        ("1,setting,,,9,3 sewn beads,M,", "Did you mean 'sewn bead'?"),
        ("1,broken,,2,,3 bead,M,", "has one code"),
        ('1,broken,B,2,,"3 bead, 4 stone",M,', "has one code"),
        ("1,broken,B,two,,3 bead,M,", "line 2: broken must be a whole number, not 'two'"),
        ("x,pressing,,,9,3 passes,M,", "line 2: entry must be a whole number"),
        ("1,pressing,,,9,0 passes,M,", "line 2: nothing of this pressing stands before it"),
        ("1,undo,,,,,first,", "for must be a whole number"),
        ("1,pressing,,,9,3 passes,M,,more", "stands under no column"),
    ],
)
def test_what_cannot_be_is_told(row: str, sentence: str):
    with pytest.raises(JobError, match=re.escape(sentence)):
        read(row)


@pytest.mark.parametrize("words", ["", "0", "1:60", "nan", "1e3", "-1", "1,5", "10000000", "٣"])
def test_what_is_no_time_is_refused(words: str):
    with pytest.raises(JobError, match="must be above 0"):
        read_minutes(words, "--setup-minutes")


words = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters=";\t"), max_size=12
).map(str.strip)


@st.composite
def rows(draw: st.DrawFn) -> WorkRow:
    what = draw(st.sampled_from(sorted(UNITS)))
    most = 1 if what == "broken" else 3
    did = draw(
        st.dictionaries(
            st.sampled_from(UNITS[what]), st.integers(1, 9999), min_size=1, max_size=most
        )
    )
    row = WorkRow(draw(st.integers(1, 50)), what, did=did, target=draw(words), note=draw(words))
    if what == "broken":
        return replace(row, code=draw(words.filter(bool)), broken=draw(st.integers(0, 99)))
    return replace(row, minutes=draw(st.decimals("0.01", 9999, places=2)))


@settings(deadline=None)
@given(st.lists(rows(), min_size=1, max_size=6), st.integers(1, 5))
def test_what_is_written_reads_back(every: list[WorkRow], cut: int):
    start = with_work(b"", every[:cut], "w")
    data = with_work(start, every[cut:], "w")
    assert data.startswith(start)

    def plain(row: WorkRow) -> tuple[object, ...]:
        # One apostrophe before a sign of a formula is what keeps it from being one.
        bare = [re.sub(r"^'(?=[=+\-@])", "", word) for word in (row.code, row.target, row.note)]
        return row.entry, row.what, row.minutes, row.did, row.broken, *bare

    assert [plain(row) for row in read_work_log(data, "w").rows] == [plain(row) for row in every]
