"""Stock follows from its rows; what was written reads back; what cannot be has its line."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.ledger import COLUMNS, Ledger, Move, read_ledger, with_rows, with_stock
from embellish.errors import CatalogueError
from tests.plans.seats import stone

HEAD = ",".join(COLUMNS)


def read(*rows: str, head: str = HEAD) -> Ledger:
    return read_ledger("\n".join((head, *rows)).encode(), "stock.csv")


def test_what_is_there_follows_from_the_rows():
    ledger = read(
        "1,add,A,L1,100,,",
        "2,use,A,L1,30,moth,",
        "3,count,A,L1,65,,five were lost",
        "4,add,A,L2,10,,",
        "5,add,B,,7,,",
        "6,undo,,,,5,",
    )
    assert ledger.held() == {"A": {"L1": 65, "L2": 10}}
    assert ledger.last_entry == 6
    assert ledger.booked("moth") == 2
    assert read("1,add,A,,5,,", "2,use,A,,5,moth,", "3,undo,,,,2,").booked("moth") is None


def test_a_list_kept_by_hand_may_leave_out_what_it_does_not_need():
    ledger = read("add;A;5", "use;A;2", "count;A;9", head="what;code;pieces")
    assert [move.entry for move in ledger.moves] == [1, 2, 3]
    assert ledger.held() == {"A": {"": 9}}


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        (["1,take,A,,5,,"], "line 2: 'take' is nothing"),
        (["1,add,,,5,,"], "line 2: this row has no code"),
        (["1,add,A,,five,,"], "line 2: pieces must be a whole number, not 'five'"),
        (["1,add,A,,-5,,"], "whole number"),
        (["x,add,A,,5,,"], "entry must be"),
        (["1,add,A,,5,,", "2,use,A,,6,,"], "line 3: 6 of A are taken, and 5 were there"),
        (["1,add,A,L1,5,,", "2,use,A,L2,1,,"], "of A of lot L2 are taken, and 0"),
        (["1,add,A,,5,,", "2,use,A,,5,,", "3,undo,,,,1,"], "line 3: 5 of A"),
        (["1,add,A,,5,,", "2,undo,,,,7,"], "line 3: it undoes entry 7, and no such entry"),
        (["1,add,A,,5,,", "2,undo,,,,1,", "3,undo,,,,1,"], "line 4: it undoes entry 1"),
        (["1,add,A,,5,,", "2,undo,,,,1,", "3,undo,,,,2,"], "line 4: it undoes entry 2"),
        (["1,add,A,,5,,,,more"], "stands under no column"),
    ],
)
def test_what_cannot_be_is_told(rows: list[str], sentence: str):
    with pytest.raises(CatalogueError, match=re.escape(sentence)):
        read(*rows)


def test_a_column_that_is_none_is_told():
    with pytest.raises(CatalogueError, match="no column 'colour'"):
        read("add,A,5,red", head="what,code,pieces,colour")
    data = b"what,code,pieces\nadd,A,5\n"
    with pytest.raises(CatalogueError, match="no column 'entry'"):
        with_rows(data, [Move(2, "add", "A", "", 5)], "stock.csv")


def test_only_what_was_not_undone_can_be():
    ledger = read("1,add,A,,5,,", "2,undo,,,,1,")
    for entry in (1, 2, 9):
        with pytest.raises(CatalogueError, match=f"no entry {entry} to undo"):
            ledger.undoing(entry)


words = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters=";\t"), max_size=12
).map(str.strip)
moves = st.builds(
    Move,
    st.integers(1, 50),
    st.sampled_from(["add", "count"]),
    words.filter(bool),
    words,
    st.integers(1, 1000),
    words,
    words,
)


@settings(deadline=None)
@given(st.lists(moves, min_size=1, max_size=6), st.integers(1, 5))
def test_what_is_written_reads_back(rows: list[Move], cut: int):
    start = with_rows(b"", rows[:cut], "s")
    data = with_rows(start, rows[cut:], "s")
    assert data.startswith(start)

    def plain(each: Move) -> tuple[object, ...]:
        # One apostrophe before a sign of a formula is what keeps it from being one.
        bare = [re.sub(r"^'(?=[=+\-@])", "", word) for word in (each.code, each.lot, each.target)]
        return each.entry, each.what, *bare, each.pieces

    found = read_ledger(data, "s").moves
    assert [plain(each) for each in found] == [plain(each) for each in rows]
    for row in csv.reader(io.StringIO(data.decode(), newline="")):
        assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@"))]


def test_a_catalogue_takes_its_stock_from_the_ledger_alone():
    from embellish.catalogue.catalogue import Catalogue

    catalogue = Catalogue("c", {"A": stone("A", stock=9), "B": stone("B", stock=9)})
    found = with_stock(catalogue, {"A": {"L2": 5, "L1": 20}})
    assert found.pieces["A"].stock == 25
    assert found.pieces["A"].in_stock == (("L1", 20), ("L2", 5))
    assert found.pieces["B"].in_stock == ()
