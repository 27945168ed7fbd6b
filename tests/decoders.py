"""Decoders of machine stitch files written from the published tables, sharing no code with ours.

DST: the bit table of the university wiki page on the format (edutechwiki.unige.ch,
"Embroidery format DST"): three bytes a record, 0.1 mm, y up in the file, weights 1, 3, 9, 27, 81.
EXP: two signed bytes a record in 0.1 mm, y up; 0x80 escapes a command.
"""

from __future__ import annotations

from dataclasses import dataclass, field

# (byte, bit) -> (axis, step in 0.1 mm)
DST_BITS = {
    (0, 0): (0, 1), (0, 1): (0, -1), (0, 2): (0, 9), (0, 3): (0, -9),
    (0, 4): (1, -9), (0, 5): (1, 9), (0, 6): (1, -1), (0, 7): (1, 1),
    (1, 0): (0, 3), (1, 1): (0, -3), (1, 2): (0, 27), (1, 3): (0, -27),
    (1, 4): (1, -27), (1, 5): (1, 27), (1, 6): (1, -3), (1, 7): (1, 3),
    (2, 2): (0, 81), (2, 3): (0, -81), (2, 4): (1, -81), (2, 5): (1, 81),
}  # fmt: skip


@dataclass
class Decoded:
    """What a machine would do, positions absolute from the start, mm, y down."""

    stitches_mm: list[tuple[float, float]] = field(default_factory=list)
    lengths_mm: list[float] = field(default_factory=list)
    """Of each stitch, from wherever the needle last was."""
    stitch_blocks: list[int] = field(default_factory=list)
    jumps: int = 0
    colour_changes: int = 0
    header: dict[str, str] = field(default_factory=dict)
    ended: bool = False


def dst_delta(record: bytes) -> tuple[int, int]:
    """The move of one record in 0.1 mm, y up."""
    move = [0, 0]
    for (byte, bit), (axis, step) in DST_BITS.items():
        if record[byte] >> bit & 1:
            move[axis] += step
    return move[0], move[1]


def decode_dst(data: bytes) -> Decoded:
    """Decode a DST file; anything after the end mark, or no end mark, is an error."""
    found = Decoded()
    assert len(data) >= 512, "no header"
    for line in data[:512].split(b"\x1a")[0].decode("ascii").split("\r"):
        key, _, value = line.strip().partition(":")
        if key:
            found.header[key] = value
    body = data[512:]
    x = y = 0
    for at in range(0, len(body) - 2, 3):
        record = body[at : at + 3]
        kind = record[2] & 0xC3
        if record == b"\x00\x00\xf3":
            found.ended = True
            break
        assert kind & 0x03 == 0x03, f"record {at // 3} has not its constant bits"
        dx, dy = dst_delta(record)
        x, y = x + dx, y + dy
        if kind == 0x03:
            found.stitches_mm.append((x / 10.0, -y / 10.0))
            found.lengths_mm.append((dx * dx + dy * dy) ** 0.5 / 10.0)
            found.stitch_blocks.append(found.colour_changes)
        elif kind == 0xC3:
            found.colour_changes += 1
        elif kind == 0x83:
            found.jumps += 1
        else:
            raise AssertionError(f"record {at // 3}: unknown command {kind:#x}")
    assert found.ended, "no end mark"
    return found


def decode_exp(data: bytes) -> Decoded:
    """Decode an EXP file."""
    found = Decoded()
    x = y = at = 0

    def signed(byte: int) -> int:
        return byte - 256 if byte > 127 else byte

    while at + 1 < len(data):
        first, second = data[at], data[at + 1]
        at += 2
        if first != 0x80:
            dx, dy = signed(first), signed(second)
            x, y = x + dx, y + dy
            found.stitches_mm.append((x / 10.0, -y / 10.0))
            found.lengths_mm.append((dx * dx + dy * dy) ** 0.5 / 10.0)
            found.stitch_blocks.append(found.colour_changes)
            continue
        dx, dy = signed(data[at]), signed(data[at + 1])
        at += 2
        if second == 0x01:
            found.colour_changes += 1
        elif second == 0x04:
            x, y = x + dx, y + dy
            found.jumps += 1
        else:
            assert second == 0x80, f"unknown command {second:#x}"
    found.ended = True
    return found
