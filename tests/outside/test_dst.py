"""DST records and headers against the published format.

Bit table: the university wiki page on the format (edutechwiki.unige.ch, "Embroidery format DST").
Vectors: records that pyembroidery 1.5.1 encodes, decoded back by a decoder written from that table.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.formats.stitches import JUMP, STITCH, TRIM, StitchDesign, ThreadBlock, encode
from tests.decoders import decode_dst, decode_exp, dst_delta

# kind, dx, dy (y up), in 0.1 mm, bytes
VECTORS = [
    ("stitch", 0, 0, "000003"),
    ("stitch", 1, 0, "010003"),
    ("stitch", -1, 0, "020003"),
    ("stitch", 0, 1, "800003"),
    ("stitch", 0, -1, "400003"),
    ("stitch", 2, 0, "020103"),
    ("stitch", 3, 0, "000103"),
    ("stitch", 4, 0, "010103"),
    ("stitch", 5, 0, "060203"),
    ("stitch", 9, 0, "040003"),
    ("stitch", 13, 0, "050103"),
    ("stitch", 14, 0, "0a0603"),
    ("stitch", 27, 0, "000403"),
    ("stitch", 40, 0, "050503"),
    ("stitch", 41, 0, "0a0a07"),
    ("stitch", 81, 0, "000007"),
    ("stitch", 121, 0, "050507"),
    ("stitch", -121, 0, "0a0a0b"),
    ("stitch", 0, 81, "000023"),
    ("stitch", 0, -81, "000013"),
    ("stitch", 0, 121, "a0a023"),
    ("stitch", 121, 121, "a5a527"),
    ("stitch", -121, -121, "5a5a1b"),
    ("stitch", 50, -30, "025a07"),
    ("stitch", -77, 64, "a1112b"),
    ("jump", 0, 0, "000083"),
    ("jump", 1, 0, "010083"),
    ("jump", -1, 0, "020083"),
    ("jump", 0, 1, "800083"),
    ("jump", 0, -1, "400083"),
    ("jump", 2, 0, "020183"),
    ("jump", 3, 0, "000183"),
    ("jump", 4, 0, "010183"),
    ("jump", 5, 0, "060283"),
    ("jump", 9, 0, "040083"),
    ("jump", 13, 0, "050183"),
    ("jump", 14, 0, "0a0683"),
    ("jump", 27, 0, "000483"),
    ("jump", 40, 0, "050583"),
    ("jump", 41, 0, "0a0a87"),
    ("jump", 81, 0, "000087"),
    ("jump", 121, 0, "050587"),
    ("jump", -121, 0, "0a0a8b"),
    ("jump", 0, 81, "0000a3"),
    ("jump", 0, -81, "000093"),
    ("jump", 0, 121, "a0a0a3"),
    ("jump", 121, 121, "a5a5a7"),
    ("jump", -121, -121, "5a5a9b"),
    ("jump", 50, -30, "025a87"),
    ("jump", -77, 64, "a111ab"),
]

ENDS = {"end": "0000f3", "colour change": "0000c3"}
"""Commands of the same table."""


@pytest.mark.parametrize(("kind", "dx", "dy", "record"), VECTORS)
def test_the_published_table_gives_the_vector(kind, dx, dy, record):
    data = bytes.fromhex(record)
    assert dst_delta(data) == (dx, dy)
    assert data[2] & 0xC3 == {"stitch": 0x03, "jump": 0x83}[kind]


# No record of ours stays where it is.
@pytest.mark.parametrize(
    ("kind", "dx", "dy", "record"), [row for row in VECTORS if row[1:3] != (0, 0)]
)
def test_our_files_hold_the_vector(kind, dx, dy, record):
    # y is down in designs, up in the file.
    points = np.array([[0.0, 0.0], [1.0, 1.0], [0.0, 0.0], [dx / 10.0, -dy / 10.0], [0.5, 0.5]])
    kinds = np.array([JUMP, STITCH, STITCH, STITCH if kind == "stitch" else JUMP, STITCH])
    if kind == "jump":
        points[4] = points[3] + 0.5
    data, _ = encode(StitchDesign("v", (ThreadBlock("b", "#000000", points, kinds),)), "dst")
    records = [data[at : at + 3].hex() for at in range(512, len(data), 3)]
    assert record in records
    assert records[-1] == ENDS["end"]


def block(points: list[tuple[int, int]], colour: str = "#123456") -> ThreadBlock:
    """Return stitches through points of 0.1 mm, a jump to the first and a trim after the last."""
    xy = np.array([points[0], *points, points[-1]]) / 10.0
    return ThreadBlock("b", colour, xy, np.array([JUMP, *[STITCH] * len(points), TRIM]))


steps = st.lists(
    st.tuples(st.integers(-70, 70), st.integers(-70, 70)).filter(lambda step: step != (0, 0)),
    min_size=2,
    max_size=12,
)
starts = st.tuples(st.integers(-3000, 3000), st.integers(-3000, 3000))
walks = st.lists(st.tuples(starts, steps), min_size=1, max_size=4)


def walked(start: tuple[int, int], moves: list[tuple[int, int]]) -> list[tuple[int, int]]:
    return [tuple(point) for point in (np.array(start) + np.cumsum([(0, 0), *moves], axis=0))]


@settings(max_examples=60, deadline=None)
@given(walks)
def test_what_is_written_is_read_by_a_decoder_of_its_own(given_walks):
    paths = [walked(start, moves) for start, moves in given_walks]
    design = StitchDesign("walks", tuple(block(path) for path in paths))
    for extension, read in (("dst", decode_dst), ("exp", decode_exp)):
        data, _ = encode(design, extension)
        found = read(data)
        points = np.rint(np.array(found.stitches_mm) * 10).astype(int)
        assert points.tolist() == [list(point) for path in paths for point in path]
        blocks = [number for number, path in enumerate(paths) for _ in path]
        assert found.stitch_blocks == blocks
        assert found.colour_changes == len(paths) - 1
        assert encode(design, extension)[0] == data


@settings(max_examples=60, deadline=None)
@given(walks)
def test_the_header_tells_extents_from_the_start_wherever_the_design_lies(given_walks):
    paths = [walked(start, moves) for start, moves in given_walks]
    data, _ = encode(StitchDesign("far off", tuple(block(path) for path in paths)), "dst")
    found = decode_dst(data)
    every = np.array([point for path in paths for point in path])
    x0, y0 = np.minimum(every.min(axis=0), 0)
    x1, y1 = np.maximum(every.max(axis=0), 0)
    header = {key: value.replace(" ", "") for key, value in found.header.items()}
    assert (int(header["+X"]), int(header["-X"])) == (x1, -x0)
    # The file's y is up.
    assert (int(header["+Y"]), int(header["-Y"])) == (-y0, y1)
    assert (int(header["AX"]), int(header["AY"])) == (every[-1, 0], -every[-1, 1])
    assert int(header["CO"]) == len(paths) - 1
    assert int(header["ST"]) == (len(data) - 512) // 3 - 1
    assert data[124:125] == b"\x1a"
    assert set(data[125:512]) == {0x20}


@pytest.mark.parametrize(
    "name", ["", "x" * 600, "Ärmel für Zoë ✂", "tab\tand\rreturn", "=1+1", "a" * 16]
)
def test_labels_are_sixteen_plain_characters(name):
    data, _ = encode(StitchDesign(name, (block([(0, 0), (10, 0), (0, 0)]),)), "dst")
    assert data[:3] == b"LA:"
    assert data[19:20] == b"\r"
    label = data[3:19].decode("ascii")
    assert label.isprintable()
    assert label.strip()
    assert decode_dst(data).ended
