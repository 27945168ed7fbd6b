"""How different two colours look: CIEDE2000, from screen colours by way of CIELAB.

Sharma, Wu & Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary
test data, and mathematical observations", Color Research & Application 30(1), 2005, 21-30; sRGB by
IEC 61966-2-1, white D65. A screen colour stands for a piece only roughly: a sample card decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from embellish.arrays import Floats

_TO_XYZ: Final = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
_WHITE: Final = np.array([0.95047, 1.0, 1.08883])
_FAR: Final = 25.0**7


def lab_of_hex(colours: Sequence[str]) -> Floats:
    """Return CIELAB coordinates of screen colours ``#rrggbb``, shape (n, 3)."""
    return lab_of_linear(linear_of_hex(colours))


def linear_of_hex(colours: Sequence[str]) -> Floats:
    """Return amounts of light (linear sRGB) of screen colours ``#rrggbb``, shape (n, 3)."""
    rgb = np.array([tuple(bytes.fromhex(each[1:])) for each in colours], dtype=np.float64)
    return linear_of(rgb.reshape(-1, 3) / 255.0)


def linear_of(rgb: Floats) -> Floats:
    """Return amounts of light from sRGB values of 0 to 1."""
    linear: Floats = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return linear


def lab_of_linear(linear: Floats) -> Floats:
    """Return CIELAB coordinates of amounts of light (linear sRGB), both of shape (n, 3)."""
    xyz = linear @ _TO_XYZ.T / _WHITE
    f = np.where(xyz > (6.0 / 29.0) ** 3, np.cbrt(xyz), xyz * (29.0 / 6.0) ** 2 / 3.0 + 4.0 / 29.0)
    x, y, z = f.T
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=1)


def delta_e(one: Floats, other: Floats) -> Floats:
    """Return the CIEDE2000 difference of CIELAB colours.

    Parameters
    ----------
    one, other : arrays of shape (..., 3)
        L*, a*, b*; they are broadcast against each other.

    Returns
    -------
    array of shape (...)
        0 for alike; about 1 is just seen side by side.
    """
    one, other = np.broadcast_arrays(one, other)
    (l1, a1, b1), (l2, a2, b2) = np.moveaxis(one, -1, 0), np.moveaxis(other, -1, 0)
    mean7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2.0) ** 7
    stretch = 1.0 + 0.5 * (1.0 - np.sqrt(mean7 / (mean7 + _FAR)))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = (np.mod(np.degrees(np.arctan2(b, a)), 360.0) for b, a in ((b1, a1), (b2, a2)))
    grey = c1 * c2 == 0.0
    turn = h2 - h1
    turn = np.where(turn > 180.0, turn - 360.0, np.where(turn < -180.0, turn + 360.0, turn))
    turn = np.where(grey, 0.0, turn)
    light, chroma = l2 - l1, c2 - c1
    hue = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2.0)
    l_mean, c_mean = (l1 + l2) / 2.0, (c1 + c2) / 2.0
    far = np.abs(h1 - h2) > 180.0
    h_mean = (h1 + h2 + np.where(far, np.where(h1 + h2 < 360.0, 360.0, -360.0), 0.0)) / 2.0
    h_mean = np.where(grey, h1 + h2, h_mean)
    t = (
        1.0
        - 0.17 * np.cos(np.radians(h_mean - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * h_mean))
        + 0.32 * np.cos(np.radians(3.0 * h_mean + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * h_mean - 63.0))
    )
    from50 = (l_mean - 50.0) ** 2
    s_light = 1.0 + 0.015 * from50 / np.sqrt(20.0 + from50)
    s_chroma, s_hue = 1.0 + 0.045 * c_mean, 1.0 + 0.015 * c_mean * t
    mean7 = c_mean**7
    turned = 30.0 * np.exp(-(((h_mean - 275.0) / 25.0) ** 2))
    twist = -2.0 * np.sqrt(mean7 / (mean7 + _FAR)) * np.sin(np.radians(2.0 * turned))
    light, chroma, hue = light / s_light, chroma / s_chroma, hue / s_hue
    difference: Floats = np.sqrt(light**2 + chroma**2 + hue**2 + twist * chroma * hue)
    return difference
