"""Hoops, sheets and presses."""

from __future__ import annotations

import pytest

from embellish.catalogue.equipment import (
    Hoop,
    Position,
    Press,
    Sheet,
    merged_equipment,
    read_equipment,
    shipped_equipment,
)
from embellish.errors import CatalogueError

MINE = b"""
[catalogue.sources]
ruler = "measured"

[[hoop]]
name = "my hoop"
field_mm = [120, 160]
positions = [{ name = "left", x_mm = -40 }, { name = "right", x_mm = 40, turn_deg = 180 }]
source = "{ruler}"

[[sheet]]
name = "roll"
width_mm = 500
height_mm = 1000
roll = true
price = "4.20"

[[press]]
name = "press"
platen_mm = [400, 500]
"""


def test_a_users_own_equipment_is_read_and_outranks():
    mine = read_equipment(MINE, "mine.toml")
    hoop = mine.hoop("my hoop")
    assert hoop.field_mm == (120, 160)
    assert hoop.positions[1] == Position(name="right", x_mm=40, turn_deg=180)
    assert hoop.source == "measured"
    assert str(mine.sheet("roll").price) == "4.20"
    other = read_equipment(MINE.replace(b"[120, 160]", b"[100, 100]"), "later.toml")
    assert merged_equipment([mine, other]).hoop("my hoop").field_mm == (100, 100)


def test_what_is_shipped_is_whole_and_sourced():
    shipped = shipped_equipment()
    things: list[Hoop | Sheet | Press] = [
        *shipped.hoops.values(),
        *shipped.sheets.values(),
        *shipped.presses.values(),
    ]
    assert (len(shipped.hoops), len(shipped.sheets), len(shipped.presses)) >= (20, 8, 3)
    for thing in things:
        assert len(thing.source) > 5, thing.name
        assert "{" not in thing.source, thing.name
    for hoop in shipped.hoops.values():
        if hoop.shape == "rectangle" and len(hoop.positions) == 1:
            assert hoop.name == f"{hoop.field_mm[0]:g}x{hoop.field_mm[1]:g}"


def test_the_field_the_documents_speak_of_is_there():
    assert shipped_equipment().hoop("130x180").field_mm == (130, 180)


def test_positions_cover_the_total_they_are_named_for():
    for name, total in (("100x172 in three", 172), ("130x300 in three", 300)):
        hoop = shipped_equipment().hoop(name)
        lowest = max(position.y_mm for position in hoop.positions) + hoop.field_mm[1] / 2
        highest = min(position.y_mm for position in hoop.positions) - hoop.field_mm[1] / 2
        assert lowest - highest == total
        assert lowest == -highest


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"field_mm = [120, 160]", b"field_mm = [120]", "field_mm"),
        (b"field_mm", b"feild_mm", "'field_mm'"),
        (b"[[hoop]]", b"[[hop]]", "'hoop'"),
        (b'name = "right"', b'name = "left"', "same name"),
        (b"turn_deg = 180", b"turn_deg = 45", "turn_deg"),
        (b'"{ruler}"', b'"{rular}"', "'ruler'"),
        (b'"4.20"', b"4.20", "text"),
        (b'name = "my hoop"', b'name = "my hoop"\nshape = "round"', "round hoop"),
    ],
)
def test_what_is_wrong_is_named(old, new, words):
    assert old in MINE
    with pytest.raises(CatalogueError, match=r"^mine\.toml") as caught:
        read_equipment(MINE.replace(old, new, 1), "mine.toml")
    assert words in str(caught.value)


def test_a_wrong_name_names_the_nearest():
    with pytest.raises(CatalogueError, match="'130x180'"):
        shipped_equipment().hoop("130x18")
