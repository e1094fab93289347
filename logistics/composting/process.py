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


def store_content(ready: ArrayLike, inside: ArrayLike, stock: ArrayLike) -> Floats:
    """
    Content of the compost in store in each period, all of it mixed.

    What becomes ready in a period is mixed with what was left in store before; all
    that leaves the store in the period is of this mixture. The year is a circle.

    Parameters
    ----------
    ready
        Compost that becomes ready, shape (..., t). [t]
    inside
        What is in that of a substance, shape (..., t). [t]
    stock
        Compost in store when the period ends, shape (..., t). [t]

    Returns
    -------
    ndarray
        Shape (..., t); 0 where none is ever ready. [t/t]

    Examples
    --------
    Poor compost, a third of it stored, meets rich compost:

    >>> store_content([3, 1], [0.03, 0.03], [1, 0])
    array([0.01, 0.02])
    """
    ready, inside, stock = np.broadcast_arrays(
        np.asarray(ready, float), np.asarray(inside, float), np.asarray(stock, float)
    )
    before = np.roll(stock, 1, axis=-1)
    total = before + ready
    there = total > NOTHING_T
    scale = np.where(there, total, 1.0)
    stays, comes = (
        np.where(there, before / scale, 1.0),
        np.where(there, inside / scale, 0),
    )
    of_last, added = np.ones(ready.shape[:-1]), np.zeros(ready.shape[:-1])
    for t in range(ready.shape[-1]):
        of_last, added = of_last * stays[..., t], added * stays[..., t] + comes[..., t]
    makes = of_last < 1
    content = np.where(makes, added / np.where(makes, 1 - of_last, 1.0), 0.0)
    found = np.empty(ready.shape)
    for t in range(ready.shape[-1]):
        content = content * stays[..., t] + comes[..., t]
        found[..., t] = content
    return found


NOTHING_T = 1e-6
"""Compost that counts as none. [t]"""
