"""Windrows on a pad: how much room a pad gives."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.scenario import WindrowSettings

FILL_OF_BOX = {"parabola": 2 / 3, "triangle": 1 / 2, "semicircle": pi / 4}
"""Cross-section over base x height. A semicircle is half as high as its base is wide;
with another height it is taken as half an ellipse. [m2/m2]"""


def section_area(section: str, base_m: float, height_m: float) -> float:
    """
    Cross-section of a windrow [m2].

    Parameters
    ----------
    section
        "parabola", "triangle" or "semicircle".
    base_m, height_m
        Width of the base and height. [m]

    Examples
    --------
    >>> section_area("parabola", 3, 1.5)
    3.0
    """
    return FILL_OF_BOX[section] * base_m * height_m


def windrow_m3_per_m2(windrow: WindrowSettings) -> float:
    """
    Windrow volume on each square metre of the windrow zone [m3/m2].

    Parameters
    ----------
    windrow
        Settings: section, base_m, height_m, aisle_m. Each windrow has one aisle.
    """
    area = section_area(windrow.section, windrow.base_m, windrow.height_m)
    return float(area / (windrow.base_m + windrow.aisle_m))


def pad_m3(pad_m2: float, windrow: WindrowSettings) -> float:
    """
    Volume of active windrows that a working pad has room for [m3].

    Parameters
    ----------
    pad_m2
        Pad with receiving and curing. [m2]
    windrow
        Settings of the section, and reserve: pad for receiving and curing on top
        of the windrow zone. [m2/m2]
    """
    return float(pad_m2 / (1 + windrow.reserve) * windrow_m3_per_m2(windrow))
