"""Every wrong job is one sentence that a maker can act on: file, place, what to write instead."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

from embellish.errors import JobError
from embellish.job.model import ArtworkTable, EditTable, Job, LayTable, SizeTable
from embellish.job.reading import read_job
from embellish.layout.ways.table import WAYS
from embellish.plans.cloth import ClothSettings
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.price_settings import PriceSettings
from embellish.plans.stitching.settings import HoopSettings, StitchSettings
from embellish.plans.templates.settings import PressSettings, TemplateSettings

LEAKS = (
    *("pydantic", "valid tuple", "literal", "constrained", "string_pattern", "Input should"),
    *("dictionary", "instance of", "validation", "None", "function-", "float_", "Decimal"),
)
"""Words of the library that checks tables; a maker has never heard of them."""

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
set_by = "hand"

[[edit]]
lay = "edge"
do = "delete"
at = [0.5, 0.5]

[[size]]
name = "M"
percent = 90

[cloth]
colour = "navy"

[hoop]
field_mm = [100, 100]

[template]
clearance_mm = 0.3
[template.press]
seconds = 10

[price]
markup_share = 0.5

[marks]
formats = ["dst"]
"""

ROW = 'way = "row"\npieces = ["R-SS10-CLEAR"]'
SCATTER = 'way = "scatter"\npieces = ["A"]'
GAP, TITLE, WIDTH, PRESS = "0.9", '"Test"', "width_mm = 100.0", "[template.press]"
MARKUP, DST, TOP = "markup_share = 0.5", '["dst"]', "version = 1"

WRONG: dict[str, tuple[str, str, str]] = {
    # What is replaced, by what, and the sentence after 'job.toml'.
    "a share of nothing": (
        ROW, 'way = "scatter"\npieces = { A = 0 }',
        ", lay 'edge', pieces.A: must be above 0, not 0. Give a number above 0, up to 1000000.",
    ),
    "a share that is no number": (
        ROW, 'way = "scatter"\npieces = { A = nan }', "pieces.A: must be a plain number, not nan",
    ),
    "a share as text": (
        ROW, 'way = "scatter"\npieces = { A = "0.7" }', "Write A = 0.7, without quotes.",
    ),
    "one piece without brackets": (
        '["R-SS10-CLEAR"]', '"X"',
        "pieces: must be a list or a table, not 'X'. Write pieces = [\"X\"].",
    ),
    "a piece that is a number": (
        '["R-SS10-CLEAR"]', '["A", 3]', "pieces, entry 2: must be text in quotes, not 3",
    ),
    "no piece": ('["R-SS10-CLEAR"]', "[]", "needs at least one piece. Write pieces ="),
    "too dense": (
        ROW, f"{SCATTER}\ndensity = 5", "density: must be at most 0.85, not 5. Give a number from",
    ),
    "density misspelt": (ROW, f'{SCATTER}\ndensity = "randm"', "Did you mean 'random'?"),
    "density as text": (ROW, f'{SCATTER}\ndensity = "0.5"', "Write density = 0.5, without quotes."),
    "density as truth": (
        ROW, f"{SCATTER}\ndensity = true", "or a number, not true. Write density",
    ),
    "clearance below nothing": (
        "clearance_mm = 0.3", "clearance_mm = -1",
        ", [template], clearance_mm: must be at least 0, not -1. Give a number from 0 to 3.",
    ),
    "clearance in words": (
        "clearance_mm = 0.3", 'clearance_mm = "0.3 mm"',
        "must be a number or a table, not '0.3 mm'. Write clearance_mm = 0.3, without quotes and",
    ),
    "a sheet of one side": (
        "clearance_mm = 0.3", "sheet = [100]", "sheet: takes 2 entries, not 1. Give 2 entries.",
    ),
    "an id of two words": ('"edge"', '"wing edge"', "one short word of letters, digits"),
    "an id that is a number": ('"edge"', "7", ", lay 1, id: must be text in quotes, not 7"),
    "an edit of no kind": (
        '"delete"', '"delte"', ", edit 1, do: must be 'move', 'turn', 'swap', 'delete', 'pin' or",
    ),
    "an edit by another word": (
        '"delete"', '"remove"', ", edit 1, do: there is no 'remove'. Write do = 'delete' for that.",
    ),
    "an edge where there is none": (
        "gap_mm = 0.9", "gap_mm = 0.9\nedge_mm = 2", "so edge_mm does nothing. To lay beside the",
    ),
    "an edit misspelt": ("at = [", "att = [", ", edit 1: unknown key 'att'. Did you mean 'at'?"),
    "an edit with half a place": ("[0.5, 0.5]", "[0.5]", ", edit 1, at: takes 2 entries, not 1"),
    "one bracket for an edit": ("[[edit]]", "[edit]", "Write [[edit]], with double brackets."),
    "one bracket for a lay": ("[[lay]]", "[lay]", "Write [[lay]], with double brackets."),
    "two brackets for the artwork": (
        "[artwork]", "[[artwork]]", "artwork: must be a table, not a list. Write [artwork], with",
    ),
    "two artworks": (
        "[[lay]]", '[artwork]\nfile = "b.svg"\n[[lay]]',
        ", line 9: this table stands there twice, in ‘[artwork]’. Keep one of them.",
    ),
    "lays": ("[[lay]]", "[[lays]]", "unknown key 'lays'. Did you mean [[lay]]?"),
    "a gap that is no number": (
        GAP, "nan", "gap_mm: must be a plain number, not nan. Give a number from 0 to 1000.",
    ),
    "a gap as text": (GAP, '"0,9 mm"', "Write gap_mm = 0.9, without quotes and unit."),
    "a gap with a comma": (
        GAP, "0,9", "line 14: something is left over behind the value, in ‘gap_mm = 0,9’. Write",
    ),
    "a gap with its unit": (GAP, "0.9 mm", "Write the number alone, without a unit."),
    "a gap as truth": (GAP, "true", "gap_mm: must be a number, not true. Give a number from 0"),
    "a gap that is a day": (GAP, "2026-01-02", "must be a number, not the date or time 2026-01-02"),
    "a gap of 400 digits": (GAP, "1" * 400, "gap_mm: has too many digits. Give a number from 0"),
    "a gap of 5000 digits": (GAP, "1" * 5000, "too many digits. Shorten the number."),
    "a day for a title": (TITLE, "2026-01-02", 'Write it in quotes: title = "2026-01-02".'),
    "a title without quotes": (TITLE, "Test", ", line 3: there is no value that can be read, in"),
    "a title in curly quotes": (TITLE, "“Test”", "Use straight quotes"),
    "a title not closed": (TITLE, '"Test', ", line 3: a text is not closed"),
    "a folder with backslashes": ('"a.svg"', '"C:\\art\\x.svg"', "Write folders with /"),
    "a version as text": (TOP, 'version = "1"', "Write version = 1, without quotes."),
    "a version as truth": (TOP, "version = true", "must be a whole number, not true"),
    "a quantity in a lay": (
        GAP, "0.9\nquantity = 2", "unknown key 'quantity'. It belongs at the top of the file",
    ),
    "half a garment": (
        TOP, "version = 1\nquantity = 1.5",
        ", quantity: must be a whole number, not 1.5. Give a whole number from 1 to 100000.",
    ),
    "two turns back": (
        WIDTH, "rotate_deg = -720",
        ", [artwork], rotate_deg: must be at least -360, not -720. Give a number from -360 to 360.",
    ),
    "no for false": (
        WIDTH, 'mirror = "no"', ", [artwork], mirror: must be true or false, not 'no'. Write",
    ),
    "0 for false": (WIDTH, "mirror = 0", "mirror: must be true or false, not 0"),
    "True for true": (WIDTH, "mirror = True", "Write true or false."),
    "an artwork in a line": (
        '[artwork]\nfile = "a.svg"\nwidth_mm = 100.0', 'artwork = "a.svg"',
        "artwork: must be a table, not 'a.svg'. Write [artwork], its keys below it.",
    ),
    "a wrong set_by": (
        '"hand"', '"hnad"', "'face-down', 'hand' or 'sewn', not 'hnad'. Did you mean 'hand'?",
    ),
    "a wrong mark": ('set_by = "hand"', 'mark = "lines"', "Did you mean 'line'?"),
    "a wrong way": ('"row"', '"rwo"', ", lay 'edge': there is no way 'rwo'. Did you mean 'row'?"),
    "no such way": ('"row"', '"spiral"', "there is no way 'spiral'. Known are: border, centreline"),
    "a key of another way": (
        GAP, '0.9\ndensity = "random"',
        "unknown key 'density'. It is a setting of way 'scatter'; this lay's way is 'row'.",
    ),
    "a press by itself": (PRESS, "[press]", "unknown key 'press'. Write it as [template.press]."),
    "a wrong key of the press": (
        "seconds", "secnds", ", [template.press]: unknown key 'secnds'. Did you mean 'seconds'?",
    ),
    "a wrong key of the hoop": (
        "field_mm", "feild_mm", ", [hoop]: unknown key 'feild_mm'. Did you mean 'field_mm'?",
    ),
    "a width at the top": (
        TOP, "version = 1\nwidth_mm = 3", "unknown key 'width_mm'. It belongs in [artwork]",
    ),
    "a colour that is none": (
        '"navy"', '"nvy"', ", [cloth], colour: 'nvy' is no colour. Did you mean 'navy'?",
    ),
    "a rate as text": (MARKUP, 'markup_share = "0.5"', "markup_share: must be a number, not '0.5'"),
    "a rate in percent": (MARKUP, 'markup_share = "50 %"', "Write 0.5 for 50 %."),
    "money as a number": (MARKUP, "labour_rate_per_hour = 20.5", 'Write "20.5".'),
    "money with a comma": (MARKUP, 'labour_rate_per_hour = "20,50 €"', 'Write "20.50".'),
    "a wrong key in braces": (
        MARKUP, "minutes_per_piece = { templat = 1 }",
        ", [price.minutes_per_piece]: unknown key 'templat'. Did you mean 'template'?",
    ),
    "one bracket inside a table": (
        MARKUP, 'extra = { name = "x", amount = "3" }', "Write [[price.extra]], with double",
    ),
    "a machine format that is none": (DST, '["dts"]', "'dts' is none of the formats dst,"),
    "a format without brackets": (DST, '"dst"', 'Write formats = ["dst"].'),
    "a catalogue twice": (
        TOP, 'version = 1\ncatalogues = ["a.toml", "a.toml"]', "'a.toml' stands there twice.",
    ),
}  # fmt: skip

NO_JOB = {
    "an empty file": (b"", "there is nothing in this file. Write a first job with"),
    "remarks alone": (b"\n# to do\n", "there is nothing in this file"),
    "zeros": (b"\0" * 40, "this is text of another encoding (UTF-16)"),
    "a picture": (b"GIF89a\x01" + b"abc\0" * 9, "not text but a file of another kind"),
    "a drawing": (b"\xef\xbb\xbf<svg/>", "this is a drawing or a web page, not TOML"),
    "UTF-16": (JOB.encode("utf-16"), "(UTF-16). Save it as plain text, UTF-8."),
    "UTF-16 without a mark": (JOB.encode("utf-16-le"), "(UTF-16)"),
    "another alphabet's code": (JOB.replace("Test", "T\xe9st").encode("latin-1"), ", line 3: "),
    "a catalogue": (b'[[piece]]\ncode = "A"\n', "this is a catalogue, not a job"),
    "brackets without end": (b"x = " + b"[" * 3000, "nested too deep"),
}


def sentence_of(data: bytes) -> str:
    with pytest.raises(JobError) as told:
        read_job(data, "job.toml")
    sentence = str(told.value)
    assert sentence.startswith("job.toml")
    assert "\n" not in sentence
    assert told.value.mend, sentence
    assert not [word for word in LEAKS if word in sentence], sentence
    return sentence


def test_the_job_that_is_broken_below_is_a_job():
    assert read_job(JOB.encode(), "job.toml").cloth.colour == "#000080"


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_job_is_told(name: str):
    old, new, words = WRONG[name]
    assert old in JOB
    assert words in sentence_of(JOB.replace(old, new, 1).encode())


@pytest.mark.parametrize("name", NO_JOB)
def test_what_is_no_job_is_told(name: str):
    data, words = NO_JOB[name]
    assert words in sentence_of(data)


@pytest.mark.parametrize("value", ["true", '"1"', "2026-01-02", "[1]", "{ a = 1 }", "nan", "-inf"])
@pytest.mark.parametrize(
    "key", ["gap_mm = 0.9", "width_mm = 100.0", "seconds = 10", "percent = 90", MARKUP]
)
def test_nothing_but_a_number_is_a_number(key: str, value: str):
    name = key.split(" =", maxsplit=1)[0]
    assert name in sentence_of(JOB.replace(key, f"{name} = {value}", 1).encode())


@pytest.mark.parametrize("value", ["0", "1", "0.0", '"false"', "[]", "1979-05-27"])
@pytest.mark.parametrize("place", ["[artwork]\nmirror", "[cloth]\nnap", "set_by = 'hand'\nlapped"])
def test_nothing_but_true_or_false_is_a_truth(place: str, value: str):
    before, _, name = place.rpartition("\n")
    text = JOB.replace('set_by = "hand"', "set_by = 'hand'")
    wrong = text.replace(before, f"{before}\n{name} = {value}", 1)
    assert f"{name}: must be true or false" in sentence_of(wrong.encode())


def test_whole_numbers_serve_for_numbers_and_lists_for_pairs():
    text = JOB.replace("0.9", "1").replace("markup_share = 0.5", "markup_share = 1")
    job = read_job(text.encode(), "job.toml")
    assert job.lay[0].gap_mm == 1.0
    assert job.hoop is not None
    assert job.hoop.field_mm == (100.0, 100.0)
    assert job.price.markup_share == 1


KINDS: dict[str, str] = {
    "a truth": "true",
    "a text": '"x\\u202e\\n"',
    "a number in quotes": '"0.9"',
    "below nothing": "-1",
    "no number": "nan",
    "thirty digits": "1" * 30,
    "a day": "2026-01-02",
    "an empty list": "[]",
    "a list of lists": "[[1]]",
    "a table": "{ a = 1 }",
    "a list of tables": "[{ name = 3 }]",
}
TABLES: dict[str, tuple[type[BaseModel], str]] = {
    **{
        f"{name} in a lay": (
            way.settings,
            JOB.replace(ROW, f'way = "{name}"\npieces = ["A"]\nKEY = VALUE'),
        )
        for name, way in WAYS.items()
    },
    "a lay": (LayTable, JOB.replace('[[lay]]\nid = "edge"', "[[lay]]\nKEY = VALUE")),
    "an edit": (EditTable, JOB.replace("[[edit]]", "[[edit]]\nKEY = VALUE")),
    "a size": (SizeTable, JOB.replace("[[size]]", "[[size]]\nKEY = VALUE")),
    "artwork": (ArtworkTable, JOB.replace("[artwork]", "[artwork]\nKEY = VALUE")),
    "cloth": (ClothSettings, JOB.replace("[cloth]", "[cloth]\nKEY = VALUE")),
    "hoop": (HoopSettings, JOB.replace("[hoop]", "[hoop]\nKEY = VALUE")),
    "template": (TemplateSettings, JOB.replace("[template]", "[template]\nKEY = VALUE")),
    "press": (PressSettings, JOB.replace(PRESS, f"{PRESS}\nKEY = VALUE")),
    "price": (PriceSettings, JOB.replace("[price]", "[price]\nKEY = VALUE")),
    "marks": (StitchSettings, JOB.replace("[marks]", "[marks]\nKEY = VALUE")),
    "materials": (MaterialSettings, f"{JOB}\n[materials]\nKEY = VALUE\n"),
    "the whole": (Job, f"KEY = VALUE\n{JOB}"),
}


@pytest.mark.parametrize("table", TABLES)
def test_whatever_stands_in_any_field_is_read_or_told(table: str):
    model, text = TABLES[table]
    told: list[JobError] = []
    for key in model.model_fields:
        for value in KINDS.values():
            try:
                read_job(text.replace("KEY", key).replace("VALUE", value).encode(), "job.toml")
            except JobError as wrong:
                told.append(wrong)
    assert len(told) > 4 * len(model.model_fields)
    for each in told:
        sentence = str(each)
        assert each.mend, sentence
        assert sentence.isprintable()
        assert not [word for word in LEAKS if word in sentence], sentence
