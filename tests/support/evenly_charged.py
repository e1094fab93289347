"""Pads of small problems: charges evenly set up, each part lying there as long."""

import numpy as np


def moments(days, active_days):
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


def occupancy(days, active_days):
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


def ripening(days, delay_days):
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


def _year(days, reach):
    """Return begin and end of the periods and the starts of the years reached."""
    length = np.asarray(days, dtype=float)
    end = np.cumsum(length)
    year = float(end[-1])
    return end - length, end, np.arange(0, np.ceil(reach / year) + 1) * year
