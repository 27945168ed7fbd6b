"""A drawing: recorded once in millimetres, y down, and replayed to each format.

Items know nothing of formats; formats know nothing of pieces. A drawing is also what tests look
at: it is a plain value.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from embellish.arrays import Floats, Ints
from embellish.geometry.outlines import Outline


@dataclass(frozen=True, slots=True)
class Style:
    """How an item is painted: colours as '#rrggbb', widths in mm; None paints nothing."""

    fill: str | None = None
    stroke: str | None = None
    stroke_width_mm: float = 0.2
    dash_mm: tuple[float, ...] = ()
    opacity: float = 1.0


@dataclass(frozen=True, eq=False, slots=True)
class Circles:
    """Circles of one style: centres of shape (n, 2), radii of shape (n,)."""

    xy: Floats
    radius_mm: Floats
    style: Style


@dataclass(frozen=True, eq=False, slots=True)
class Chains:
    """Closed arc-and-line outlines of one style, already in their places."""

    outlines: tuple[Outline, ...]
    style: Style


@dataclass(frozen=True, eq=False, slots=True)
class Lines:
    """Straight-edged lines of one style, each of shape (n, 2), open or all closed."""

    lines: tuple[Floats, ...]
    style: Style
    closed: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class Curves:
    """One compound shape of cubic Bézier chains, each of shape (n, 4, 2)."""

    chains: tuple[Floats, ...]
    style: Style
    closed: bool = True
    fill_rule: Literal["nonzero", "evenodd"] = "nonzero"


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text; (x, y) is its anchor on the baseline, height is that of its capitals."""

    x_mm: float
    y_mm: float
    text: str
    height_mm: float = 2.5
    anchor: Literal["start", "middle", "end"] = "start"
    angle_deg: float = 0.0
    colour: str = "#000000"
    bold: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class Picture:
    """A PNG or JPEG placed in a rectangle."""

    image: bytes
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    opacity: float = 1.0


@dataclass(frozen=True, eq=False, slots=True)
class Instances:
    """One small picture (about its own origin) repeated at many places and turns."""

    name: str
    """Unique in the drawing; an XML name."""
    items: tuple[Circles | Chains | Lines, ...]
    xy: Floats
    angle_deg: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Stamps:
    """Several small pictures repeated in one order of painting, where pieces lap over each other.

    Parameters
    ----------
    name
        Unique in the drawing; an XML name. Picture k is called ``name-k``.
    pictures
        Each about its own origin.
    which : array of shape (n,)
        Index of the picture at each place.
    xy, angle_deg : arrays of shape (n, 2) and (n,)
        Places and turns.
    """

    name: str
    pictures: tuple[tuple[Circles | Chains | Lines, ...], ...]
    which: Ints
    xy: Floats
    angle_deg: Floats


Item: TypeAlias = Circles | Chains | Lines | Curves | Words | Picture | Instances | Stamps


@dataclass(frozen=True, eq=False, slots=True)
class Layer:
    """Items under one id, painted in order."""

    id: str
    items: tuple[Item, ...] = ()


@dataclass(frozen=True, eq=False, slots=True)
class Drawing:
    """A page of width × height mm, origin top left, layers painted in order."""

    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    title: str = ""
    description: str = ""
    background: str | None = field(default=None)
