"""
What money over years is worth: present value, rates of return, payback.

A flow is money at the ends of equal years, the first one now; what comes in is above
zero.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import brentq

from logistics.model import Floats

LOWEST, HIGHEST, TRIED = -0.99, 10.0, 4000
"""Rates between which returns are looked for [1/yr], and values tried between them."""


def present_value(flow: Sequence[float], rate: float) -> float:
    """
    Sum a flow up in money of now.

    Examples
    --------
    >>> round(present_value([-100.0, 60.0, 60.0], 0.10), 2)
    4.13
    """
    years = np.arange(len(flow), dtype=float)
    return float(np.asarray(flow, dtype=float) @ (1 + rate) ** -years)


def rates_of_return(flow: Sequence[float]) -> tuple[float, ...]:
    """
    Discount rates at which a flow is worth nothing (IRR).

    Returns
    -------
    tuple of float
        Every rate from -0.99 to 10 at which the present value changes its sign, lowest
        first. Empty where there is none, as when nothing is spent; two or more where
        money goes out again in the end, and then none of them says whether it pays.
        Rates nearer to each other than 0.2 % of 1 + rate may be missed. [1/yr]

    Examples
    --------
    >>> [round(rate, 4) for rate in rates_of_return([-100.0, 60.0, 60.0])]
    [0.1307]
    >>> rates_of_return([100.0, 50.0])
    ()
    """
    money = np.trim_zeros(np.asarray(flow, dtype=float))
    if not len(money) or money.min() >= 0 or money.max() <= 0:
        return ()
    tried = np.geomspace(1 + LOWEST, 1 + HIGHEST, TRIED) - 1
    values = _scaled(money, tried)
    found = [float(rate) for rate in tried[values == 0]]
    for at in np.flatnonzero(values[:-1] * values[1:] < 0).tolist():
        low, high = float(tried[at]), float(tried[at + 1])
        root = brentq(
            lambda r: float(_scaled(money, np.array(r))), low, high, xtol=1e-13
        )
        found.append(float(root))
    return tuple(sorted(found))


def _scaled(money: Floats, rate: Floats) -> Floats:
    """Give present or final values, whichever are small; both have one sign."""
    years = np.arange(len(money), dtype=float)
    powers = np.where(rate[..., None] < 0, years - years[-1], years)
    return np.asarray(((1 + rate[..., None]) ** -powers) @ money)


def _value_at(rate: float, money: Floats) -> float:
    return float(_scaled(money, np.array(rate)))


def payback(flow: Sequence[float]) -> float | None:
    """
    Year in which what came in has paid for what went out; None if it never has.

    Examples
    --------
    >>> payback([-100.0, 40.0, 40.0, 40.0])
    2.5
    >>> payback([-100.0, 40.0]) is None
    True
    """
    owed = 0.0
    for year, money in enumerate(flow):
        if owed < 0 <= owed + money:
            return year - 1 + -owed / money
        owed += money
    return 0.0 if owed >= 0 and min(flow) >= 0 else None


def discounted_payback(flow: Sequence[float], rate: float) -> float | None:
    """
    Year in which what came in has paid for what went out and its interest.

    Examples
    --------
    >>> discounted_payback([-100.0, 55.0, 60.5], 0.10)
    2.0
    """
    years = np.arange(len(flow), dtype=float)
    values = np.asarray(flow, dtype=float) * (1 + rate) ** -years
    return payback([round(value, 9) for value in values.tolist()])
