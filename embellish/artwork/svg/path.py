"""Path data (SVG 2, section 9.3) and point lists to Bézier chains."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Path
from embellish.artwork.svg.values import MAX_NUMBER, NUMBER, SEPARATOR
from embellish.errors import ArtworkError
from embellish.geometry.curves import endpoint_arc, line_segments

JOIN_SHARE: Final = 1e-4
"""Ends closer than this share of the path's extent are the same point: files round coordinates,
and a closing line of a few micrometres would make two corners where the drawing has none."""

MAX_SEGMENTS: Final = 300_000
"""Curve segments of a drawing, copies counted: a garment's outlines have a hundredth."""

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_NUMBER = re.compile(NUMBER)
_NEXT = re.compile(rf"{SEPARATOR}({NUMBER})")
# Possessive: a long run of numbers is gone through once, and never taken back.
_LIST = re.compile(rf"[ \t\r\n\f]*+(?:{NUMBER}(?:{SEPARATOR}{NUMBER})*+)?+[ \t\r\n\f]*+\Z")
_SPACE = " \t\r\n\f"
# Atomic groups: a number is never split to make up for a missing one.
_ARC = re.compile(
    rf"{SEPARATOR}((?>{NUMBER})){SEPARATOR}((?>{NUMBER})){SEPARATOR}((?>{NUMBER}))"
    rf"{SEPARATOR}([01]){SEPARATOR}([01]){SEPARATOR}((?>{NUMBER})){SEPARATOR}((?>{NUMBER}))"
)
_ARITY = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7}

Point = tuple[float, float]
Segment = Sequence[float]


class Lines(NamedTuple):
    """What an element draws.

    Parameters
    ----------
    paths
        Its lines, in user units.
    dots
        Places of subpaths without length: a stroke with round or square ends paints a dot there.
    sound
        Whether the data was well-formed to its end.
    """

    paths: tuple[Path, ...]
    dots: tuple[Point, ...] = ()
    sound: bool = True


@dataclass(eq=False)
class _Pen:
    """The state of a path being drawn."""

    done: list[tuple[list[Segment], bool, Point]] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    at: Point = (0.0, 0.0)
    start: Point = (0.0, 0.0)
    count: int = 0
    cubic: Point | None = None
    quadratic: Point | None = None

    def lift(self, *, closed: bool = False) -> None:
        """End the subpath."""
        self.count += len(self.segments)
        if self.segments or closed:
            self.done.append((self.segments, closed, self.start))
        self.segments = []

    def line(self, x: float, y: float) -> None:
        x0, y0 = self.at
        dx, dy = (x - x0) / 3.0, (y - y0) / 3.0
        self.segments.append((x0, y0, x0 + dx, y0 + dy, x - dx, y - dy, x, y))
        self.at = (x, y)

    def curve(self, first: Point, second: Point, end: Point) -> None:
        self.segments.append((*self.at, *first, *second, *end))
        self.cubic = second
        self.at = end

    def conic(self, qx: float, qy: float, x: float, y: float) -> None:
        x0, y0 = self.at
        third = 2.0 / 3.0
        self.segments.append(
            (
                x0,
                y0,
                x0 + third * (qx - x0),
                y0 + third * (qy - y0),
                x + third * (qx - x),
                y + third * (qy - y),
                x,
                y,
            )
        )
        self.quadratic = (qx, qy)
        self.at = (x, y)

    def arc(self, v: tuple[float, ...], x: float, y: float) -> None:
        large, clockwise = v[3] != 0.0, v[4] != 0.0
        cubics = endpoint_arc(self.at, (v[0], v[1]), v[2], (x, y), large=large, clockwise=clockwise)
        self.segments.extend(cubics.reshape(-1, 8).tolist())
        self.at = (x, y)

    def close(self) -> None:
        if self.at != self.start:
            self.line(*self.start)
        self.lift(closed=True)
        self.at = self.start


def path_data(text: str) -> Lines:
    """Return what a ``d`` attribute draws.

    Bad data is drawn up to the last good segment before the error, as the standard asks.
    """
    pen = _Pen()
    sound = True
    place = len(text) - len(text.lstrip(_SPACE))
    for index, match in enumerate(_COMMAND.finditer(text, place)):
        command, arguments = match[1], match[2]
        if match.start() != place or (index == 0 and command not in "Mm"):
            sound = False
            break
        place = match.end()
        sound = _draw(pen, command, arguments)
        if pen.count + len(pen.segments) > MAX_SEGMENTS:
            raise too_many_segments()
        if not sound:
            break
    else:
        sound = place == len(text)
    pen.lift()
    paths, dots = [], []
    for segments, closed, start in pen.done:
        path = _chain_few(segments, closed) if len(segments) <= _FEW else None
        path = path or chain(np.array(segments).reshape(-1, 4, 2), closed=closed)
        if path is None:
            dots.append(start)
        else:
            paths.append(path)
    return Lines(tuple(paths), tuple(dots), sound)


_FEW: Final = 40
"""So many segments are sooner looked through one by one than as an array."""


def _chain_few(segments: list[Segment], closed: bool) -> Path | None:
    """Return what `chain` does of a sound path: None where any segment has no length."""
    xs = [x for each in segments for x in each[::2]]
    ys = [y for each in segments for y in each[1::2]]
    if not segments:
        return None
    for k in range(0, len(xs), 4):
        same = xs[k] == xs[k + 1] == xs[k + 2] == xs[k + 3]
        if same and ys[k] == ys[k + 1] == ys[k + 2] == ys[k + 3]:
            return None
    near = JOIN_SHARE * max(max(xs) - min(xs), max(ys) - min(ys))
    last = max(max(xs[-4:]) - min(xs[-4:]), max(ys[-4:]) - min(ys[-4:]))
    gap = math.hypot(xs[0] - xs[-1], ys[0] - ys[-1])
    if (closed and last <= near) or 0.0 < gap <= near:
        return None
    return Path(np.array(segments).reshape(-1, 4, 2), closed or gap == 0.0)


def too_many_segments() -> ArtworkError:
    """Return the error for paths beyond ``MAX_SEGMENTS``."""
    return ArtworkError(
        f"it has more than {MAX_SEGMENTS:,} curve segments",
        mend="Simplify the paths in the drawing program.",
    )


def _draw(pen: _Pen, command: str, arguments: str) -> bool:
    """Draw one command with all its argument groups; return whether they were sound."""
    kind = command.lower()
    if kind == "z":
        pen.close()
        return not arguments.strip(_SPACE)
    groups, sound = _groups(kind, arguments)
    relative = command.islower()
    count = 0
    for v in groups:
        count += 1
        if max(v) > MAX_NUMBER or min(v) < -MAX_NUMBER:
            return False
        _draw_one(pen, "l" if kind == "m" and count > 1 else kind, v, relative)
    return sound and count > 0


def _draw_one(pen: _Pen, kind: str, v: tuple[float, ...], relative: bool) -> None:
    x0, y0 = pen.at if relative else (0.0, 0.0)
    cubic, quadratic = pen.cubic, pen.quadratic
    pen.cubic = pen.quadratic = None
    if kind == "m":
        pen.lift()
        pen.at = pen.start = (x0 + v[0], y0 + v[1])
    elif kind == "l":
        pen.line(x0 + v[0], y0 + v[1])
    elif kind == "h":
        pen.line(x0 + v[0], pen.at[1])
    elif kind == "v":
        pen.line(pen.at[0], y0 + v[0])
    elif kind == "c":
        pen.curve((x0 + v[0], y0 + v[1]), (x0 + v[2], y0 + v[3]), (x0 + v[4], y0 + v[5]))
    elif kind == "s":
        pen.curve(_mirrored(cubic, pen.at), (x0 + v[0], y0 + v[1]), (x0 + v[2], y0 + v[3]))
    elif kind == "q":
        pen.conic(x0 + v[0], y0 + v[1], x0 + v[2], y0 + v[3])
    elif kind == "t":
        pen.conic(*_mirrored(quadratic, pen.at), x0 + v[0], y0 + v[1])
    else:
        pen.arc(v, x0 + v[5], y0 + v[6])


def _mirrored(control: Point | None, at: Point) -> Point:
    return at if control is None else (2.0 * at[0] - control[0], 2.0 * at[1] - control[1])


def _groups(kind: str, arguments: str) -> tuple[Iterator[tuple[float, ...]], bool]:
    """Return the argument groups of a command, and whether nothing was left over."""
    if kind == "a":
        return _arc_groups(arguments)
    values, sound = _values(arguments)
    arity = _ARITY[kind]
    whole = len(values) - len(values) % arity
    groups = zip(*(values[i:whole:arity] for i in range(arity)), strict=True)
    return groups, sound and whole == len(values)


def _arc_groups(arguments: str) -> tuple[Iterator[tuple[float, ...]], bool]:
    groups: list[tuple[float, ...]] = []
    place = 0
    while match := _ARC.match(arguments, place):
        groups.append(tuple(map(float, match.groups())))
        place = match.end()
    sound = not arguments[place:].strip(_SPACE) and not arguments.lstrip(_SPACE).startswith(",")
    return iter(groups), sound


def _values(arguments: str) -> tuple[list[float], bool]:
    """Return the numbers up to the first thing that is none, and whether all were."""
    plain = _plain_values(arguments)
    if plain is not None:
        return plain, True
    if _LIST.match(arguments):
        return [float(item) for item in _NUMBER.findall(arguments)], True
    if arguments.lstrip(_SPACE).startswith(","):
        return [], False
    values, place = [], 0
    while match := _NEXT.match(arguments, place):
        values.append(float(match[1]))
        place = match.end()
    return values, False


def _plain_values(arguments: str) -> list[float] | None:
    """Return numbers that are written apart, as most are, or None where they are not."""
    if not arguments.isascii() or "_" in arguments:
        return None
    parts = arguments.split(",")
    # Between two commas, and before the first, there is a number.
    if len(parts) > 1 and not all(map(str.strip, parts)):
        return None
    try:
        values = [float(word) for word in " ".join(parts).split()]
    except ValueError:
        return None
    # What Python reads as numbers beside these, infinity and no number, is a mistake here.
    return values if all(map(math.isfinite, values)) else None


def point_list(text: str, *, closed: bool) -> Lines:
    """Return what a ``points`` attribute draws.

    Bad data is drawn up to the last good pair before the error.
    """
    values, sound = _values(text)
    sane = next((i for i, value in enumerate(values) if abs(value) > MAX_NUMBER), len(values))
    whole = sane - sane % 2
    points = np.array(values[:whole]).reshape(-1, 2)
    return polyline(points, closed=closed)._replace(sound=sound and whole == len(values))


def polyline(points: Floats, *, closed: bool) -> Lines:
    """Return the line through points of shape (n, 2)."""
    if len(points) < 2:
        return Lines(())
    if closed and not np.array_equal(points[0], points[-1]):
        points = np.concatenate([points, points[:1]])
    path = chain(line_segments(points), closed=closed)
    x, y = points[0].tolist()
    return Lines((), ((x, y),)) if path is None else Lines((path,))


def chain(segments: Floats, *, closed: bool) -> Path | None:
    """Return a path of segments (n, 4, 2), or None where it has no length.

    Segments without length are dropped. Ends within ``JOIN_SHARE`` of the extent are joined: the
    last end moves onto the start, and the path is closed.
    """
    moves = (segments != segments[:, :1]).any(axis=(1, 2))
    segments = segments[moves]
    if not len(segments):
        return None
    points = segments.reshape(-1, 2)
    extent = float((points.max(axis=0) - points.min(axis=0)).max())
    near = JOIN_SHARE * extent
    if closed and len(segments) > 1 and _is_short(segments[-1], near):
        segments = segments[:-1]
    gap = segments[0, 0] - segments[-1, 3]
    if math.hypot(*gap.tolist()) <= near:
        segments = segments.copy()
        # The end moves by a few micrometres; its control goes with it, so that the tangent stays.
        segments[-1, 2:] += gap
        segments[-1, 3] = segments[0, 0]
        closed = True
    return Path(segments, closed)


def _is_short(segment: Floats, near: float) -> bool:
    return bool((segment.max(axis=0) - segment.min(axis=0)).max() <= near)
