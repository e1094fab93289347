"""
Numbers as people read them: rounded so that what a reader adds up adds up.

A column of rounded numbers rarely sums to its rounded total. Here the total is rounded
first and the parts are rounded up or down to fit it, largest remainder first.
"""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from maps.shared.headlines import number

Floats = NDArray[np.float64]
MINUS, DASH = "\N{MINUS SIGN}", "\N{EN DASH}"
SPACE = "\N{NO-BREAK SPACE}"


def amount(value: object, digits: int = 0) -> str:
    """
    Write a number with thousands separators; a dash if it is missing.

    >>> amount(12345.6), amount(-0.2), amount(-12, 1), amount(float("nan"))
    ('12,346', '0', '−12.0', '–')
    >>> amount(np.int64(1200))
    '1,200'
    """
    known = number(bare(value))
    if not math.isfinite(known):
        return DASH
    text = f"{known:,.{digits}f}"
    if not text.strip("-0.,"):
        return text.lstrip("-")
    return text.replace("-", MINUS)


def enough(value: float, digits: int = 1) -> str:
    """
    Write an amount above nothing with a figure that says so, however small it is.

    >>> enough(12.34), enough(0.004), enough(0.0)
    ('12.3', '0.004', '0.0')
    """
    if 0 < abs(value) < 0.95 * 10.0**-digits:
        return f"{value:.1g}".replace("-", MINUS)
    return amount(value, digits)


def united(value: object, unit: str, digits: int = 0) -> str:
    """
    Write a number with its unit, kept on one line.

    >>> united(1200, "t") == "1,200\N{NO-BREAK SPACE}t"
    True
    """
    return f"{amount(value, digits)}{SPACE}{unit}"


def count(value: float, one: str, more: str = "") -> str:
    """
    Write a count with its noun.

    >>> count(1, "yard"), count(1200, "yard"), count(0, "city", "cities")
    ('1 yard', '1,200 yards', '0 cities')
    """
    noun = one if round(value) == 1 else more or f"{one}s"
    return f"{amount(value)}{SPACE}{noun}".replace(SPACE, " ")


def digits_for(total: float) -> int:
    """
    Decimals that a set of quantities needs: none in the hundreds, more when small.

    >>> digits_for(27_952), digits_for(80), digits_for(3)
    (0, 1, 2)
    """
    size = abs(total)
    return 0 if size >= 200 or not math.isfinite(size) else 1 if size >= 20 else 2


def bare(value: object) -> object:
    """Return a number of numpy as one of Python; anything else as it is."""
    return value.item() if isinstance(value, np.generic) else value


def _settle(exact: Floats, target: int, bonus: Floats) -> Floats:
    """Round numbers down, then up those with most remainder, until they fit."""
    whole = np.floor(exact + 1e-9)
    worth = np.where(np.abs(exact) < 1e-9, -np.inf, exact - whole + bonus)
    order = np.argsort(-worth, kind="stable")
    missing = int(target - whole.sum())
    if missing and len(whole):
        each, rest = divmod(abs(missing), len(whole))
        sign = 1 if missing > 0 else -1
        whole += sign * each
        picked = order[:rest] if sign > 0 else order[::-1][:rest]
        whole[picked] += sign
    return whole


def apportion(values: ArrayLike, digits: int = 0, total: float | None = None) -> Floats:
    """
    Round numbers so that they add up to their rounded total.

    Parameters
    ----------
    values
        Exact numbers; what is zero stays zero where it can.
    digits
        Decimals kept.
    total
        What they must add up to; their own sum if left out.

    Returns
    -------
    ndarray
        Rounded numbers, each within one unit of the exact one.

    Examples
    --------
    >>> apportion([1.4, 1.4, 1.2]).tolist()
    [2.0, 1.0, 1.0]
    """
    scale = 10.0**digits
    exact = np.nan_to_num(np.asarray(values, dtype=float)) * scale
    target = round((exact.sum() if total is None else total * scale) + 1e-9)
    return _settle(exact, target, np.zeros_like(exact)) / scale


def spread(
    table: pd.DataFrame, digits: int = 0, totals: pd.Series | None = None
) -> pd.DataFrame:
    """
    Round a table so that its columns add up to their totals and rows stay true.

    Parameters
    ----------
    table
        Exact numbers.
    digits
        Decimals kept.
    totals
        What each column must add up to; its rounded sum if left out.

    Returns
    -------
    DataFrame
        Rounded numbers. The sum of a row is the sum of its rounded cells; the error
        of one cell is carried on to the next, so that it stays near the exact sum.
    """
    scale = 10.0**digits
    error = np.zeros(len(table))
    columns = {}
    for place, name in enumerate(table.columns):
        exact = np.nan_to_num(table.iloc[:, place].to_numpy(dtype=float)) * scale
        wanted = exact.sum() if totals is None else float(totals[name]) * scale
        rounded = _settle(exact, round(wanted + 1e-9), error)
        error = error + exact - rounded
        columns[name] = rounded / scale
    return pd.DataFrame(columns, index=table.index, columns=table.columns)
