"""The work sheet: every word escaped, nothing fetched, everything the maker needs there."""

from __future__ import annotations

import base64
import dataclasses
import io
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import lxml.html
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from embellish.findings import Finding
from embellish.job.files import open_job
from embellish.job.making import Checked, check_job
from embellish.outputs.worksheet import worksheet_html
from embellish.plans.title import TitleBlock

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<path id="box" d="M5 5 H60 V50 H5 Z"/><path id="line" d="M70 5 V55"/></svg>"""
JOB = """version = 1
title = "Box"
revision = "C"
quantity = 12
catalogues = ["shipped:stones", "shipped:pearls"]
[artwork]
file = "box.svg"
[hoop]
hoop = "249x394"
[[lay]]
id = "edge"
shapes = "#box"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
[[lay]]
id = "pearls"
name = "pearls in a line"
shapes = "#line"
way = "row"
pieces = ["P-3-CREAM"]
gap_mm = 0.6
set_by = "hand"
"""
NASTY = """<script>alert("x")</script> & 'quoted' "Straße" Ж 刺繍 👗 ]]> --> &amp; <img src=x>"""
PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
FINDINGS = (
    Finding("one", "error", "too near the edge", mend="Move it."),
    Finding("two", "warning", "no price", mend="Add one."),
    Finding("three", "note", "only told", mend=""),
)


@cache
def checked() -> Checked:
    with TemporaryDirectory() as name:
        (Path(name) / "box.svg").write_text(DRAWING)
        (Path(name) / "box.toml").write_text(JOB)
        return check_job(open_job(Path(name) / "box.toml"))


def sheet(title: TitleBlock | None = None, **changed: Any) -> bytes:
    plans = checked().plans
    given = {
        "title": title or plans.title,
        "work": plans.work,
        "materials": plans.materials,
        "templates": plans.templates,
        "stitches": plans.stitches,
        "findings": FINDINGS,
        "proof_png": PNG,
        **changed,
    }
    return worksheet_html(**given)


def read(page: bytes) -> lxml.html.HtmlElement:
    return lxml.html.document_fromstring(page.decode("utf-8"))


def text_of(page: bytes) -> str:
    return " ".join(read(page).text_content().split())


def test_it_is_one_whole_page_with_its_own_charset():
    page = sheet()
    assert page.startswith(b"<!DOCTYPE html>")
    root = read(page)
    assert root.get("lang")
    assert root.find("head/meta").get("charset").lower() == "utf-8"
    assert root.find("head/title").text.startswith("Work sheet · Box")
    assert page == sheet()


def nasty_sheet(words: str) -> bytes:
    """A work sheet with the words in every place where a person's own may stand."""
    plans = checked().plans
    steps = tuple(
        dataclasses.replace(step, title=words, words=(words,), counts=((words, 3),), files=(words,))
        for step in plans.work.steps
    )
    lines = tuple(
        dataclasses.replace(
            line, piece=line.piece.model_copy(update={"code": words, "name": words})
        )
        for line in plans.materials.lines
    )
    hoopings = tuple(
        dataclasses.replace(
            hooping,
            stops=tuple(dataclasses.replace(stop, words=words) for stop in hooping.stops),
        )
        for hooping in plans.stitches.hoopings
    )
    templates = tuple(dataclasses.replace(each, title=words) for each in plans.templates.templates)
    return sheet(
        TitleBlock(words, words, "0badcafe", size=words),
        work=dataclasses.replace(plans.work, steps=steps),
        materials=dataclasses.replace(plans.materials, lines=lines),
        stitches=dataclasses.replace(plans.stitches, hoopings=hoopings),
        templates=dataclasses.replace(plans.templates, templates=templates),
        findings=(Finding("x", "error", words, mend=words),),
    )


def tags(page: bytes) -> list[str]:
    return [each.tag for each in read(page).iter() if isinstance(each.tag, str)]


@pytest.mark.parametrize("words", [NASTY, "</style><b>", "<!--", "a\x00b\x07c\x1bd\x85e\x9ff"])
def test_no_word_of_a_person_becomes_part_of_the_page(words: str):
    page = nasty_sheet(words)
    assert tags(page) == tags(nasty_sheet("plain"))
    kept = " ".join(re.sub(r"[\x00-\x1f\x7f-\x9f]", "", words).split())
    plain = text_of(nasty_sheet("plain"))
    assert text_of(page).count(kept) >= plain.count("plain") > 10
    assert not re.search(rb"[\x00-\x08\x0b-\x1f\x7f]", page)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
@settings(max_examples=40, deadline=None)
def test_any_words_at_all_leave_the_page_whole(words: str):
    """The page is UTF-8, and reads back with the elements of the plain one."""
    assert tags(nasty_sheet(f"x{words}")) == tags(nasty_sheet("plain"))


def test_half_a_character_pair_does_not_stop_the_page():
    """A lone surrogate can come out of a file name; nothing can encode it."""
    assert tags(nasty_sheet("a\ud800b")) == tags(nasty_sheet("plain"))


def test_nothing_is_fetched():
    root = read(nasty_sheet(NASTY))
    for each in root.iter():
        for name, value in each.items():
            if name in ("src", "href", "srcset", "poster", "data", "action", "background"):
                assert value.startswith("data:image/png;base64,"), (each.tag, name)
            assert not name.startswith("on")
    style = root.find("head/style").text
    assert "url(" not in style
    assert "@import" not in style
    assert not root.xpath("//script | //link | //iframe | //object | //base | //form")
    (policy,) = root.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert "default-src 'none'" in policy


def test_the_picture_travels_inside():
    (picture,) = read(sheet()).xpath("//img")
    with Image.open(io.BytesIO(base64.b64decode(picture.get("src").split(",")[1]))) as opened:
        assert opened.size == (1, 1)
    assert "Box" in picture.get("alt")


def test_a_stop_is_shown_before_all_else_and_only_where_there_is_one():
    stopped = dataclasses.replace(checked().plans.title, stop="NOT TO BE CUT")
    (stamp,) = read(sheet(stopped)).xpath("//*[@class='stop']")
    assert stamp.text_content() == "NOT TO BE CUT"
    assert stamp.getprevious().tag == "header"
    assert not read(sheet()).xpath("//*[@class='stop']")


def test_errors_and_warnings_are_told_and_notes_are_not():
    told = text_of(sheet())
    assert "error: too near the edge. Move it." in told
    assert "warning: no price. Add one." in told
    assert "only told" not in told
    assert "To look at first" not in text_of(sheet(findings=FINDINGS[2:]))


def test_the_cloth_is_named_where_it_is_known():
    assert "Cloth: polyester satin" in text_of(sheet(fibre="polyester satin"))
    assert "Cloth" not in text_of(sheet())


def test_what_is_alike_of_several_lays_is_told_once_and_names_them():
    found = [Finding("hot", "warning", "too hot", lay=lay, mend="Cool it.") for lay in ("a", "b")]
    text = text_of(sheet(findings=(*found, Finding("hot", "warning", "too hot", lay="c"))))
    assert text.count("too hot") == 2
    assert "a, b: too hot. Cool it." in text


def test_every_step_has_a_box_to_tick_its_words_and_its_counts():
    plans = checked().plans
    steps = read(sheet()).xpath("//ol[@class='steps']/li")
    assert len(steps) == len(plans.work.steps) >= 4
    for shown, step in zip(steps, plans.work.steps, strict=True):
        words = " ".join(shown.text_content().split())
        assert len(shown.xpath("span[@class='box']")) == 1
        for each in (step.title, *step.words):
            assert " ".join(each.split()) in words
        for code, count in step.counts:
            assert f"{count} × {code}" in words
        assert words.endswith("once" if step.times == 1 else f"{step.times} times")
    cut = next(step for step in plans.work.steps if step.kind == "cut")
    assert f"File: {cut.files[0]}" in text_of(sheet())


def test_pieces_are_counted_a_garment_and_in_all_with_the_packs_to_buy():
    plans = checked().plans
    rows = {
        row.xpath("td")[0].text_content(): [cell.text_content() for cell in row.xpath("td")]
        for row in read(sheet()).xpath("//table[1]/tbody/tr")
    }
    for line in plans.materials.lines:
        code, _, one, every, spare, _, packs = rows[line.code]
        assert (code, int(one), int(every), int(spare)) == (
            line.code,
            line.per_garment,
            line.per_garment * 12,
            line.spare,
        )
        found = [tuple(map(int, each.split(" of "))) for each in packs.split(" + ")]
        assert sum(number * pieces for number, pieces in found) >= line.needed


def test_templates_and_stops_are_listed():
    plans = checked().plans
    told = text_of(sheet())
    for template in plans.templates.templates:
        assert f"{len(template.rows)} {', then '.join(template.order)}" in told
    stops = [stop for hooping in plans.stitches.hoopings for stop in hooping.stops]
    assert stops
    for stop in stops:
        assert f"{stop.block + 1} {stop.hex} {stop.words}".replace("  ", " ") in told
    swatches = read(sheet()).xpath("//span[@class='swatch']/@style")
    assert swatches == [f"background: {stop.hex}" for stop in stops]


def test_cautions_name_where_they_come_from():
    cautions = checked().plans.work.cautions
    shown = read(sheet()).xpath("//ul[@class='cautions']/li")
    assert len(shown) == len(cautions) > 3
    for item, caution in zip(shown, cautions, strict=True):
        assert item.text_content().startswith(caution.words)
        assert item.xpath("span[@class='source']")[0].text_content() == f"({caution.source})"
