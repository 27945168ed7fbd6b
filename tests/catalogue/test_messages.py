"""Every wrong catalogue is one sentence a maker can act on; pieces of odd outlines are read."""

from __future__ import annotations

import pytest

from embellish.catalogue.catalogue import read_catalogue
from embellish.catalogue.equipment import read_equipment
from embellish.errors import CatalogueError
from tests.catalogue.test_reading import WHOLE
from tests.job.test_messages import LEAKS

DROP, STOCK, PRICE = "[9.8, 10.0, 10.2]", "stock = 12", 'SS10 = "1.10"'
MEMBERS = '[{ piece = "MY-DROP" }, { piece = "R-SS10-CLEAR", dx_mm = 7.0 }]'
OWN = 'shape = "outline"\noutline_mm = '

WRONG: dict[str, tuple[str, str, str]] = {
    "a colour misspelt": (
        STOCK,
        f'{STOCK}\ncolour = "redd"',
        "piece 'MY-DROP', colour: 'redd' is no colour that can be drawn. Did you mean 'red'?",
    ),
    "a colour of one's own": (STOCK, f'{STOCK}\ncolour = "ruby dusk"', 'needs hex = "#rrggbb"'),
    "a hex misspelt": (STOCK, f'{STOCK}\nhex = "#aa22"', "hex: '#aa22' is no colour. Write six"),
    "a family's colour": ('"#aa2233"', '"rde"', "colours.plain.RED, hex: 'rde' is no colour"),
    "a size as text": (DROP, '"10 mm"', "a size is a range of three numbers in mm, not '10 mm'."),
    "a size of two": (DROP, "[9.8, 10.2]", "Write [min, nominal, max], such as"),
    "a size with text in it": (
        DROP,
        '["9.8", 10.0, 10.2]',
        "length_mm: must be a number, not '9.8'",
    ),
    "a size with a truth in it": (
        DROP,
        "[true, 10.0, 10.2]",
        "must be a number, not true. Give a number above 0",
    ),
    "a size upside down": (
        DROP,
        "[10.2, 10.0, 9.8]",
        "Write the least first and the greatest last.",
    ),
    "a fixing misspelt": ('"sew-on"', '"sewon"', "'glue', not 'sewon'. Did you mean 'sew-on'?"),
    "no kind": (
        'kind = "stone"\nshape',
        "shape",
        'kind: this key is missing. Add kind = "stone", ',
    ),
    "half a piece in stock": (
        STOCK,
        "stock = 1.5",
        "must be a whole number, not 1.5. Give a whole number from 0.",
    ),
    "stock as text": (STOCK, 'stock = "12"', "Write stock = 12, without quotes."),
    "a price as a number": (
        PRICE,
        "SS10 = 1.10",
        'money is written as text, not 1.1. Write "1.1".',
    ),
    "a price with a comma": (
        PRICE,
        'SS10 = "1,10"',
        "money is a number in quotes, not '1,10'. Write \"1.10\".",
    ),
    "a price as truth": (PRICE, "SS10 = true", "money is written as text, not true"),
    "one bracket": (
        "[[family.pack]]",
        "[family.pack]",
        "Write [[family.pack]], with double brackets.",
    ),
    "a code as a number": (
        '"MY-DROP"\nkind',
        "7\nkind",
        "piece 1, code: must be text in quotes, not 7",
    ),
    "a hole outside": (
        "x_mm = 3.5",
        "x_mm = 5",
        "reaches out of the piece. Move it or make it smaller",
    ),
    "a hole of no kind": ("x_mm = 3.5", 'axis = "thru"', "Did you mean 'through'?"),
    "members by name alone": (
        MEMBERS,
        '["MY-DROP"]',
        "members, entry 1: must be a table, not 'MY-DROP'",
    ),
    "a member's key": (
        "dx_mm = 7.0",
        "xd_mm = 7.0",
        "members 2: unknown key 'xd_mm'. Did you mean 'dx_mm'?",
    ),
    "no outline": (
        'shape = "pear"',
        'shape = "outline"',
        "shape 'outline' has no outline_mm. Add its outline_mm.",
    ),
    "an outline of pairs": ('shape = "pear"', f"{OWN}[[0, 0], [1, 1]]", "takes 3 entries, not 2"),
    "an outline too small": (
        'shape = "pear"\nfixing = "sew-on"',
        f'fixing = "sew-on"\n{OWN}[[-4.5, -3, 0], [4.5, -3, 0], [4.5, 3, 0], [-4.5, 3, 0]]',
        "its outline measures 9.00 × 6.00 mm, its greatest size is 10.2 × 6.2 mm. Draw the outline",
    ),
    "a remark that is a number": (
        'caliper = "measured, ten of each"',
        "caliper = 3",
        "must be text in quotes, not 3",
    ),
    "a hoop among pieces": (
        "[[piece]]",
        '[[hoop]]\nname = "a"\n[[piece]]',
        "a job says its hoop under [hoop].",
    ),
    "currency in its sign": ('"EUR"', '"€"', "its three capital letters, not '€'. Write EUR, GBP"),
    "the currency at the top": (
        "[catalogue]",
        'currency = "EUR"\n[catalogue]',
        "It belongs in [catalogue].",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_catalogue_is_told(name: str):
    old, new, words = WRONG[name]
    assert old in WHOLE
    with pytest.raises(CatalogueError) as told:
        read_catalogue(WHOLE.replace(old, new, 1).encode(), "stock.toml")
    sentence = str(told.value)
    assert words in sentence
    assert sentence.startswith("stock.toml")
    assert told.value.mend, sentence
    assert "\n" not in sentence
    assert not [word for word in LEAKS if word in sentence], sentence


HOOP = '[[hoop]]\nname = "mine"\nfield_mm = [100, 90]\n'


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HOOP.replace("[100, 90]", '"100x90"'), "hoop 'mine', field_mm: must be a list"),
        (HOOP + 'shape = "rund"', "Did you mean 'round'?"),
        (HOOP + 'shape = "round"', "a round hoop has one size"),
        (HOOP + 'positions = [{ name = "a", turn_deg = 45 }]', "must be 0, 90, 180 or 270, not 45"),
        (HOOP + 'positions = [{ name = "a", turn_deg = false }]', "a whole number, not false"),
        ('[[sheet]]\nname = "a"\nwidth_mm = 1\nheight_mm = 1\nroll = "yes"', "true or false, not"),
        (HOOP.replace("[[hoop]]", "[hoop]"), "Write [[hoop]]."),
    ],
)
def test_wrong_equipment_is_told(text: str, words: str):
    with pytest.raises(CatalogueError) as told:
        read_equipment(text.encode(), "hoops.toml")
    assert words in str(told.value)
    assert told.value.mend


def test_a_colour_by_name_is_drawn_in_it():
    text = WHOLE.replace(STOCK, f'{STOCK}\ncolour = "Dark Red"', 1)
    piece = read_catalogue(text.encode(), "stock.toml").pieces["MY-DROP"]
    assert (piece.colour, piece.hex) == ("Dark Red", "#8b0000")
    named = WHOLE.replace(STOCK, f'{STOCK}\ncolour = "ruby dusk"\nhex = "#9B1111"', 1)
    assert read_catalogue(named.encode(), "stock.toml").pieces["MY-DROP"].hex == "#9b1111"


def test_an_outline_drawn_anywhere_has_its_holes_in_its_own_frame():
    # The middle is at (105, 53): a hole is judged from there, not from the frame's origin.
    outline = "[[100, 50, 0], [110, 50, 0], [110, 56, 0], [100, 56, 0]]"
    row = f"""
[[piece]]
code = "OWN"
kind = "stone"
shape = "outline"
fixing = "sew-on"
length_mm = [9.8, 9.9, 10]
width_mm = [5.8, 5.9, 6]
outline_mm = {outline}
"""
    inside = row + "holes = [{ x_mm = 108, y_mm = 53, diameter_mm = 1 }]\n"
    assert read_catalogue(inside.encode(), "stock.toml").pieces["OWN"].holes[0].x_mm == 108
    outside = row + "holes = [{ x_mm = 0, y_mm = 0, diameter_mm = 1 }]\n"
    with pytest.raises(CatalogueError, match="reaches out of the piece"):
        read_catalogue(outside.encode(), "stock.toml")


def test_a_size_is_told_by_the_key_it_is_written_with():
    text = '[catalogue]\nname = "mine"\n[[piece]]\ncode = "A"\nkind = "stone"\nsize_mm = 3.0\n'
    with pytest.raises(CatalogueError, match="piece 'A', size_mm: a size is a range"):
        read_catalogue(text.encode(), "mine.toml")
