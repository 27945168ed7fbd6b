"""Headers of machine stitch files: extents and counts of our own, and what tells junk.

Layouts: the university wiki pages on these formats (edutechwiki.unige.ch, Embroidery_format_*)
and the source of pyembroidery 1.5.1.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from embellish.arrays import Ints
from embellish.errors import ArtworkError

_DST_HEADER: Final = 512
_JEF_EXTENTS: Final = 36


def dst_header(data: bytes, label: str, points: Ints, blocks: int) -> bytes:
    """Return the 512 bytes before a DST file's records.

    Parameters
    ----------
    data
        The file as the library wrote it.
    label
        At most 16 ASCII characters.
    points : array of shape (n, 2)
        The needle points in tenths of a mm, y down, about the start.
    blocks
        Colour blocks.
    """
    records = (len(data) - _DST_HEADER) // 3 - 1  # the end mark is not counted
    lines = (
        f"LA:{label:<16}",
        f"ST:{records:7d}",
        f"CO:{blocks - 1:3d}",
        *_extent_lines(points),
        f"MX:{_signed(0)}",
        f"MY:{_signed(0)}",
        "PD:******",
    )
    head = "".join(line + "\r" for line in lines).encode("ascii") + b"\x1a"
    return head.ljust(_DST_HEADER, b" ")


def _reach(points: Ints) -> tuple[int, int, int, int]:
    """Return how far points lie left, above, right and below the start, which counts as well."""
    x0, y0 = (min(0, int(v)) for v in points.min(axis=0))
    x1, y1 = (max(0, int(v)) for v in points.max(axis=0))
    return -x0, -y0, x1, y1


def _extent_lines(points: Ints) -> tuple[str, ...]:
    """Return the header lines of extents and last point; the file's y points up."""
    left, above, right, below = _reach(points)
    last_x, last_y = (int(v) for v in points[-1])
    return (
        f"+X:{right:5d}",
        f"-X:{left:5d}",
        f"+Y:{above:5d}",
        f"-Y:{below:5d}",
        f"AX:{_signed(last_x)}",
        f"AY:{_signed(-last_y)}",
    )


def tbf_header(data: bytes, points: Ints) -> bytes:
    """Return a TBF file with the extents of its needle points, told as in DST."""
    lines = "".join(line + "\r" for line in _extent_lines(points)).encode("ascii")
    start = data.index(b"+X:", 0x80, 0x200)
    end = data.index(b"TP:", start, 0x200)
    # Lines of one width, so that nothing behind them moves.
    if end - start != len(lines):
        raise ValueError("the extents of a TBF header are not where they should be")
    return data[:start] + lines + data[end:]


def jef_header(data: bytes, points: Ints) -> bytes:
    """Return a JEF file with its distances from the middle of the hoop, where the file starts.

    The library takes every design for a centred one.
    """
    reach = _reach(points)
    numbers = [*reach]
    for half_x, half_y in ((550, 550), (250, 250), (700, 1000), (700, 1000)):
        edges = [half - out for half, out in zip((half_x, half_y) * 2, reach, strict=True)]
        # Less than nothing says that the design does not fit that hoop.
        numbers += edges if min(edges) >= 0 else [-1] * 4
    body = b"".join(number.to_bytes(4, "little", signed=True) for number in numbers)
    return data[:_JEF_EXTENTS] + body + data[_JEF_EXTENTS + len(body) :]


def _signed(value: int) -> str:
    return f"{'-' if value < 0 else '+'}{abs(value):5d}"


def refuse_junk(data: bytes, extension: str, file: str | None) -> None:
    """Refuse bytes that are not a whole file of the format.

    Raises
    ------
    ArtworkError
        Saying what is amiss.
    """
    try:
        wrong = _CHECKS[extension](data)
    except (IndexError, ValueError):
        wrong = "it is cut short"
    if wrong:
        raise ArtworkError(
            f"this is not a {extension.upper()} stitch design: {wrong}",
            file=file,
            mend="Export it again from the program it comes from.",
        )


def _dst(data: bytes) -> str:
    if len(data) < _DST_HEADER + 6:
        return "it is too short"
    if not data.startswith(b"LA:") or b"ST:" not in data[:_DST_HEADER]:
        return "its header is missing"
    for at in range(_DST_HEADER, len(data) - 2, 3):
        b0, b1, b2 = data[at : at + 3]
        if (b0, b1, b2) == (0, 0, 0xF3):
            return ""
        # The two lowest bits of a record's third byte are always set, and no axis has a weight
        # both added and taken away.
        if b2 & 3 != 3:
            return "a record is not a stitch, jump or colour change"
        if _clash(b0) or _clash(b1) or _clash(b2 & 0x3C):
            return "a record is not a stitch, jump or colour change"
    return "its end mark is missing"


def _clash(byte: int) -> bool:
    """Whether a weight of a DST record is both added and taken away."""
    return byte & byte >> 1 & 0x55 != 0


def _exp(data: bytes) -> str:
    if len(data) < 4 or len(data) % 2:
        return "its length is not that of whole records"
    at, stitches, still, travel = 0, 0, 0, 0
    while at < len(data):
        if data[at] != 0x80:
            step = sum(abs((b + 128) % 256 - 128) for b in data[at : at + 2])
            travel += step
            still += step == 0
            stitches += 1
            at += 2
            continue
        if data[at + 1] not in (0x01, 0x02, 0x04, 0x80) or at + 4 > len(data):
            return "a record is not a stitch, jump, trim or colour change"
        at += 4
    # The format has no header. Stitches of a design are 0.5-5 mm; those of chance bytes 13 mm.
    if not stitches or travel > 80 * stitches:
        return "its stitches are too long to be sewn"
    if 2 * still > stitches:
        return "its stitches stay where they are"
    return ""


def _pec_block(data: bytes, at: int) -> str:
    # The stitch block's length stands after 512 bytes of header (two of them its own).
    start = at + 512
    length = int.from_bytes(data[start + 2 : start + 5], "little")
    if len(data) < start + length or length < 20:
        return "it is cut short"
    if data[start + length - 1] != 0xFF:
        return "its end mark is missing"
    return ""


def _pec(data: bytes) -> str:
    return _pec_block(data, 8) if data.startswith(b"#PEC0001") else "its header is missing"


def _pes(data: bytes) -> str:
    if not data.startswith(b"#PES") or not data[4:8].isdigit():
        return "its header is missing"
    return _pec_block(data, int.from_bytes(data[8:12], "little"))


def _jef(data: bytes) -> str:
    offset = int.from_bytes(data[0:4], "little")
    colours = int.from_bytes(data[24:28], "little")
    if len(data) < 0x74 or offset != 0x74 + 8 * colours or not 0 < colours < 1000:
        return "its header is missing"
    if len(data) < offset + 4 or not data.endswith(b"\x80\x10"):
        return "its end mark is missing"
    return ""


def _vp3(data: bytes) -> str:
    if not data.startswith(b"%vsm%\x00"):
        return "its header is missing"
    name = int.from_bytes(data[6:8], "big")
    at = 8 + name + 3
    length = int.from_bytes(data[at : at + 4], "big")
    return "it is cut short" if len(data) < at + 4 + length or length < 40 else ""


_CHECKS: Final[dict[str, Callable[[bytes], str]]] = {
    "dst": _dst,
    "exp": _exp,
    "jef": _jef,
    "pec": _pec,
    "pes": _pes,
    "vp3": _vp3,
}
