"""Axes of charts: round steps, room for names, greatest and least in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from maps.shared import amount

CHAR = 0.6
"""Mean width of a letter against the size of the type."""


def steps(top: float, most: int = 5) -> list[float]:
    """
    Round values for an axis from zero to just above the top.

    >>> steps(4_300)
    [0.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0]
    """
    if not top > 0 or not math.isfinite(top):
        return [0.0, 1.0]
    rough = top / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(k * power for k in (1, 2, 2.5, 5, 10) if k * power >= rough * 0.9999)
    last = math.ceil(top / step - 1e-9)
    return [step * k for k in range(last + 1)]


def extremes(values: Sequence[float], periods: Sequence[str], unit: str) -> str:
    """
    Say where a series is greatest and least.

    >>> extremes([1, 3], ["May", "June"], "t")
    'most in June (3 t), least in May (1 t)'
    """
    if not len(values) or max(values) <= 0:
        return "nothing in any period"
    high = max(range(len(values)), key=lambda k: values[k])
    low = min(range(len(values)), key=lambda k: values[k])
    return (
        f"most in {periods[high]} ({amount(values[high])} {unit}), "
        f"least in {periods[low]} ({amount(values[low])} {unit})"
    )


def every(labels: Sequence[str], slot: float, type_size: float) -> int:
    """
    Say which labels have room: every one, every second, ...

    >>> every(["Jan", "Feb"], 50, 12), every(["Jan", "Feb"], 20, 12)
    (1, 2)
    """
    longest = max((len(label) for label in labels), default=1)
    return max(1, math.ceil((longest + 1) * CHAR * type_size / slot))
