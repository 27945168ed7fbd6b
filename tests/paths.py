"""A shared cast of paths for rows: smooth, awkward and tiny ones."""

from __future__ import annotations

import numpy as np

from tests.shapes import ellipse


def polar(radius: np.ndarray) -> np.ndarray:
    """Return points round the origin at these distances, at equal angles."""
    turn = _turn(len(radius))
    return np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)


def star(points: int, outer: float, inner: float) -> np.ndarray:
    """Return a star of straight sides."""
    return polar(np.where(np.arange(2 * points) % 2 == 0, outer, inner))


def bezier(*controls: tuple[float, float], count: int = 150) -> np.ndarray:
    """Return points of one cubic, its end left out."""
    p0, p1, p2, p3 = (np.array(control) for control in controls)
    t = np.linspace(0.0, 1.0, count, endpoint=False)[:, None]
    s = 1.0 - t
    return np.asarray(s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3)


def _turn(count: int) -> np.ndarray:
    return np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)


def _cassini(size: float, waist: float) -> np.ndarray:
    """Return a Cassini oval: two lobes that all but touch where the waist is near 1."""
    double = 2.0 * _turn(3000)
    return polar(size * np.sqrt(np.cos(double) + np.sqrt(waist**4 - np.sin(double) ** 2)))


def _spiral(growth: float, start: float, end: float) -> np.ndarray:
    t = np.linspace(start, end, 4000)
    return growth * np.stack([t * np.cos(t), t * np.sin(t)], axis=1)


_T = _turn(2500)

SMOOTH_PATHS: dict[str, tuple[np.ndarray, bool]] = {
    "circle": (ellipse(40.0, 40.0, 3000), True),
    "ellipse": (ellipse(60.0, 24.0, 3000), True),
    "wave": (
        np.stack(
            [np.linspace(0.0, 90.0, 3000), 12.0 * np.sin(np.linspace(0.0, 9.0, 3000))], axis=1
        ),
        False,
    ),
    "flower": (polar(30.0 + 4.0 * np.cos(5.0 * _T)), True),
    "spiral": (_spiral(0.9, 2.0, 26.0), False),
    "straight": (np.array([[0.0, 0.0], [73.0, 31.0]]), False),
}

AWKWARD_PATHS: dict[str, tuple[np.ndarray, bool]] = {
    "star": (star(5, 40.0, 16.0), True),
    "blunt star": (star(7, 40.0, 24.0), True),
    "needle": (np.array([[0.0, 0.0], [60.0, 6.0], [0.0, 12.0]]), True),
    "heart": (
        np.concatenate(
            [
                bezier((0, -15), (-5, -35), (-40, -35), (-40, -5)),
                bezier((-40, -5), (-40, 15), (-10, 25), (0, 40)),
                bezier((0, 40), (10, 25), (40, 15), (40, -5)),
                bezier((40, -5), (40, -35), (5, -35), (0, -15)),
            ]
        ),
        True,
    ),
    "deltoid": (
        15.0 * np.stack([2 * np.cos(_T) + np.cos(2 * _T), 2 * np.sin(_T) - np.sin(2 * _T)], axis=1),
        True,
    ),
    "cardioid": (polar(14.0 * (1.0 + np.cos(_T))), True),
    "figure eight": (np.stack([40 * np.sin(_T), 20 * np.sin(2 * _T)], axis=1), True),
    "flat eight": (np.stack([40 * np.sin(_T), 8 * np.sin(2 * _T)], axis=1), True),
    "trefoil": (
        25.0
        * np.stack([np.sin(_T) + 1.2 * np.sin(2 * _T), np.cos(_T) - 1.2 * np.cos(2 * _T)], axis=1),
        True,
    ),
    "lobes": (_cassini(20.0, 1.0005), True),
    "tight spiral": (_spiral(0.5, 3.0, 30.0), False),
    "hairpin": (np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 1.5], [0.0, 1.5]]), False),
    "thin leaf": (
        np.concatenate(
            [
                bezier((0, 0), (15, -2.2), (35, -2.2), (50, 0)),
                bezier((50, 0), (35, 2.2), (15, 2.2), (0, 0)),
            ]
        ),
        True,
    ),
    "zigzag": (np.array([[4.0 * i, 9.0 * (i % 2)] for i in range(12)]), False),
    "traced disc": (np.round(ellipse(44.0, 38.0, 5000), 1), True),
    "there and back": (np.array([[0.0, 0.0], [30.0, 0.0], [0.0, 0.0]]), False),
    "rectangle": (np.array([[0.0, 0.0], [41.0, 0.0], [41.0, 23.0], [0.0, 23.0]]), True),
}

TINY_PATHS: dict[str, tuple[np.ndarray, bool]] = {
    "point": (np.array([[3.0, 4.0]]), False),
    "point, twice": (np.array([[3.0, 4.0], [3.0, 4.0]]), True),
    "speck": (np.array([[0.0, 0.0], [0.2, 0.1]]), False),
    "tiny ring": (ellipse(1.0, 1.0, 100), True),
    "ring for two": (ellipse(3.6, 3.6, 400), True),
    "ring for three": (ellipse(4.2, 4.2, 400), True),
    "short line": (np.array([[0.0, 0.0], [2.0, 0.0]]), False),
}

PATHS = {**SMOOTH_PATHS, **AWKWARD_PATHS, **TINY_PATHS}
