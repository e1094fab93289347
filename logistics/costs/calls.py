"""
When a place is called, and what a truck finds there: one rule for plan and rounds.

What a place makes and how long it keeps settle how often a truck comes: every working
day for what spoils within two days, every second day or later if it keeps longer (half
the time it keeps, so that no pile is ever old). What keeps for good waits for a load.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HALF_KEPT_H = 48.0
"""Hours of keeping that call for one working day more between calls. [h]"""


def pickup_interval(keep_h: float) -> int:
    """
    Working days between calls at a source whose freight keeps some hours.

    Examples
    --------
    >>> [pickup_interval(h) for h in (12, 47, 96, 150)]
    [1, 1, 2, 3]
    """
    return max(1, int(keep_h / HALF_KEPT_H))


def whole_days(working_days: float) -> int:
    """
    Working days of a period as whole days, at least one.

    >>> whole_days(25.6), whole_days(0.2)
    (26, 1)
    """
    return max(1, round(float(working_days)))


def call_tonnes(supply: Floats, working_days: Floats, keep_h: Floats) -> Floats:
    """
    Find what has gathered at a place when a truck calls.

    Parameters
    ----------
    supply
        What arises, shape (i, t). [t]
    working_days
        Of every period, shape (t,). What arises on rest days counts as landed on
        working days. [days]
    keep_h
        How long it keeps, shape (i,); not a number where it keeps for good. [h]

    Returns
    -------
    ndarray
        Shape (i, t); infinite where it keeps for good or nothing arises. [t]

    Examples
    --------
    52 t in 26 working days: 2 t a day, or 4 t every second day.

    >>> supply = np.array([[52.0], [52.0], [52.0]])
    >>> call_tonnes(supply, np.array([26.0]), np.array([12.0, 96.0, np.nan])).ravel()
    array([ 2.,  4., inf])
    """
    days = np.array([whole_days(d) for d in working_days])
    keeps = np.isnan(keep_h)
    every = [1 if k else pickup_interval(h) for h, k in zip(keep_h, keeps, strict=True)]
    calls = np.maximum(1, -(-days[None, :] // np.array(every, dtype=int)[:, None]))
    found = supply / calls
    return np.where(keeps[:, None] | (supply <= 0), np.inf, found)


def days_called(
    tonnes: float, made_t: float, load_t: float, due: list[int]
) -> list[int]:
    """
    Choose the days of calls where only a part of what is made is fetched.

    Every day is due where all is fetched. Of less, calls are left out so that as few
    loads as can be are driven, none with more than the place has made by then; days
    left out are evenly spread.

    Parameters
    ----------
    tonnes, made_t
        Fetched in the period, and made. [t]
    load_t
        Full load of the truck. [t]
    due
        Days on which a truck may come, at least one.

    Examples
    --------
    Half of a small landing is fetched every second day, all of it every day; of 4.2 t
    a day 4 t are one full load, so that no day is left out:

    >>> days_called(2.0, 4.0, 4.0, [1, 2, 3, 4]), days_called(4.0, 4.0, 4.0, [1, 2])
    ([2, 4], [1, 2])
    >>> days_called(8.0, 8.4, 4.0, [1, 2])
    [1, 2]
    """
    most = len(due)
    share = min(1.0, tonnes / made_t) if made_t > 0 else 1.0
    fewest = max(1, int(np.ceil(share * most - 1e-9)))
    counts = np.arange(most, fewest - 1, -1)
    loads = counts * np.ceil(tonnes / counts / load_t - 1e-9)
    count = int(counts[int(np.argmin(loads))])
    return [due[int((k + 0.5) * most / count)] for k in range(count)]
