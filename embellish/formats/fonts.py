"""Font files: shaped by HarfBuzz, letter by letter, as outlines in millimetres.

Needs the extra ``lettering``. A font is data of the maker's: none is carried with this program.
"""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

import numpy as np

from embellish.arrays import Floats
from embellish.errors import ArtworkError
from embellish.findings import Finding
from embellish.formats.extras import extra
from embellish.formats.fonts_runs import runs_of

MAX_FONT_BYTES: Final = 64 * 1024 * 1024
_ENDINGS: Final = ".ttf, .otf, .woff or .woff2"
_RESTRICTED, _PRINT_ONLY, _BITMAPS_ONLY = 0x0002, 0x0004, 0x0200
"""Bits of fsType (OpenType, table OS/2)."""


@dataclass(frozen=True, eq=False)
class Glyph:
    """One cluster of a shaped line: a letter with its accents, or a ligature.

    Parameters
    ----------
    chains
        Closed lines (open ones of single-line letters), each (n, 4, 2) in mm, y down, the pen
        at the origin of the baseline.
    advance_mm
        How far the pen goes on.
    text
        The letters it stands for.
    first
        Index of the first of them in the line as it is written.
    """

    chains: tuple[Floats, ...]
    advance_mm: float
    text: str
    first: int
    missing: bool = False


class Font(Protocol):
    """What sets letters: a font file, or single-line letters."""

    @property
    def name(self) -> str:
        """Its name for messages."""

    @property
    def closed(self) -> bool:
        """Whether its letters are outlines."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was noticed when it was read."""

    def shaped(
        self,
        line: str,
        cap_height_mm: float,
        *,
        kerning: bool = True,
        ligatures: bool = True,
        features: tuple[str, ...] = (),
    ) -> list[Glyph]:
        """Return the clusters of one line, from left to right as seen."""


@dataclass(frozen=True, eq=False)
class FontFile:
    """A font that was read.

    ``cap_height`` is a share of the em, as measured on its H (else as the font says).
    """

    name: str
    harfbuzz: Any
    em: int
    cap_height: float
    findings: tuple[Finding, ...] = ()
    closed: bool = True
    _outlines: dict[int, tuple[Floats, ...]] = field(default_factory=dict)

    def shaped(
        self,
        line: str,
        cap_height_mm: float,
        *,
        kerning: bool = True,
        ligatures: bool = True,
        features: tuple[str, ...] = (),
    ) -> list[Glyph]:
        """Return the clusters of one line, from left to right as seen.

        Each run of one direction and script is shaped by itself.
        """
        hb = extra("uharfbuzz")
        asked: dict[str, bool] = dict.fromkeys(features, True)
        if not kerning:
            asked["kern"] = False
        if not ligatures:
            asked |= {"liga": False, "clig": False, "dlig": False}
        scale = cap_height_mm / (self.cap_height * self.em)
        found: list[Glyph] = []
        for run in runs_of(line):
            buffer = hb.Buffer()
            # Clusters of whole graphemes: an accent belongs to its letter.
            buffer.add_str(line, run.start, run.stop - run.start)
            buffer.guess_segment_properties()
            buffer.direction = "rtl" if run.leftward else "ltr"
            hb.shape(self.harfbuzz, buffer, asked)
            found += self._clusters(buffer, line, run.stop, scale)
        return found

    def _clusters(self, buffer: Any, line: str, stop: int, scale: float) -> list[Glyph]:
        infos, places = buffer.glyph_infos, buffer.glyph_positions or []
        starts = sorted({info.cluster for info in infos})
        ends = dict(zip(starts, [*starts[1:], stop], strict=True))
        found: list[Glyph] = []
        at = 0
        while at < len(infos):
            first = infos[at].cluster
            chains: list[Floats] = []
            pen, missing = 0.0, False
            while at < len(infos) and infos[at].cluster == first:
                info, place = infos[at], places[at]
                text = line[first : ends[first]]
                missing |= info.codepoint == 0 and not text.isspace()
                if info.codepoint != 0:
                    move = np.array([pen + place.x_offset, -place.y_offset])
                    chains += [
                        (chain + move) * scale for chain in self._glyph_outline(info.codepoint)
                    ]
                pen += place.x_advance
                at += 1
            found.append(
                Glyph(tuple(chains), pen * scale, line[first : ends[first]], first, missing)
            )
        return found

    def _glyph_outline(self, glyph: int) -> tuple[Floats, ...]:
        if glyph not in self._outlines:
            self._outlines[glyph] = _outline(self.harfbuzz, glyph)
        return self._outlines[glyph]


def read_font(data: bytes, name: str) -> FontFile:
    """Read a font file (TrueType or OpenType, plain or as WOFF).

    Raises
    ------
    ArtworkError
        Where it is none, is damaged, or has no outlines.
    """
    hb = extra("uharfbuzz")
    library = extra("fontTools.ttLib")
    if len(data) > MAX_FONT_BYTES or _unpacked_size(data) > MAX_FONT_BYTES:
        raise ArtworkError("this font is larger than 64 MB", file=name, mend="Use another font.")
    if data[:4] not in _KINDS:
        raise ArtworkError("this is no font file", file=name, mend=f"Name a file {_ENDINGS}.")
    try:
        number = 0 if data[:4] == b"ttcf" else -1
        font = library.TTFont(io.BytesIO(data), fontNumber=number)
        if font.flavor is not None:
            font.flavor = None
            plain = io.BytesIO()
            font.save(plain, reorderTables=None)
            data = plain.getvalue()
            font = library.TTFont(io.BytesIO(data))
        em = int(font["head"].unitsPerEm)
        tables = set(font.keys())
        os2 = font["OS/2"] if "OS/2" in tables else None
        named = font["name"].getDebugName(4) if "name" in tables else None
    except ImportError as wrong:
        raise ArtworkError(
            "a font packed as WOFF2 needs the library brotli, which is not installed",
            file=name,
            mend="Install it with pip install brotli, or use the font as .ttf, .otf or .woff.",
        ) from wrong
    except Exception as wrong:  # a damaged font fails in the library's every way
        raise ArtworkError(
            "this font is damaged and cannot be read",
            file=name,
            mend="Get the file again from where it came.",
        ) from wrong
    if not tables & {"glyf", "CFF ", "CFF2"} or em <= 0:
        raise ArtworkError(
            "this font holds pictures of letters, no outlines", file=name, mend="Use another font."
        )
    shaper = hb.Font(hb.Face(hb.Blob(data)))
    height = _cap_height(shaper, os2, em)
    findings = list(_limits(os2, name, str(named or name)))
    if height is None:
        height = 0.7
        findings.append(
            Finding(
                "cap-height-guessed",
                "note",
                f"{name} has no capital H and does not say how high its capitals are:"
                " 0.7 of the em is taken",
                mend="Measure a letter on the proof, and set cap_height_mm by it.",
            )
        )
    return FontFile(name, shaper, em, height, tuple(findings))


_KINDS: Final = frozenset(
    {b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf", b"wOFF", b"wOF2"},
)


def _unpacked_size(data: bytes) -> int:
    """Return what a packed font says it unpacks to."""
    if data[:4] in (b"wOFF", b"wOF2") and len(data) >= 20:
        return int(struct.unpack(">I", data[16:20])[0])
    return 0


def _cap_height(shaper: Any, os2: Any, em: int) -> float | None:
    glyph = shaper.get_nominal_glyph(ord("H"))
    if glyph:
        extents = shaper.get_glyph_extents(glyph)
        if extents is not None and extents.y_bearing > 0:
            return float(extents.y_bearing) / em
    said = getattr(os2, "sCapHeight", 0) or 0
    return said / em if said > 0 else None


def _limits(os2: Any, name: str, named: str) -> list[Finding]:
    """Return what the font's maker limits, by the flags of the font."""
    bits = int(getattr(os2, "fsType", 0) or 0)
    if bits & _RESTRICTED:
        return [
            Finding(
                "font-restricted",
                "warning",
                f"{name} ({named}) says that it may not be embedded in files that are passed on",
                mend="Read its licence before you sell work made with it or send a bundle.",
            )
        ]
    told = []
    if bits & _PRINT_ONLY:
        told.append("it may be embedded for viewing and printing only")
    if bits & _BITMAPS_ONLY:
        told.append("only pictures of its letters may be embedded")
    return [
        Finding(
            "font-limited",
            "note",
            f"{name} ({named}) says: {words}",
            mend="Read its licence before you pass on its letters as outlines.",
        )
        for words in told
    ]


def _outline(shaper: Any, glyph: int) -> tuple[Floats, ...]:
    """Return a glyph's closed lines in font units, y down."""
    pen = _Pen()
    shaper.draw_glyph_with_pen(glyph, pen)
    return tuple(pen.chains)


class _Pen:
    """Records outlines as chains of cubics: quadratics are raised, which is exact."""

    def __init__(self) -> None:
        self.chains: list[Floats] = []
        self._points: list[list[tuple[float, float]]] = []
        self._start = self._here = (0.0, 0.0)

    def moveTo(self, to: tuple[float, float]) -> None:  # noqa: N802 - the library's name
        self._points = []
        self._start = self._here = to

    def lineTo(self, to: tuple[float, float]) -> None:  # noqa: N802
        if to != self._here:
            a, b = np.array(self._here, dtype=float), np.array(to, dtype=float)
            third = (b - a) / 3.0
            self._add(tuple(a + third), tuple(b - third), to)

    def qCurveTo(self, control: tuple[float, float], to: tuple[float, float]) -> None:  # noqa: N802
        a, q, b = (np.array(p, dtype=float) for p in (self._here, control, to))
        self._add(tuple(a + (q - a) * (2 / 3)), tuple(b + (q - b) * (2 / 3)), to)

    def curveTo(  # noqa: N802
        self, one: tuple[float, float], two: tuple[float, float], to: tuple[float, float]
    ) -> None:
        self._add(one, two, to)

    def closePath(self) -> None:  # noqa: N802
        self.lineTo(self._start)
        if self._points:
            self.chains.append(np.array(self._points, dtype=np.float64) * (1.0, -1.0))
        self._points = []

    endPath = closePath  # noqa: N815

    def _add(self, one: Any, two: Any, to: tuple[float, float]) -> None:
        self._points.append([self._here, one, two, to])
        self._here = to
