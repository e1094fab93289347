"""
How far own trucks do the work of a yard, and what is hired beside them on busy days.

Work does not come in shifts: a day has a trip too many or too few, and a truck is out
for whole trips. So not all hours of the own trucks of a type at a yard serve what is
planned there. With D hours driven in a period and C of the own trucks, hired are::

    max(0, PART * (D - FREE * C), D - FULL * C)

which is convex, so that the programme needs no integers for it. The constants are
fitted on rounds driven for random districts (`tests/benchmarks/bench_haulage.py`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from logistics.model.problem.parts import Trucks


Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FREE = 0.72
"""Share of own hours up to which nothing is hired beside them. [1]"""
FULL = 0.90
"""Share of own hours that serves at most. [1]"""
PART = 0.45
"""Share of the hours beyond `FREE` that is hired, until `FULL` is reached. [1]"""
STEP = (FULL - PART * FREE) / (1 - PART) - FREE
"""Length of that second step, as a share of own hours. [1]"""


def steps(trucks: Trucks) -> tuple[Floats, Floats]:
    """
    Hours of one own truck that are free, and those of which a part is hired.

    A type of which little can be hired has one step: its loads wait for another day.

    Returns
    -------
    ndarray, ndarray
        Both of shape (v, t). [h]
    """
    one = trucks.hours_of_one
    ample = _ample(trucks)
    free = np.where(ample, FREE, FULL) * one
    return free, np.where(ample, STEP, 0.0) * one


def hired_beside(driven: Floats, own: Floats, trucks: Trucks) -> Floats:
    """
    Least hours hired for what is driven, shape (v, j, t). [h]

    Parameters
    ----------
    driven, own
        Hours driven, and hours of own trucks at home there, shape (v, j, t). [h]
    trucks
        The types.
    """
    ample = _ample(trucks)[:, None, :]
    part = np.where(ample, PART * (driven - FREE * own), 0.0)
    return np.maximum(0.0, np.maximum(part, driven - FULL * own))


def own_factor(driven: float, hired: float, own: float) -> float:
    """
    Factor on own hours with which as much is hired as was; 0 to 1.25. [1]

    Examples
    --------
    >>> round(own_factor(100.0, 0.45 * 28, 100.0), 6)
    1.0
    >>> round(own_factor(200.0, 110.0, 100.0), 6)
    1.0
    """
    found = max((driven - hired / PART) / FREE, (driven - hired) / FULL) / own
    return min(1.25, max(0.0, found))


def _ample(trucks: Trucks) -> Flags:
    """Whether as much can be hired as own trucks call for on busy days, (v, t)."""
    owned = np.where(np.isfinite(trucks.owned_hours), trucks.owned_hours, 0.0)
    return np.asarray(trucks.hire_hours >= PART * STEP * owned)
