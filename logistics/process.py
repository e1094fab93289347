"""Composting in time: how long a charge lies on the pad and when it is ready."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


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


def occupancy(days: ArrayLike, active_days: float) -> Floats:
    """
    Mean share of the charge of period t that lies on the pad in period u.

    Each day's part of the charge stays `active_days`. Over all u the shares,
    weighted by the days of u, add up to the active days.

    Parameters
    ----------
    days
        Length of each period, shape (t,). [d]
    active_days
        Days on the pad. [d]

    Returns
    -------
    ndarray
        Shape (t, u). [1]

    Examples
    --------
    With thirty days in a thirty-day period half lies there then, half the next:

    >>> occupancy([30, 30, 30], 30)
    array([[0.5, 0.5, 0. ],
           [0. , 0.5, 0.5],
           [0.5, 0. , 0.5]])
    """
    begin, end, shifts = _year(days, active_days)

    def waited(at_least: float) -> Floats:
        """Integrate over start a in t and day d in u where d - a >= at_least."""
        total = np.zeros((len(begin), len(begin)))
        for shift in shifts:
            for sign, a in ((1.0, begin), (-1.0, end)):
                for side, d in ((1.0, end + shift), (-1.0, begin + shift)):
                    room = np.clip(d[None, :] - a[:, None] - at_least, 0, None)
                    total += sign * side * room**2 / 2
        return total

    both = waited(0.0) - waited(active_days)
    length = end - begin
    return np.asarray(both / length[:, None] / length[None, :])


def _year(days: ArrayLike, reach: float) -> tuple[Floats, Floats, Floats]:
    """Return begin and end of the periods and the starts of the years reached."""
    length = np.asarray(days, dtype=float)
    end = np.cumsum(length)
    year = float(end[-1])
    return end - length, end, np.arange(0, np.ceil(reach / year) + 1) * year
