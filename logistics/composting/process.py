"""Feedstock in time: how long what arrives may wait."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


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
