"""Entities of a document's own: put in as the standard says, or refused; none grows without end."""

import pytest
from lxml import etree

from embellish.artwork.svg.reading import read_svg
from embellish.errors import ArtworkError
from embellish.formats.xml_entities import MAX_ENTITIES, expanded_entities
from tests.artwork.svg.cases import NS

# As drawing programs of about the year 2000 wrote their files.
OLD = b"""<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.0//EN" "http://www.w3.org/TR/2001/svg10.dtd" [
\t<!-- names -->
\t<!ENTITY ns_svg "http://www.w3.org/2000/svg">
\t<!ENTITY ns_xlink 'http://www.w3.org/1999/xlink'>
\t<!ENTITY st0 "fill:none;stroke:#231F20;">
]>
<svg xmlns="&ns_svg;" xmlns:xlink="&ns_xlink;" width="40mm" height="40mm" viewBox="0 0 40 40">
<path style="&st0;" d="M1 1H9V9z"/>
<path id="x" d="M0 0L1 x"/></svg>"""


def test_an_old_file_is_read():
    artwork, findings = read_svg(OLD, "old.svg")
    first = artwork.shapes[0]
    assert (first.fill, first.stroke, artwork.page) == (None, "#231f20", (40.0, 40.0))
    (broken,) = (f for f in findings if f.code == "data-cut-short")
    assert "'x'" in broken.message


def test_a_parser_that_follows_entities_reads_the_same_tree():
    """Outside check: libxml2, told to put entities in itself (the file is our own)."""
    theirs = etree.fromstring(OLD, etree.XMLParser(resolve_entities=True, load_dtd=False))
    data = expanded_entities(OLD)
    assert data is not None
    ours = etree.fromstring(data)
    assert etree.tostring(ours, method="c14n") == etree.tostring(theirs, method="c14n")
    lines = [[one.sourceline for one in tree.iter()] for tree in (ours, theirs)]
    assert lines[0] == lines[1]


def of(subset: str, body: str = "") -> bytes:
    return f"<!DOCTYPE svg [{subset}]><svg {NS}>{body}</svg>".encode()


def test_comments_and_cdata_name_nothing():
    data = expanded_entities(of("<!ENTITY a 'b'>", "<!--&a;--><t>&a;</t><![CDATA[&a;]]>&amp;"))
    assert data is not None
    assert data.endswith(b"<!--&a;--><t>b</t><![CDATA[&a;]]>&amp;</svg>")


def test_the_first_of_a_name_holds():
    # XML 1.0, section 4.2: "the first declaration encountered is binding".
    data = expanded_entities(of("<!ENTITY a 'b'><!ENTITY a 'c'>", "&a;"))
    assert data is not None
    assert b">b</svg>" in data


@pytest.mark.parametrize(
    "data",
    [
        of("<!ENTITY a '&b;'><!ENTITY b 'c'>", "&a;"),
        of("<!ENTITY a SYSTEM 'file:///etc/hostname'>", "&a;"),
        of("<!ENTITY a PUBLIC 'x' 'http://localhost/'>", "&a;"),
        of("<!ENTITY % a 'b'>%a;", ""),
        of(f"<!ENTITY a '{'x' * 10_000}'>", "&a;" * 10_000),
        of("".join(f"<!ENTITY a{i} 'b'>" for i in range(MAX_ENTITIES + 1))),
        of("<!ENTITY a 'b'"),
        of("<!ENTITY a 'b'><!-- "),
        of("<!ENTITY a 'b'>", "&a;").decode().encode("utf-16"),
        b"<!DOCTYPE svg [" + b"<!ENTITY a '" * 500_000,
    ],
    ids=["nested", "file", "net", "parameter", "grows", "many", "open", "comment", "16", "long"],
)
def test_what_could_grow_or_reach_outside_is_refused(data):
    with pytest.raises(ArtworkError, match=r"entities|broken"):
        read_svg(data, "a.svg")


def test_comments_without_end_take_no_time():
    data = of("<!ENTITY a 'b'>") + b"<!--" * 1_000_000
    assert expanded_entities(data) is not None


def test_an_unknown_entity_is_told_by_its_line():
    with pytest.raises(ArtworkError, match="line 1"):
        read_svg(of("<!ENTITY a 'b'>", "&c;"), "a.svg")
