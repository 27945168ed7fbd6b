"""How the pieces look on a proof: small painted pictures, lit from the upper left.

Each is built once for a piece and a direction of light, then set at every seat. The shading is
a picture of the trade's things, not optics: it should look right at arm's length.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.catalogue.piece import Piece
from embellish.outputs.colours import luminance, mix
from embellish.outputs.drawing.drawing import Circles, Lines, Style
from embellish.outputs.proof_forms import Form, Small

LIGHT_DEG: Final = 235.0
"""Direction towards the light, clockwise as seen from +x: upper left."""

_GLOW: Final = ("#ff9ad5", "#8fd0ff", "#a8ffc9", "#fff3a0")
"""Tints of pieces whose finish plays in colours."""

_PLAY: Final = frozenset({"ab", "aurora", "iridescent", "rainbow", "opal"})
_DULL: Final = frozenset({"matt", "matte", "frosted", "satin"})


def piece_picture(piece: Piece, angle_deg: float = 0.0, cloth: str = "#808080") -> Small:
    """Return the picture of a piece about its centre, in its own frame.

    Parameters
    ----------
    piece
        What to paint, at nominal size and in its own colour.
    angle_deg
        The turn it will be set at, so that light and shadow fall as on all others.
    cloth
        Colour of the cloth, seen through holes.
    """
    form = Form.of(piece)
    light = math.radians(LIGHT_DEG - angle_deg)
    towards = np.array([math.cos(light), math.sin(light)])
    paint = _Paint(piece, towards, cloth)
    lying = piece.kind == "bugle" or (
        piece.kind == "bead"
        and (piece.shape != "round" or any(hole.axis != "through" for hole in piece.holes))
    )
    if lying:
        form = _barrel_form(form)
    shadow = _shadow(form, towards, cloth, piece)
    match piece.kind:
        case "stone":
            body = _stone(form, paint)
        case "chain":
            body = _chain(form, paint)
        case "pearl":
            body = _dome(form, paint, _PEARL)
        case "stud":
            body = _dome(form, paint, _METAL) if piece.shape == "round" else _bevel(form, paint)
        case "sequin":
            body = _sequin(form, paint)
        case "bugle" | "bead" if lying:
            body = _tube(form, paint)
        case _:
            body = _dome(form, paint, _GLASS)
    return (*shadow, *body, *_holes(piece, paint))


class _Paint:
    """A piece's colour under the light."""

    def __init__(self, piece: Piece, towards: Floats, cloth: str) -> None:
        self.piece = piece
        self.base = piece.hex
        self.towards = towards
        self.cloth = cloth
        words = set(piece.finish.lower().replace("-", " ").split())
        self.plays = bool(words & _PLAY)
        self.dull = bool(words & _DULL)
        # A dark piece shows its shape by its lights alone, a pale one by its shades.
        self._lift = 0.45 + 0.4 * luminance(self.base) ** 0.5

    def at(self, brightness: float, tint: int | None = None) -> str:
        """Return the colour at a brightness from -1 (deep shade) over 0 to 1 (white light)."""
        if self.dull:
            brightness *= 0.55
        colour = self.base
        if tint is not None and self.plays:
            colour = mix(colour, _GLOW[tint % len(_GLOW)], 0.42)
        if brightness >= 0.0:
            return mix(colour, "#ffffff", min(1.0, brightness) * self._lift)
        # Shade keeps the hue: towards a deep tone of the piece itself, not to black.
        deep = mix(mix(self.base, "#000000", 0.78), "#1a1830", 0.25)
        return mix(colour, deep, min(1.0, -brightness))

    def fill(self, brightness: float, tint: int | None = None, opacity: float = 1.0) -> Style:
        return Style(fill=self.at(brightness, tint), opacity=opacity)


def _shadow(form: Form, towards: Floats, cloth: str, piece: Piece) -> Small:
    height = 0.35 if piece.kind == "sequin" else 1.0
    reach = form.size_mm * 0.16 * height
    dark = mix(cloth, "#000000", 0.75)
    dx, dy = (-towards * reach).tolist()
    return (
        form.painted(Style(fill=dark, opacity=0.2), dx=dx * 1.6, dy=dy * 1.6),
        form.painted(Style(fill=dark, opacity=0.35), dx=dx, dy=dy),
    )


def _stone(form: Form, paint: _Paint) -> Small:
    """Paint a flat-backed stone from above: a ring of crown facets about a table."""
    items: list[Circles | Lines] = [form.painted(paint.fill(-0.75))]
    outer, inner = form.corners * 0.97, form.corners * 0.58
    # A clear stone is mostly shades: its lights would drown in a colour that is pale already.
    dim = 0.4 * max(0.0, luminance(paint.base) - 0.4)
    count = len(outer)
    after = np.roll(np.arange(count), -1)
    for i, j in enumerate(after.tolist()):
        out = _outward(outer[i], outer[j])
        face = float(out @ paint.towards)
        # Neighbouring facets lean a little to either side, which makes them sparkle.
        sparkle = 0.2 if i % 2 else -0.16
        quad = np.array([outer[i], outer[j], inner[j], inner[i]])
        items.append(Lines((quad,), paint.fill(0.62 * face + sparkle - dim, i), closed=True))
    items.append(Lines((inner,), paint.fill(0.12 - dim), closed=True))
    middle = inner.mean(axis=0)
    for i in range(0, count, 2):
        a, b = inner[i], inner[(i + 2) % count]
        # Light that went in by the table comes back from the facets below, on the far side.
        face = float(_outward(a, b) @ paint.towards)
        beam = 0.2 if (i // 2) % 2 else -0.3
        wedge = np.array([middle, middle + (a - middle) * 0.92, middle + (b - middle) * 0.92])
        items.append(Lines((wedge,), paint.fill(-0.5 * face + beam - dim, i // 2 + 1), closed=True))
    items += _glints(form, paint, 0.34)
    return tuple(items)


def _glints(form: Form, paint: _Paint, out: float) -> list[Circles | Lines]:
    """Return the light's own reflection: a bright window and a small spark beside it."""
    if paint.dull:
        return []
    size, towards = form.size_mm, paint.towards
    across = np.array([-towards[1], towards[0]])
    place = towards * size * out
    window = np.array(
        [
            place + across * size * 0.26,
            place + towards * size * 0.13,
            place - across * size * 0.2,
            place - towards * size * 0.09,
        ]
    )
    spark = (-towards * 0.62 + across * 0.3) * size
    white = Style(fill="#ffffff", opacity=0.92)
    return [
        Lines((window,), white, closed=True),
        Circles(spark[None, :], np.array([size * 0.06]), Style(fill="#ffffff", opacity=0.7)),
    ]


def _outward(a: Floats, b: Floats) -> Floats:
    """Return the unit direction out of a ring that runs clockwise as seen."""
    along = b - a
    out = np.array([along[1], -along[0]])
    return out / max(float(np.hypot(*out)), 1e-12)


_PEARL: Final = (
    (1.0, -0.62, 0.0),
    (0.96, -0.4, 0.02),
    (0.9, -0.24, 0.05),
    (0.82, -0.08, 0.09),
    (0.73, 0.06, 0.14),
    (0.63, 0.2, 0.19),
    (0.52, 0.36, 0.24),
    (0.41, 0.54, 0.29),
    (0.3, 0.74, 0.33),
    (0.2, 0.95, 0.36),
)
"""Rings from the rim in: share of the size, brightness, way towards the light."""

_METAL: Final = (
    (1.0, -0.7, 0.0),
    (0.95, -0.2, 0.0),
    (0.9, 0.3, 0.02),
    (0.83, -0.05, 0.05),
    (0.74, -0.34, 0.09),
    (0.64, -0.12, 0.15),
    (0.54, 0.2, 0.21),
    (0.42, 0.5, 0.27),
    (0.3, 0.8, 0.32),
    (0.18, 1.0, 0.36),
)
"""As above with a bright bezel and a dark horizon, as polished metal mirrors a room."""

_GLASS: Final = (
    (1.0, -0.6, 0.0),
    (0.95, -0.32, 0.01),
    (0.86, -0.12, 0.03),
    (0.74, 0.04, 0.02),
    (0.6, 0.16, -0.06),
    (0.45, 0.28, -0.14),
)
"""As above, with light gathered on the far side, as in glass."""


def _dome(form: Form, paint: _Paint, rings: tuple[tuple[float, float, float], ...]) -> Small:
    items: list[Circles | Lines] = []
    # The rings are drawn half as many again, so that steps between them are not seen.
    fine = np.linspace(0.0, len(rings) - 1.0, len(rings) * 3 // 2)
    table = [np.interp(fine, np.arange(len(rings)), column) for column in zip(*rings, strict=True)]
    for share, brightness, way in np.stack(table, axis=1).tolist():
        dx, dy = (paint.towards * form.size_mm * way).tolist()
        items.append(form.painted(paint.fill(brightness), share=share, dx=dx, dy=dy))
    if rings is _GLASS:
        items += _glints(form, paint, 0.56)
    elif not paint.dull:
        dx, dy = (paint.towards * form.size_mm * 0.4).tolist()
        white = Style(fill="#ffffff", opacity=0.85)
        items.append(Circles(np.array([[dx, dy]]), np.array([form.size_mm * 0.1]), white))
    return tuple(items)


def _bevel(form: Form, paint: _Paint) -> Small:
    """Paint a metal stud with straight sides: bevels about a raised top, sheen in bands."""
    items: list[Circles | Lines] = [form.painted(paint.fill(-0.75))]
    ring, top = form.corners * 0.97, form.corners * 0.5
    after = np.roll(np.arange(len(ring)), -1)
    for i, j in enumerate(after.tolist()):
        face = float(_outward(ring[i], ring[j]) @ paint.towards)
        quad = np.array([ring[i], ring[j], top[j], top[i]])
        items.append(Lines((quad,), paint.fill(0.75 * face), closed=True))
    middle = top.mean(axis=0)
    for share, tone in ((1.0, -0.12), (0.8, 0.06), (0.58, 0.24), (0.36, 0.44)):
        move = paint.towards * form.size_mm * 0.14 * (1.0 - share)
        items.append(
            Lines((middle + (top - middle) * share + move,), paint.fill(tone), closed=True)
        )
    return tuple(items)


def _chain(form: Form, paint: _Paint) -> Small:
    """Paint a stone in a metal cup."""
    cup = form.painted(Style(fill="#8d8f96"))
    rim = form.painted(Style(fill="#d6d8de"), share=0.93)
    inside = Form(
        form.ring * 0.82,
        None if form.radius_mm is None else form.radius_mm * 0.82,
        form.size_mm * 0.82,
    )
    return (cup, rim, *_stone(inside, paint))


def _sequin(form: Form, paint: _Paint) -> Small:
    """Paint a thin shining disc: two fans of sheen across the light, a bright edge."""
    size, towards = form.size_mm, paint.towards
    items: list[Circles | Lines] = [
        form.painted(paint.fill(-0.55)),
        form.painted(paint.fill(-0.05), share=0.95),
    ]
    turn = math.atan2(towards[1], towards[0])
    reach = _reaches(form, 0.93)
    for axis, tone, widths in (
        (turn, 0.16, (0.75, 0.55)),
        (turn, 0.34, (0.5, 0.36)),
        (turn, 0.6, (0.26, 0.18)),
        (turn + math.pi / 2.0, -0.16, (0.42, 0.42)),
        (turn + math.pi / 2.0, -0.28, (0.2, 0.2)),
    ):
        for side, half in ((0.0, widths[0]), (math.pi, widths[1])):
            fan = _fan(reach, axis + side, half)
            tint = round(abs(tone) * 10)
            items.append(Lines((fan,), paint.fill(tone, tint), closed=True))
    edge = Style(stroke=paint.at(0.55), stroke_width_mm=size * 0.045, opacity=0.8)
    items.append(form.painted(edge, share=0.95))
    return tuple(items)


def _reaches(form: Form, share: float) -> Floats:
    """Return the form's ring as (direction, reach) rows sorted by direction."""
    if form.radius_mm is not None:
        turns = np.linspace(-math.pi, math.pi, 73)
        return np.stack([turns, np.full(73, form.radius_mm * share)], axis=1)
    turns = np.arctan2(form.ring[:, 1], form.ring[:, 0])
    order = np.argsort(turns, kind="stable")
    far = np.hypot(*form.ring.T) * share
    return np.stack([turns[order], far[order]], axis=1)


def _fan(reach: Floats, axis: float, half: float) -> Floats:
    turns = axis + half * np.linspace(-1.0, 1.0, 9)
    far = np.interp(turns, reach[:, 0], reach[:, 1], period=2.0 * math.pi)
    rim = far[:, None] * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return np.vstack([np.zeros((1, 2)), rim])


_TUBE: Final = (
    (-1.0, -0.72),
    (-0.84, -0.42),
    (-0.6, -0.18),
    (-0.3, 0.02),
    (0.06, 0.22),
    (0.34, 0.5),
    (0.5, 0.92),
    (0.64, 0.4),
    (0.78, 0.02),
    (0.9, -0.36),
    (1.0, -0.36),
)
"""Bands across a tube from its dark side to its lit one: where each begins, its brightness."""


def _barrel_form(form: Form) -> Form:
    """Return a lying bead's own look: a box with ends rounded off, seed beads nearly wholly."""
    low, high = form.ring.min(axis=0), form.ring.max(axis=0)
    half_length, half = (float(side) / 2.0 for side in high - low)
    return Form(_barrel(half_length, half, _round_off(half_length, half)), None, form.size_mm)


def _round_off(half_length: float, half: float) -> float:
    return min(half, half_length) * (0.92 if half_length < 1.3 * half else 0.2)


def _tube(form: Form, paint: _Paint) -> Small:
    """Paint a bead or bugle lying on the cloth, thread along its length."""
    half_length, half = np.abs(form.ring).max(axis=0).tolist()
    round_off = _round_off(half_length, half)
    # How much the light falls across the tube decides where its bright line lies.
    across = float(paint.towards[1])
    side = -1.0 if across < 0.0 else 1.0
    lit = 0.8 + 0.2 * abs(across)
    items: list[Circles | Lines] = [form.painted(paint.fill(-0.72))]
    for (begin, tone), (end, _) in pairwise(_TUBE):
        edges = (side * (-1.0 + (edge + 1.0) * lit) * half * 0.94 for edge in (begin, end))
        top, bottom = sorted(edges)
        band = _band(half_length * 0.97, half, round_off, top, bottom)
        items.append(Lines((band,), paint.fill(tone), closed=True))
    turns = np.linspace(0.0, 2.0 * math.pi, 17)[:-1]
    mouth = np.stack([np.cos(turns) * half * 0.08, np.sin(turns) * half * 0.4], axis=1)
    for end_side in (-1.0, 1.0):
        at = np.array([end_side * (half_length - half * 0.12), 0.0])
        items.append(Lines((mouth + at,), paint.fill(-0.95, opacity=0.6), closed=True))
    return tuple(items)


def _barrel(half_length: float, half: float, round_off: float) -> Floats:
    """Return a box with elliptic corners, shape (k, 2), clockwise as seen."""
    turns = np.linspace(0.0, math.pi / 2.0, 7)
    quarter = np.stack([np.cos(turns), np.sin(turns)], axis=1) * round_off
    core = np.array([half_length - round_off, half - round_off])
    one = core + quarter
    two = (one * np.array([-1.0, 1.0]))[::-1]
    return np.vstack([one, two, -one, -two])


def _band(half_length: float, half: float, round_off: float, top: float, bottom: float) -> Floats:
    """Return the strip of a barrel between two heights."""
    heights = np.linspace(top, bottom, 4)
    beyond = np.maximum(0.0, np.abs(heights) - (half - round_off)) / round_off
    reach = half_length - round_off * (1.0 - np.sqrt(np.maximum(0.0, 1.0 - beyond**2)))
    right = np.stack([reach, heights], axis=1)
    left = np.stack([-reach, heights], axis=1)[::-1]
    return np.vstack([right, left])


def _holes(piece: Piece, paint: _Paint) -> Small:
    """Thread holes seen from above; a sequin or bead without any has one in its middle."""
    through = [hole for hole in piece.holes if hole.axis == "through"]
    spots = [(hole.x_mm, hole.y_mm, hole.diameter_mm) for hole in through]
    if not piece.holes and piece.kind in ("sequin", "bead") and piece.shape == "round":
        spots = [(0.0, 0.0, piece.width_mm.nominal * (0.18 if piece.kind == "sequin" else 0.3))]
    items: list[Circles | Lines] = []
    for x, y, diameter in spots:
        place, radius = np.array([[x, y]]), diameter / 2.0
        rim = paint.towards * radius * 0.22
        items += [
            Circles(place - rim, np.array([radius * 1.18]), paint.fill(0.7)),
            Circles(place, np.array([radius * 1.05]), paint.fill(-0.8)),
            Circles(
                place - rim * 0.5,
                np.array([radius * 0.86]),
                Style(fill=mix(paint.cloth, "#000000", 0.35)),
            ),
        ]
    return tuple(items)
