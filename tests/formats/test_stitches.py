"""Stitch files: every format read back, junk refused, what a format cannot hold is told."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pyembroidery as pe
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.errors import ArtworkError, OutputError
from embellish.formats.stitches import (
    FORMATS,
    JUMP,
    READABLE,
    STITCH,
    TRIM,
    StitchDesign,
    ThreadBlock,
    decode,
    encode,
    noticed_in,
)


def cross(x: float, y: float) -> list[tuple[float, float, int]]:
    points = [(x + 0.7, y), (x, y), (x - 1, y), (x + 1, y), (x, y), (x, y - 1), (x, y + 1)]
    return [(x, y, JUMP), *((*point, STITCH) for point in points), (x, y + 1, TRIM)]


def design(blocks: int = 3, colour: str = "#112233", name: str = "crosses") -> StitchDesign:
    made = []
    for number in range(blocks):
        rows = np.array(
            [row for i in range(4) for row in cross(15.0 * i - 30, 20.0 * (number % 9) - 17.3)]
        )
        made.append(ThreadBlock(f"block {number}", colour, rows[:, :2], rows[:, 2].astype(int)))
    return StitchDesign(name, tuple(made))


def read_back(data: bytes, extension: str):
    """Read with the library: needle points without those that stay in place."""
    pattern = getattr(pe, f"read_{extension}")(io.BytesIO(data))
    needle = [row[:2] for row in pattern.stitches if row[2] & pe.COMMAND_MASK == pe.STITCH]
    points = np.array(needle) / 10.0
    moved = np.concatenate([[True], np.any(np.diff(points, axis=0) != 0, axis=1)])
    return points[moved], pattern


def _without(points: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Return the points of one walk that make up another, in order, leaving others out."""
    kept, at = [], 0
    for point in points:
        if at < len(wanted) and np.abs(point - wanted[at]).max() < 0.01:
            kept.append(point)
            at += 1
    return np.array(kept)


@pytest.mark.parametrize("extension", sorted(FORMATS))
def test_every_format_holds_every_stitch_in_its_place(extension):
    given_design = design()
    data, _ = encode(given_design, extension)
    points, _ = read_back(data, extension)
    wanted = given_design.stitches
    if extension in ("pes", "pec"):
        # These put one needle point more where a jump ends, which is our first lock's foot.
        jumps = sum(int((block.kind == JUMP).sum()) for block in given_design.blocks)
        assert len(points) <= len(wanted) + jumps
        points = _without(points, wanted)
    slack = 0.15 if extension == "vp3" else 0.001
    assert points.shape == wanted.shape
    assert np.abs(points - wanted).max() <= slack


@pytest.mark.parametrize("extension", sorted(FORMATS))
def test_equal_colours_stay_blocks_apart(extension):
    data, _ = encode(design(4), extension)
    _, pattern = read_back(data, extension)
    changes = (pe.COLOR_CHANGE, pe.NEEDLE_SET, pe.STOP)
    found = sum((row[2] & pe.COMMAND_MASK) in changes for row in pattern.stitches)
    assert found - (extension in ("u01", "tbf")) == 3


@pytest.mark.parametrize("extension", sorted(FORMATS))
def test_same_bytes_twice(extension):
    assert encode(design(), extension) == encode(design(), extension)


@pytest.mark.parametrize("extension", READABLE)
def test_what_is_written_is_decoded(extension):
    given_design = design()
    found = decode(encode(given_design, extension)[0], extension)
    assert len(found.blocks) == 3
    assert found.bounds_mm() == pytest.approx(given_design.bounds_mm(), abs=0.15)


@pytest.mark.parametrize("extension", READABLE)
def test_no_beginning_of_a_file_is_taken_for_it(extension):
    data = encode(design(), extension)[0]
    cut = 8 if extension == "exp" else len(data) // 3
    # EXP has no end mark: only cuts inside a record, or before the first stitches, can be told.
    lengths = (
        [1, 3, 7, cut - 1, cut + 1] if extension == "exp" else [0, 5, cut, len(data) // 2 - 200]
    )
    for length in lengths:
        with pytest.raises(ArtworkError, match=extension.upper()):
            decode(data[: max(0, length)], extension, file="base")


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=3000), st.sampled_from(READABLE))
def test_junk_is_never_a_design_by_chance(data, extension):
    try:
        found = decode(data, extension)
    except ArtworkError:
        return
    # A few bytes of EXP are as good as any others, since it has neither header nor end.
    assert extension == "exp"
    assert len(found.stitches) >= 2
    assert len(data) < 400


@pytest.mark.parametrize("extension", READABLE)
@pytest.mark.parametrize("seed", range(5))
def test_random_bytes_are_refused(extension, seed):
    data = np.random.default_rng(seed).bytes(4000)
    with pytest.raises(ArtworkError, match="not a"):
        decode(data, extension)


def test_text_and_other_files_are_refused():
    for extension in READABLE:
        for data in (b"", b"hello world " * 90, b"\x89PNG\r\n\x1a\n" + b"\0" * 800):
            with pytest.raises(ArtworkError):
                decode(data, extension)


def test_a_format_that_is_not_known_is_refused_by_name():
    with pytest.raises(OutputError, match="xyz"):
        encode(design(), "xyz")
    with pytest.raises(ArtworkError, match="tbf"):
        decode(b"", "tbf")


def test_nothing_to_sew_is_refused():
    with pytest.raises(OutputError, match="nothing to sew"):
        encode(StitchDesign("none", ()), "dst")


@pytest.mark.parametrize("bad", [np.nan, np.inf, 1e7])
def test_a_place_that_is_none_is_refused(bad):
    block = ThreadBlock("b", "#000000", np.array([[0.0, 0.0], [bad, 0.0]]), np.array([1, 0]))
    with pytest.raises(ValueError, match="stitch"):
        encode(StitchDesign("bad", (block,)), "dst")


def test_a_stitch_longer_than_the_format_holds_is_sewn_in_steps_and_told():
    points = np.array([[0.0, 0.0], [1.0, 0.0], [31.0, 0.0]])
    block = ThreadBlock("b", "#000000", points, np.array([JUMP, STITCH, STITCH]))
    data, findings = encode(StitchDesign("long", (block,)), "dst")
    assert "stitch-split" in [finding.code for finding in findings]
    found, _ = read_back(data, "dst")
    steps = np.diff(found[:, 0])
    assert found[-1].tolist() == [31.0, 0.0]
    assert steps.max() <= 12.1


@pytest.mark.parametrize("extension", sorted(FORMATS))
@pytest.mark.parametrize("at", [(120.0, -80.0), (-333.3, 41.7), (0.0, 0.0)])
def test_a_design_away_from_the_start_is_whole_in_every_format(extension, at):
    near = design(2, name="Über " + "x" * 300)
    blocks = tuple(replace(block, xy=block.xy + np.array(at)) for block in near.blocks)
    data, _ = encode(replace(near, blocks=blocks), extension)
    points, _ = read_back(data, extension)
    wanted = near.stitches + np.array(at)
    if extension in ("pes", "pec"):
        points = _without(points, wanted)
    slack = 0.15 if extension == "vp3" else 0.001
    assert points.shape == wanted.shape
    assert np.abs(points - wanted).max() <= slack


@pytest.mark.parametrize("at", [(120.0, -80.0), (-333.3, 41.7), (0.0, 0.0)])
def test_headers_tell_extents_from_the_start(at):
    near = design(2)
    blocks = tuple(replace(block, xy=block.xy + np.array(at)) for block in near.blocks)
    far = replace(near, blocks=blocks)
    units = np.rint(far.stitches * 10).astype(int)
    x0, y0 = np.minimum(units.min(axis=0), 0).tolist()
    x1, y1 = np.maximum(units.max(axis=0), 0).tolist()
    jef, _ = encode(far, "jef")
    numbers = [int.from_bytes(jef[k : k + 4], "little", signed=True) for k in range(36, 68, 4)]
    assert numbers[:4] == [-x0, -y0, x1, y1]
    edges = [550 + x0, 550 + y0, 550 - x1, 550 - y1]
    assert numbers[4:] == (edges if min(edges) >= 0 else [-1] * 4)
    tbf, _ = encode(far, "tbf")
    lines = dict(
        line.split(":") for line in tbf[0x80:0x108].decode("ascii").split("\r") if ":" in line
    )
    found = [int(lines[key].replace(" ", "")) for key in ("-X", "+Y", "+X", "-Y", "AX", "AY")]
    assert found == [-x0, -y0, x1, y1, units[-1, 0], -units[-1, 1]]


def test_what_a_base_cannot_keep_or_show_is_told():
    pattern = pe.EmbPattern()
    pattern.add_thread({"hex": "#ff0000"})
    for x in range(0, 100, 20):
        pattern.add_stitch_absolute(pe.STITCH, x, 0)
    pattern.add_command(pe.SEQUIN_MODE)
    for x in range(100, 300, 40):
        pattern.add_stitch_absolute(pe.SEQUIN_EJECT, x, 0)
    pattern.add_command(pe.SEQUIN_MODE)
    pattern.add_stitch_absolute(pe.STITCH, 300, 0)
    pattern.end()
    buffer = io.BytesIO()
    pe.write_dst(pattern, buffer)
    with pytest.raises(ArtworkError, match="drops sequins"):
        decode(buffer.getvalue(), "dst", file="rose.dst")
    (told,) = noticed_in(design(), "exp", "rose.exp")
    assert (told.code, told.severity) == ("base-end-unknown", "warning")
    assert "84 stitches in 3 colours, 47.0 x 42.0 mm" in told.message
    (told,) = noticed_in(design(1), "dst", "rose.dst")
    assert (told.code, told.severity) == ("base-read", "note")


def test_a_stop_goes_on_with_the_same_thread():
    pattern = pe.EmbPattern()
    for colour in ("#ff0000", "#00ff00"):
        pattern.add_thread({"hex": colour})
    for number, command in enumerate((pe.STOP, pe.COLOR_CHANGE, None)):
        for x in range(5):
            pattern.add_stitch_absolute(pe.STITCH, 20 * x, 50 * number)
        if command is not None:
            pattern.add_command(command)
    pattern.end()
    buffer = io.BytesIO()
    pe.write_pes(pattern, buffer, {"version": 6})
    found = decode(buffer.getvalue(), "pes")
    assert [block.hex for block in found.blocks] == ["#ff0000", "#ff0000", "#00ff00"]


def test_losses_are_told():
    for extension in ("dst", "exp", "u01"):
        words = " ".join(finding.message for finding in encode(design(), extension)[1])
        assert "colours" in words
    assert encode(design(), "xxx")[1] == ()


def test_too_many_blocks_for_a_format():
    with pytest.raises(OutputError, match="255"):
        encode(design(256), "pes")
    assert encode(design(256), "dst")[0]
