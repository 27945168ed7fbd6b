"""Cubic Bézier chains: arcs, bounds, lengths, flattening to a tolerance in millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from embellish.arrays import Floats, Ints, frozen, frozen_ints

ARC_STEP_RAD = math.pi / 8.0
"""Widest sweep of one cubic of an arc. The radial error of a cubic of sweep s is
(2/27) sin⁶(s/4) / cos²(s/4) of the radius: 6.6e-8 here."""

_LENGTH_TOLERANCE = 1e-10
_LENGTH_HALVINGS = 60
_GAUSS_T, _GAUSS_W = np.polynomial.legendre.leggauss(16)


def line_segments(points: Floats) -> Floats:
    """Return the cubic segments (n - 1, 4, 2) of a polyline of shape (n, 2), controls at thirds."""
    start, end = points[:-1], points[1:]
    step = (end - start) / 3.0
    return np.stack([start, start + step, end - step, end], axis=1)


def quadratic_segments(segments: Floats) -> Floats:
    """Return the same curves as cubics: (n, 3, 2) -> (n, 4, 2)."""
    p0, q, p3 = (segments[:, i] for i in range(3))
    return np.stack([p0, p0 + (q - p0) * (2.0 / 3.0), p3 + (q - p3) * (2.0 / 3.0), p3], axis=1)


def ellipse_arc(
    centre: tuple[float, float],
    radii: tuple[float, float],
    turn_deg: float,
    start_rad: float,
    sweep_rad: float,
) -> Floats:
    """Return cubics of shape (n, 4, 2) along an elliptical arc.

    Parameters
    ----------
    centre, radii
        Of the ellipse.
    turn_deg
        Of the ellipse's x axis, clockwise as seen.
    start_rad, sweep_rad
        Eccentric angles; a positive sweep runs clockwise as seen.
    """
    count = max(1, math.ceil(abs(sweep_rad) / ARC_STEP_RAD - 1e-9))
    angles = start_rad + sweep_rad * np.arange(count + 1) / count
    on = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    # Quarter points are exact, so that circles have exact bounds.
    on[np.abs(on) < 1e-15] = 0.0
    along = np.stack([-on[:, 1], on[:, 0]], axis=1)
    # Bulge 4/3 tan(s/4) makes the cubic touch the arc at both ends and at its middle.
    reach = 4.0 / 3.0 * math.tan(sweep_rad / count / 4.0)
    unit = np.stack(
        [on[:-1], on[:-1] + reach * along[:-1], on[1:] - reach * along[1:], on[1:]], axis=1
    )
    x, y = unit[..., 0] * radii[0], unit[..., 1] * radii[1]
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return np.stack([centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y], axis=-1)


def endpoint_arc(
    start: tuple[float, float],
    radii: tuple[float, float],
    turn_deg: float,
    end: tuple[float, float],
    *,
    large: bool,
    clockwise: bool,
) -> Floats:
    """Return cubics of shape (n, 4, 2) along an arc given by its ends (SVG 2, appendix B.2).

    Equal ends give no segment, a zero radius a straight one, radii too small are grown.
    """
    if start == end:
        return np.zeros((0, 4, 2))
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0:
        return line_segments(np.array([start, end]))
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    hx, hy = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    # The chord's half, in the frame where the ellipse is the unit circle.
    ux, uy = (cos * hx + sin * hy) / rx, (cos * hy - sin * hx) / ry
    half = math.hypot(ux, uy)
    if half > 1.0:
        rx, ry, ux, uy, half = rx * half, ry * half, ux / half, uy / half, 1.0
    rise = math.sqrt(max(0.0, 1.0 - half * half)) / half
    if large == clockwise:
        rise = -rise
    cx, cy = rise * uy, -rise * ux
    first = math.atan2(uy - cy, ux - cx)
    sweep = math.atan2(-uy - cy, -ux - cx) - first
    if clockwise and sweep < 0.0:
        sweep += math.tau
    elif not clockwise and sweep > 0.0:
        sweep -= math.tau
    centre = (
        cos * cx * rx - sin * cy * ry + (start[0] + end[0]) / 2.0,
        sin * cx * rx + cos * cy * ry + (start[1] + end[1]) / 2.0,
    )
    segments = ellipse_arc(centre, (rx, ry), turn_deg, first, sweep)
    segments[0, 0], segments[-1, 3] = start, end
    return segments


def curve_points(segments: Floats, t: Floats) -> Floats:
    """Return the points of segments (n, 4, 2) at parameters t (n,) or (n, k): (..., 2)."""
    s = 1.0 - t
    weights = np.stack([s**3, 3.0 * s * s * t, 3.0 * s * t * t, t**3], axis=-1)
    how = "nj,njx->nx" if t.ndim == 1 else "nkj,njx->nkx"
    points: Floats = np.einsum(how, weights, segments)
    return points


def bezier_bounds(segments: Floats) -> tuple[float, float, float, float]:
    """Return the exact bounds (x0, y0, x1, y1) of cubic segments of shape (n, 4, 2)."""
    each = segment_bounds(segments)
    x0, y0 = each[:, :2].min(axis=0).tolist()
    x1, y1 = each[:, 2:].max(axis=0).tolist()
    return x0, y0, x1, y1


def segment_bounds(segments: Floats) -> Floats:
    """Return the exact bounds x0, y0, x1, y1 of each cubic segment (n, 4, 2), shape (n, 4)."""
    p0, p1, p2, p3 = (segments[:, i, :] for i in range(4))
    turns = _turns(segments)
    s = 1.0 - turns
    extremes = s**3 * p0 + 3 * s * s * turns * p1 + 3 * s * turns**2 * p2 + turns**3 * p3
    every = np.concatenate([extremes, p0[None], p3[None]])
    return np.concatenate([every.min(axis=0), every.max(axis=0)], axis=1)


def _turns(segments: Floats) -> Floats:
    """Return where x and y of each segment stop growing or shrinking: (2, n, 2), within 0 and 1."""
    p0, p1, p2, p3 = (segments[:, i, :] for i in range(4))
    # B'(t)/3 = a t² + 2 b t + c
    a = p3 - 3.0 * p2 + 3.0 * p1 - p0
    b = p2 - 2.0 * p1 + p0
    c = p1 - p0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        root = np.sqrt(b * b - a * c)
        # The stable pair of roots also serves a = 0 (one root is then infinite or nan).
        q = -(b + np.copysign(root, b))
        turns = np.stack([q / a, c / q])
    within: Floats = np.clip(np.nan_to_num(turns, nan=0.0, posinf=1.0, neginf=0.0), 0.0, 1.0)
    return within


def _gauss(speeds: Floats, t0: Floats, t1: Floats) -> Floats:
    """Arc length between t0 and t1 of curves whose hodograph is speeds (m, 3, 2)."""
    half = (t1 - t0) / 2.0
    t = (t0 + t1)[:, None] / 2.0 + half[:, None] * _GAUSS_T
    v0, v1, v2 = (speeds[:, i, :, None] for i in range(3))
    bend, slope = v0 - 2.0 * v1 + v2, 2.0 * (v1 - v0)
    vx, vy = ((bend[:, i] * t + slope[:, i]) * t + v0[:, i] for i in range(2))
    lengths: Floats = half * (np.sqrt(vx * vx + vy * vy) @ _GAUSS_W)
    return lengths


def _cut_at_turns(segments: Floats, hodograph: Floats, who: Ints) -> tuple[Ints, Floats, Floats]:
    """Return stretches of segments, as their numbers and parameters from and to."""
    speeds = hodograph[who]
    back = np.einsum("nix,njx->nij", speeds, speeds).min(axis=(1, 2)) < 0.0
    plain, turning = who[~back], who[back]
    inner = np.moveaxis(_turns(segments[turning]), 1, 0).reshape(len(turning), 4)
    ends = np.ones((len(turning), 1))
    cuts = np.sort(np.concatenate([0.0 * ends, inner, ends], axis=1), axis=1)
    t0, t1 = cuts[:, :-1].ravel(), cuts[:, 1:].ravel()
    some = t1 > t0
    return (
        np.concatenate([plain, np.repeat(turning, 5)[some]]),
        np.concatenate([np.zeros(len(plain)), t0[some]]),
        np.concatenate([np.ones(len(plain)), t1[some]]),
    )


def segment_lengths(segments: Floats) -> Floats:
    """Return the arc lengths (n,) of cubic segments (n, 4, 2), to 1e-9 of the control polygon.

    Gauss-Legendre with 16 nodes, halved where two halves disagree with the whole, so that cusps
    are met too. A curve that may turn back on itself is cut first where x or y turns: a turn right
    at its end would lie between the nodes of both halves.
    """
    lengths = np.zeros(len(segments))
    hodograph = 3.0 * np.diff(segments, axis=1)
    scale = np.hypot(hodograph[..., 0], hodograph[..., 1]).sum(axis=1)
    who, t0, t1 = _cut_at_turns(segments, hodograph, np.flatnonzero(scale > 0.0))
    whole = _gauss(hodograph[who], t0, t1)
    for _ in range(_LENGTH_HALVINGS):
        if not len(who):
            break
        middle = (t0 + t1) / 2.0
        left, right = _gauss(hodograph[who], t0, middle), _gauss(hodograph[who], middle, t1)
        rough = np.abs(left + right - whole) > _LENGTH_TOLERANCE * scale[who]
        np.add.at(lengths, who[~rough], (left + right)[~rough])
        who = np.repeat(who[rough], 2)
        t0, t1 = (
            np.stack([t0[rough], middle[rough]], axis=1).ravel(),
            np.stack([middle[rough], t1[rough]], axis=1).ravel(),
        )
        whole = np.stack([left[rough], right[rough]], axis=1).ravel()
    np.add.at(lengths, who, whole)
    return lengths


def chain_length(segments: Floats) -> float:
    """Return the arc length of all segments together."""
    return float(segment_lengths(segments).sum())


def chain_area(segments: Floats) -> float:
    """Return the signed area that a closed chain goes round, positive clockwise as seen.

    Exact for cubics (the integral of x dy - y dx over the Bernstein basis). A straight line from
    the last end back to the first start is taken along; loops that overlap count again.
    """
    if not len(segments):
        return 0.0
    return float(segment_areas(segments - segments[0, 0]).sum())


def segment_areas(segments: Floats) -> Floats:
    """Return the signed area (n,) between each cubic segment (n, 4, 2) and the origin.

    Those of a closed chain add up to what it goes round; exact for cubics.
    """
    p0, p1, p2, p3 = (segments[:, i] for i in range(4))

    def cross(u: Floats, v: Floats) -> Floats:
        return u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]

    twenty: Floats = (
        6.0 * cross(p0, p1)
        + 3.0 * cross(p0, p2)
        + cross(p0, p3)
        + 3.0 * cross(p1, p2)
        + 3.0 * cross(p1, p3)
        + 6.0 * cross(p2, p3)
    )
    return twenty / 20.0


@dataclass(frozen=True, eq=False)
class Flat:
    """A flattened chain.

    Parameters
    ----------
    points : array of shape (m, 2)
        Vertices on the curve, first start and last end among them.
    segment : array of shape (m,)
        The segment each vertex ends or lies in (the first vertex: 0).
    t : array of shape (m,)
        Its parameter in that segment.
    """

    points: Floats
    segment: Ints
    t: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        object.__setattr__(self, "segment", frozen_ints(self.segment))
        object.__setattr__(self, "t", frozen(self.t))


def flat_counts(segments: Floats, tolerance_mm: float | Floats) -> Ints:
    """Return into how many chords each segment is cut, shape (n,).

    Wang's bound (1984): chords of equal steps in t leave a cubic by at most
    (6/8) max|second difference| / count².
    """
    bend = segments[:, :-2] - 2.0 * segments[:, 1:-1] + segments[:, 2:]
    most = np.hypot(bend[..., 0], bend[..., 1]).max(axis=1)
    counts: Ints = np.maximum(np.ceil(np.sqrt(0.75 * most / tolerance_mm)), 1.0).astype(np.int64)
    return counts


def flatten(segments: Floats, tolerance_mm: float | Floats) -> Flat:
    """Flatten a chain (n, 4, 2), n >= 1, so that no curve leaves its chord by more than this.

    The tolerance may be one for all, or one a segment, shape (n,).
    """
    counts = flat_counts(segments, tolerance_mm)
    segment = np.repeat(np.arange(len(segments)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    t = (np.arange(len(segment)) - first + 1) / counts[segment]
    points = curve_points(segments[segment], t)
    ends = t == 1.0
    points[ends] = segments[segment[ends], 3]
    return Flat(
        np.concatenate([segments[:1, 0], points]),
        np.concatenate([[0], segment]),
        np.concatenate([[0.0], t]),
    )
