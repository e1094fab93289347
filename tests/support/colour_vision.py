"""Colours as people without red or green cones see them, and how far apart they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

NORMAL = np.eye(3)
PROTANOPIA = np.array(
    [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ]
)
DEUTERANOPIA = np.array(
    [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ]
)
"""Severity 1 on linear RGB: Machado, G.M., Oliveira, M.M. and Fernandes, L.A.F., A
physiologically-based model for simulation of color vision deficiency, IEEE Transactions
on Visualization and Computer Graphics 15(6), 2009, table 1 (from memory)."""

EYES = {"normal": NORMAL, "protanopia": PROTANOPIA, "deuteranopia": DEUTERANOPIA}
"""Ways of seeing, to the matrix on linear RGB."""

XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
"""Linear sRGB to XYZ, IEC 61966-2-1, white D65 (from memory)."""


def linear(colour: str) -> Floats:
    """
    Read a colour such as "#0072b2" as linear RGB from 0 to 1.

    >>> linear("#ffffff").tolist(), linear("#000").tolist()
    ([1.0, 1.0, 1.0], [0.0, 0.0, 0.0])
    """
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    value = np.array([int(digits[k : k + 2], 16) for k in (0, 2, 4)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(colour: str, eyes: str = "normal") -> Floats:
    """
    CIE L*, a*, b* (D65) of a colour as these eyes see it.

    >>> [float(value) for value in lab("#000000").round(2)]
    [0.0, 0.0, 0.0]
    """
    seen = np.clip(EYES[eyes] @ linear(colour), 0, 1)
    ratio = XYZ @ seen / XYZ.sum(axis=1)
    root = np.where(
        ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29
    )
    x, y, z = root
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def ciede2000(one: ArrayLike, other: ArrayLike) -> float:
    """
    Difference of two colours in CIE L*, a*, b* by CIEDE2000, all weights 1.

    Sharma, G., Wu, W. and Dalal, E.N., The CIEDE2000 color-difference formula, Color
    Research and Application 30(1), 2005, equations 2 to 22.

    >>> round(ciede2000([50, 2.5, 0], [50, 0, -2.5]), 4)
    4.3065
    """
    (l1, a1, b1), (l2, a2, b2) = np.asarray(one, float), np.asarray(other, float)
    mean = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    lift = 1.5 - 0.5 * np.sqrt(mean**7 / (mean**7 + 25.0**7))
    a1, a2 = a1 * lift, a2 * lift
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = (np.degrees(np.arctan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    turn, middle = h2 - h1, (h1 + h2) / 2
    if c1 * c2 == 0:
        turn, middle = 0.0, h1 + h2
    elif abs(turn) > 180:
        turn -= np.copysign(360, turn)
        middle += 180 if h1 + h2 < 360 else -180
    dl, dc = l2 - l1, c2 - c1
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))
    cm, off = (c1 + c2) / 2, ((l1 + l2) / 2 - 50) ** 2
    waves = ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63))
    t = 1 + sum(k * np.cos(np.radians(n * middle + shift)) for k, n, shift in waves)
    sl = 1 + 0.015 * off / np.sqrt(20 + off)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rotate = -2 * np.sqrt(cm**7 / (cm**7 + 25.0**7))
    rotate *= np.sin(np.radians(60 * np.exp(-(((middle - 275) / 25) ** 2))))
    parts = (dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2
    return float(np.sqrt(parts + rotate * dc / sc * dh / sh))


def apart(one: str, other: str, eyes: str = "normal") -> float:
    """
    CIEDE2000 between two colours, as these eyes see them.

    Around 2 is just seen side by side; 10 and more tells two lines apart (judgement).

    >>> apart("#c04000", "#708000") > 40, apart("#c04000", "#708000", "deuteranopia") < 20
    (True, True)
    """
    return ciede2000(lab(one, eyes), lab(other, eyes))


def least_apart(colours: list[str], eyes: str = "normal") -> tuple[float, str, str]:
    """Nearest two of some colours, as these eyes see them: difference, one, other."""
    return min(
        (apart(a, b, eyes), a, b)
        for n, a in enumerate(colours)
        for b in colours[n + 1 :]
    )
