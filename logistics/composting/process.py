"""Composting in time: how long a charge lies on the pad and when it is ready."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def ripening(days: ArrayLike, delay_days: float) -> Floats:
    """
    Share of the charge of period t that becomes ready in period u.

    A charge is started evenly over its period and is ready `delay_days` later;
    the year is a circle.

    Parameters
    ----------
    days
        Length of each period, shape (t,). [d]
    delay_days
        Active and curing days. [d]

    Returns
    -------
    ndarray
        Shape (t, u); rows add up to 1. [1]

    Examples
    --------
    Half of what is started in the first of two halves of a year, 91 days later:

    >>> ripening([182, 182], 91)
    array([[0.5, 0.5],
           [0.5, 0.5]])
    """
    begin, end, shifts = _year(days, delay_days)
    first, last = begin + delay_days, end + delay_days
    share = sum(
        np.clip(
            np.minimum(last[:, None], end + shift)
            - np.maximum(first[:, None], begin + shift),
            0,
            None,
        )
        for shift in shifts
    )
    return np.asarray(share / (end - begin)[:, None])


def moments(days: ArrayLike, active_days: float) -> tuple[Floats, Integers]:
    """
    Find the moments of the year at which a pad can be fullest.

    Charges are started evenly over their periods and leave after `active_days`, so
    what lies on the pad rises and falls in straight lines that bend only where a
    period begins, and `active_days` after that: nowhere else can be a peak.

    Parameters
    ----------
    days
        Length of each period, shape (t,). [d]
    active_days
        Days on the pad. [d]

    Returns
    -------
    tuple
        Days since the year began, rising, shape (k,) [d]; and the period that each
        falls into, shape (k,); the last moment of a period belongs to it.

    Examples
    --------
    >>> moments([30, 30, 30], 40)
    (array([10., 30., 40., 60., 70., 90.]), array([0, 0, 1, 1, 2, 2]))
    """
    begin, end, _ = _year(days, active_days)
    year = end[-1]
    left = (begin + active_days) % year
    # the year is a circle: what would fall on its first instant falls on its last
    left = np.where(left < 1e-9 * year, year, left)
    bends = np.sort(np.append(end, left))
    bends = bends[np.append(True, np.diff(bends) > 1e-9 * year)]
    return bends, np.searchsorted(end, bends - 1e-9 * year)


def occupancy(days: ArrayLike, active_days: float) -> Floats:
    """
    Share of the charge of period t that lies on the pad at moment k.

    A pad that holds the charges at all `moments` holds them on every day.

    Parameters
    ----------
    days
        Length of each period, shape (t,). [d]
    active_days
        Days on the pad. [d]

    Returns
    -------
    ndarray
        Shape (t, k). Above 1 where charges of several years lie there. [1]

    Examples
    --------
    With forty days of a thirty-day period, ten days after it is full some has left:

    >>> occupancy([30, 30, 30], 40)[0].round(2)
    array([0.33, 1.  , 1.  , 0.33, 0.  , 0.  ])
    """
    begin, end, shifts = _year(days, active_days)
    when, _ = moments(days, active_days)
    lying = sum(
        np.clip(
            np.minimum(when, end[:, None] - shift)
            - np.maximum(when - active_days, begin[:, None] - shift),
            0,
            None,
        )
        for shift in shifts
    )
    return np.asarray(lying / (end - begin)[:, None])


def fullest(used: Floats, period: Integers) -> Floats:
    """
    Peak in each period of what is known at the moments of the pad.

    Parameters
    ----------
    used
        Shape (..., k), see `moments`.
    period
        Period of each moment, shape (k,).

    Returns
    -------
    ndarray
        Shape (..., t); a period's first instant is the last of the one before.
    """
    count = int(period.max()) + 1
    last = np.array([np.flatnonzero(period == u)[-1] for u in range(count)])
    peaks = [
        np.maximum(used[..., period == u].max(axis=-1), used[..., last[u - 1]])
        for u in range(count)
    ]
    return np.stack(peaks, axis=-1)


def keeping(days: ArrayLike, keep_days: ArrayLike) -> Integers:
    """
    Count the last periods whose arrivals may still be used in the next one.

    What arrives evenly over period r and is used evenly over a later period q, oldest
    first, waits from the days between their beginnings to the days between their
    ends. It may wait so while both are no more than it keeps.

    Parameters
    ----------
    days
        Length of each period, shape (t,). [d]
    keep_days
        How long a feedstock keeps, shape (m,); NaN where for ever. [d]

    Returns
    -------
    ndarray
        Shape (m, t): of what is in store at the end of t, how many periods back from
        t (and with t) it may have come; all where it keeps a year.

    Examples
    --------
    >>> keeping([30, 30, 90, 30], [60, float("nan")])
    array([[2, 0, 0, 1],
           [4, 4, 4, 4]])
    """
    length = np.asarray(days, dtype=float)
    keep = np.nan_to_num(np.asarray(keep_days, dtype=float), nan=np.inf)
    count = np.zeros((len(keep), len(length)), dtype=np.int64)
    since_begin = np.zeros(len(length))
    for back in range(len(length)):
        since_begin = since_begin + np.roll(length, back)
        since_end = since_begin - np.roll(length, back) + np.roll(length, -1)
        count += np.maximum(since_begin, since_end) <= keep[:, None] + 1e-9
    return count


def _year(days: ArrayLike, reach: float) -> tuple[Floats, Floats, Floats]:
    """Return begin and end of the periods and the starts of the years reached."""
    length = np.asarray(days, dtype=float)
    end = np.cumsum(length)
    year = float(end[-1])
    return end - length, end, np.arange(0, np.ceil(reach / year) + 1) * year
